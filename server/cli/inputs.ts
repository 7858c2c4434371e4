/** From command-line words to documents: files, folders (all `.rig` below), `-` for standard input. */
import { join, relative, resolve, sep } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type { Expression } from '../../grammar/src/ast';
import { parseExpression } from '../../grammar/src/api';
import { createDocument, type RigDocument } from '../core/document/document';
import { UsageError, type Io } from './io';

export interface Input {
  /** As shown to the user: relative to the working folder, forward slashes. */
  readonly path: string;
  readonly document: RigDocument;
}

export interface InputOptions {
  /** `NAME=VALUE` words of `--let`. */
  readonly lets?: readonly string[];
  /** Name under which standard input is reported and imports are found. */
  readonly stdinName?: string;
}

/** Opens every file named; folders are searched for `.rig` files, names in order. */
export function openInputs(io: Io, words: readonly string[], options: InputOptions = {}): Input[] {
  if (words.length === 0) throw new UsageError('Name at least one .rig file or folder, or - for standard input.');
  const overrides = parseLets(options.lets ?? []);
  const inputs: Input[] = [];
  for (const word of words) {
    if (word === '-') inputs.push(open(io, resolve(io.cwd, options.stdinName ?? 'stdin.rig'), io.stdin(), overrides));
    else for (const path of expand(io, word)) inputs.push(open(io, path, readText(io, path), overrides));
  }
  return inputs;
}

function expand(io: Io, word: string): string[] {
  const path = resolve(io.cwd, word);
  if (!io.exists(path)) throw new UsageError(`There is no file or folder ${word}.`);
  if (!io.isFolder(path)) return [path];
  const found = rigFilesBelow(io, path);
  if (found.length === 0) throw new UsageError(`The folder ${word} holds no .rig file.`);
  return found;
}

function rigFilesBelow(io: Io, folder: string): string[] {
  const found: string[] = [];
  for (const name of [...io.list(folder)].sort()) {
    if (name.startsWith('.') || name === 'node_modules') continue;
    const path = join(folder, name);
    if (io.isFolder(path)) found.push(...rigFilesBelow(io, path));
    else if (name.endsWith('.rig')) found.push(path);
  }
  return found;
}

function readText(io: Io, path: string): string {
  try {
    return io.read(path);
  } catch (error) {
    throw new UsageError(`${shown(io, path)} cannot be read: ${(error as Error).message}`);
  }
}

function open(io: Io, path: string, text: string, overrides: ReadonlyMap<string, Expression>): Input {
  const read = (uri: string): string | undefined => {
    try {
      return io.read(fileURLToPath(uri));
    } catch {
      return undefined;
    }
  };
  const document = createDocument({ uri: pathToFileURL(path).href, version: 0, text }, read, { overrides });
  return { path: shown(io, path), document };
}

/** Path as shown: relative to the working folder where it lies below it. */
export function shown(io: Io, path: string): string {
  const short = relative(io.cwd, path);
  return (short.startsWith('..') ? path : short).split(sep).join('/');
}

/** Path as shown of a `file:` URI. */
export function shownUri(io: Io, uri: string): string {
  return uri.startsWith('file:') ? shown(io, fileURLToPath(uri)) : uri;
}

/** The constants of `--let` words. */
export function parseLets(words: readonly string[]): Map<string, Expression> {
  const lets = new Map<string, Expression>();
  for (const word of words) {
    const at = word.indexOf('=');
    if (at < 1) throw new UsageError(`--let wants NAME=VALUE, such as --let settle="1.8 s", not ${word}.`);
    const { expression, problems } = parseExpression(word.slice(at + 1));
    if (problems[0]) throw new UsageError(`--let ${word}: ${problems[0].message}`);
    lets.set(word.slice(0, at).trim().normalize('NFC'), expression);
  }
  return lets;
}
