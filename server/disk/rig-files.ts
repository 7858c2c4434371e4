/** The `.rig` files in a folder and below: links to folders are followed once, what leads nowhere is passed over. */
import { lstatSync, readdirSync, realpathSync, statSync, type Dirent } from 'node:fs';
import { join } from 'node:path';

/** Folders nobody keeps rigs in. */
const SKIPPED: ReadonlySet<string> = new Set(['node_modules', 'bower_components', 'dist', 'out']);

export interface RigFilesOptions {
  /** Most files listed. */
  readonly files?: number;
  /** Most folders looked into. */
  readonly folders?: number;
}

/**
 * Paths in order of names, files of a folder before those of the folders in it. A generator: a caller that shares its thread may
 * rest after every folder (each step gives the files of one folder).
 */
export function* rigFilesBelow(root: string, options: RigFilesOptions = {}): Generator<readonly string[], void, void> {
  const { files: mostFiles = Infinity, folders: mostFolders = Infinity } = options;
  const seen = new Set<string>();
  const waiting = [root];
  let files = 0;
  for (let k = 0; k < waiting.length && k < mostFolders && files < mostFiles; k++) {
    const folder = waiting[k]!;
    const real = realPath(folder);
    if (real === null || seen.has(real)) continue;
    seen.add(real);
    const found: string[] = [];
    for (const entry of entriesOf(folder)) {
      const kind = kindOf(folder, entry);
      if (kind === 'folder') waiting.push(join(folder, entry.name));
      else if (kind === 'rig' && files + found.length < mostFiles) found.push(join(folder, entry.name));
    }
    files += found.length;
    yield found;
  }
}

/** What an entry is; a `.rig` that is not a regular file is left to the reader, who says what is wrong with it. */
function kindOf(folder: string, entry: Dirent): 'folder' | 'rig' | null {
  if (entry.name.startsWith('.') || SKIPPED.has(entry.name)) return null;
  if (entry.isDirectory()) return 'folder';
  if (!entry.isSymbolicLink()) return entry.name.endsWith('.rig') ? 'rig' : null;
  try {
    if (statSync(join(folder, entry.name)).isDirectory()) return 'folder';
  } catch {
    // A link that leads nowhere; one named like a rig is reported by the reader.
  }
  return entry.name.endsWith('.rig') ? 'rig' : null;
}

function entriesOf(folder: string): Dirent[] {
  try {
    return readdirSync(folder, { withFileTypes: true }).sort((a, b) => (a.name < b.name ? -1 : 1));
  } catch {
    return [];
  }
}

function realPath(path: string): string | null {
  try {
    return realpathSync(path);
  } catch {
    return null;
  }
}

/** `file`, `folder`, or null where there is neither (a link that leads nowhere is a file that cannot be read). */
export function pathKind(path: string): 'file' | 'folder' | null {
  try {
    return statSync(path).isDirectory() ? 'folder' : 'file';
  } catch {
    try {
      lstatSync(path);
      return 'file';
    } catch {
      return null;
    }
  }
}
