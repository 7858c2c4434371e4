/** The world of the command line as arguments, so that tests run commands without a process. */
import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';

export interface Io {
  out(text: string | Uint8Array): void;
  err(text: string): void;
  /** Text of a file; throws as Node does. */
  read(path: string): string;
  write(path: string, data: string | Uint8Array): void;
  exists(path: string): boolean;
  isFolder(path: string): boolean;
  list(folder: string): string[];
  stdin(): string;
  readonly cwd: string;
  readonly colour: boolean;
}

export function nodeIo(): Io {
  return {
    out: (text) => void process.stdout.write(text),
    err: (text) => void process.stderr.write(text),
    read: (path) => readFileSync(path, 'utf8'),
    write: (path, data) => writeFileSync(path, data),
    exists: existsSync,
    isFolder: (path) => statSync(path).isDirectory(),
    list: (folder) => readdirSync(folder),
    stdin: () => readFileSync(0, 'utf8'),
    cwd: process.cwd(),
    colour: Boolean(process.stdout.isTTY) && !process.env['NO_COLOR'],
  };
}

/** A mistake of the caller: usage or a file that cannot be read. Ends the command with exit code 2 and this sentence. */
export class UsageError extends Error {}
