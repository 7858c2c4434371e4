/** Waiting for files to change on this machine. */
import { watch, type FSWatcher } from 'node:fs';
import { basename, dirname } from 'node:path';

/** Time in which changes that come close together count as one, ms: editors write a file in several steps. */
const TOGETHER = 60;

/**
 * Resolves when one of the files changes, comes or goes, or any `.rig` file in one of the folders. Folders are what is watched, so
 * that editors which put a new file in the old one's place are noticed too.
 */
export function nextChange(files: Iterable<string>, folders: Iterable<string>): Promise<void> {
  const names = new Map<string, Set<string>>();
  const namesIn = (folder: string): Set<string> => {
    const known = names.get(folder) ?? new Set<string>();
    names.set(folder, known);
    return known;
  };
  for (const file of files) namesIn(dirname(file)).add(basename(file));
  const whole = new Set(folders);
  for (const folder of whole) namesIn(folder);
  return new Promise((resolve) => {
    const watchers: FSWatcher[] = [];
    let ended = false;
    const changed = (): void => {
      if (ended) return;
      ended = true;
      for (const watcher of watchers) watcher.close();
      setTimeout(resolve, TOGETHER);
    };
    for (const [folder, known] of names) {
      const isMeant = (name: string | null): boolean =>
        name === null || known.has(name) || (whole.has(folder) && /\.rig$/i.test(name));
      try {
        watchers.push(watch(folder, (_, name) => void (isMeant(name) && changed())).on('error', changed));
      } catch {
        // A folder that is gone cannot be watched; its files were reported when they were read.
      }
    }
  });
}
