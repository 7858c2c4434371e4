/** The Node side of the server: files, folders, pauses. */
import { existsSync, realpathSync } from 'node:fs';
import { join, sep } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { URI } from 'vscode-uri';
import { readTextFile } from '../disk/read-text';
import { rigFilesBelow } from '../disk/rig-files';
import type { DecodedText } from '../protocol/text-bytes';
import type { Host } from './host';
import { say } from '../core/words/say';

/** Most files and folders looked at, so that a home folder opened by mistake does not stall the server. */
const MOST = { files: 5_000, folders: 20_000 } as const;
/** Folders read between two pauses. */
const AT_ONCE = 8;

/** Host on this machine's files. @param version given to clients */
export function nodeHost(version: string): Host {
  const pause = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
  return {
    version,
    reference: referenceUri(),
    pause,
    now: () => performance.now(),
    readFile,
    listFiles: (folders) => listRigFiles(folders, pause),
  };
}

function readFile(uri: string, within: readonly string[] | null): DecodedText | undefined {
  if (!uri.startsWith('file:')) return undefined;
  const path = localPath(uri);
  if (path === null) return { ok: false, reason: say`has no address that this machine can open` };
  if (within !== null && !liesWithin(path, within)) {
    return { ok: false, reason: say`is outside the workspace, which is not trusted; it is not read` };
  }
  return readTextFile(path);
}

/** The path of a `file:` URI on this machine; null for one on another machine, or that is not a path. */
export function localPath(uri: string): string | null {
  if (!/^file:(\/(?!\/)|\/\/\/(?!\/)|\/\/localhost\/(?!\/))/i.test(uri)) return null;
  try {
    return fileURLToPath(uri);
  } catch {
    return null;
  }
}

/** Whether a file lies in one of some folders once all links are followed; a file that is not there does not. */
function liesWithin(path: string, folders: readonly string[]): boolean {
  const real = realPath(path);
  if (real === null) return false;
  return folders.some((uri) => {
    const folder = localPath(uri);
    const root = folder === null ? null : realPath(folder);
    return root !== null && (real === root || real.startsWith(root.endsWith(sep) ? root : root + sep));
  });
}

function realPath(path: string): string | null {
  try {
    return realpathSync(path);
  } catch {
    return null;
  }
}

/** Rests between folders, so that messages are answered while a large tree is read. */
async function listRigFiles(folders: readonly string[], pause: () => Promise<void>): Promise<string[]> {
  const found = new Set<string>();
  for (const folder of folders) {
    const root = localPath(folder);
    if (root === null) continue;
    let read = 0;
    for (const paths of rigFilesBelow(root, MOST)) {
      for (const path of paths) if (found.size < MOST.files) found.add(URI.file(path).toString());
      if (++read % AT_ONCE === 0) await pause();
    }
  }
  return [...found];
}

/** The language reference that ships beside the bundle, if it does. */
function referenceUri(): string | null {
  const path = join(__dirname, '..', 'grammar', 'REFERENCE.md');
  return existsSync(path) ? pathToFileURL(path).href : null;
}
