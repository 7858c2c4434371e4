/** The Node side of the server: files, folders, pauses. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { URI } from 'vscode-uri';
import type { Host } from './host';

/** Folders nobody keeps rigs in. */
const SKIPPED = new Set(['node_modules', 'bower_components', 'dist', 'out']);
/** Most files listed, so that a home folder opened by mistake does not stall the server. */
const MOST_FILES = 2000;

/** Host on this machine's files. @param version told to clients */
export function nodeHost(version: string): Host {
  return {
    version,
    reference: referenceUri(),
    pause: () => new Promise((resolve) => setImmediate(resolve)),
    now: () => performance.now(),
    readFile,
    listFiles: (folder) => listRigFiles(folder),
  };
}

function readFile(uri: string): string | undefined {
  const path = filePath(uri);
  if (path === null) return undefined;
  try {
    return readFileSync(path, 'utf8').replace(/^\uFEFF/, '');
  } catch {
    return undefined;
  }
}

function filePath(uri: string): string | null {
  if (!uri.startsWith('file:')) return null;
  try {
    return fileURLToPath(uri);
  } catch {
    return null;
  }
}

function listRigFiles(folder: string): string[] {
  const root = filePath(folder);
  if (root === null) return [];
  const found: string[] = [];
  const waiting = [root];
  while (waiting.length > 0 && found.length < MOST_FILES) {
    const path = waiting.shift()!;
    for (const entry of entriesOf(path)) {
      if (entry.name.startsWith('.') || SKIPPED.has(entry.name)) continue;
      if (entry.isDirectory()) waiting.push(join(path, entry.name));
      else if (entry.name.endsWith('.rig')) found.push(URI.file(join(path, entry.name)).toString());
    }
  }
  return found;
}

function entriesOf(path: string) {
  try {
    return readdirSync(path, { withFileTypes: true });
  } catch {
    return [];
  }
}

/** The language reference that ships beside the bundle, if it does. */
function referenceUri(): string | null {
  const path = join(__dirname, '..', 'grammar', 'REFERENCE.md');
  return existsSync(path) ? pathToFileURL(path).href : null;
}
