/** Runs command lines in this process, on the real samples and on files that exist only in memory. */
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { main } from '../../server/cli/main';
import type { Io } from '../../server/cli/io';

export const ROOT = join(__dirname, '../..');

export interface Run {
  readonly code: number;
  readonly out: string;
  readonly err: string;
  readonly written: ReadonlyMap<string, string | Uint8Array>;
}

/** `files`: path below the project → text; standard input is `stdin`. */
export async function run(
  words: readonly string[],
  files: Readonly<Record<string, string>> = {},
  stdin = '',
): Promise<Run> {
  let out = '';
  let err = '';
  const written = new Map<string, string | Uint8Array>();
  const given = new Map(Object.entries(files).map(([path, text]) => [join(ROOT, path), text]));
  const io: Io = {
    out: (text) => void (out += typeof text === 'string' ? text : `<${text.length} bytes>`),
    err: (text) => void (err += text),
    read: (path) => given.get(path) ?? readFileSync(path, 'utf8'),
    write: (path, data) => void written.set(path, data),
    exists: (path) => given.has(path) || existsSync(path),
    isFolder: (path) => !given.has(path) && statSync(path).isDirectory(),
    list: (folder) => readdirSync(folder),
    stdin: () => stdin,
    cwd: ROOT,
    colour: false,
  };
  return { code: await main(words, io), out, err, written };
}
