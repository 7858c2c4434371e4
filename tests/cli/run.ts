/** Runs command lines in this process, on the real samples and on files that exist only in memory. */
import { join } from 'node:path';
import { main } from '../../server/cli/main';
import { nodeIo, type Io } from '../../server/cli/io';

export const ROOT = join(__dirname, '../..');

export interface Run {
  readonly code: number;
  readonly out: string;
  readonly err: string;
  readonly written: ReadonlyMap<string, string | Uint8Array>;
}

/** The program that is run; the one of this process where none is named. */
export interface Program {
  readonly main: typeof main;
  readonly nodeIo: typeof nodeIo;
}

/** `files`: path below the project → text; standard input is `stdin`. */
export async function run(
  words: readonly string[],
  files: Readonly<Record<string, string>> = {},
  stdin = '',
  program: Program = { main, nodeIo },
): Promise<Run> {
  let out = '';
  let err = '';
  const written = new Map<string, string | Uint8Array>();
  const given = new Map(Object.entries(files).map(([path, text]) => [join(ROOT, path), text]));
  const real = program.nodeIo();
  let faults = 0;
  const io: Io = {
    ...real,
    out: (text) => void (out += typeof text === 'string' ? text : `<${text.length} bytes>`),
    err: (text) => void (err += text),
    fault: (sentence) => {
      faults++;
      err += `caisson: ${sentence}\n`;
    },
    faulty: () => faults > 0,
    read: (path, most) => given.get(path) ?? real.read(path, most),
    readPieces: (path, most, take) =>
      given.has(path) ? void take(given.get(path)!) : real.readPieces(path, most, take),
    readText: (path) => (given.has(path) ? { ok: true, text: given.get(path)!, mark: false } : real.readText(path)),
    write: (path, data) => {
      const whole = typeof data === 'string' || data instanceof Uint8Array ? data : [...data].join('');
      written.set(path, whole);
      if (typeof whole === 'string') given.set(path, whole);
    },
    rewrite: (path, text) => {
      written.set(path, text);
      given.set(path, text);
    },
    makeFolder: () => undefined,
    append: (path, text) => {
      const whole = `${given.get(path) ?? ''}${text}`;
      given.set(path, whole);
      written.set(path, whole);
    },
    kind: (path) => (given.has(path) ? 'file' : real.kind(path)),
    stdin: () => stdin,
    cwd: ROOT,
    changed: () => Promise.resolve(false),
    colour: false,
    columns: null,
  };
  return { code: await program.main(words, io), out, err, written };
}
