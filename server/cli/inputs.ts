/** From command-line words to documents: files, folders (all `.rig` below), `-` for standard input. */
import { relative, resolve, sep } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type { Expression } from '../../grammar/src/ast';
import { parseExpression } from '../../grammar/src/api';
import { createDocument, type RigDocument } from '../core/document/document';
import { shortened, UsageError, type Io } from './io';

export interface Input {
  /** As shown to the user: relative to the working folder, forward slashes. */
  readonly path: string;
  readonly document: RigDocument;
  /** The document of another text in the same place, constants given from outside as before. */
  readonly reopen: (text: string) => RigDocument;
}

export interface InputOptions {
  /** `NAME=VALUE` words of `--let`. */
  readonly lets?: readonly string[];
  /** Name under which standard input is reported and imports are found. */
  readonly stdinName?: string;
}

/**
 * Opens every file named; folders are searched for `.rig` files, names in order. A file that cannot be read ends the command; one
 * found in a folder is named on standard error and makes the exit code 2, and the others are read.
 */
export function openInputs(io: Io, words: readonly string[], options: InputOptions = {}): Input[] {
  if (words.length === 0) throw new UsageError('Name at least one .rig file or folder, or - for standard input.');
  const overrides = parseLets(options.lets ?? []);
  const inputs: Input[] = [];
  for (const word of words) {
    if (word === '-') inputs.push(open(io, resolve(io.cwd, options.stdinName ?? 'stdin.rig'), io.stdin(), overrides));
    else inputs.push(...openWord(io, word, overrides));
  }
  return inputs;
}

function openWord(io: Io, word: string, overrides: ReadonlyMap<string, Expression>): Input[] {
  if (word === '') throw new UsageError('A file name is empty; name a .rig file or folder, or . for this folder.');
  const path = resolve(io.cwd, word);
  const kind = io.kind(path);
  if (kind === null && /[*?]/.test(word)) return matching(io, word, overrides);
  if (kind === null) throw new UsageError(`There is no file or folder ${shortened(word)}.`);
  if (kind === 'file') return [open(io, path, io.read(path), overrides)];
  const found = io.rigFiles(path);
  if (found.length === 0) throw new UsageError(`The folder ${word} holds no .rig file.`);
  return openAll(io, found, overrides);
}

/** Files of a pattern that the shell left as it is (in quotes, or on Windows): `*` and `?` within a name, `**` for folders. */
function matching(io: Io, word: string, overrides: ReadonlyMap<string, Expression>): Input[] {
  const pattern = word.split(sep).join('/');
  const base = pattern.slice(0, pattern.search(/[*?]/)).replace(/[^/]*$/, '');
  const folder = resolve(io.cwd, base);
  const found = io.kind(folder) === 'folder' ? io.rigFiles(folder) : [];
  const rest = expressionOf(pattern.slice(base.length));
  const files = found.filter((file) => rest.test(relative(folder, file).split(sep).join('/')));
  if (files.length === 0) throw new UsageError(`No .rig file matches ${shortened(word)}.`);
  return openAll(io, files, overrides);
}

function expressionOf(pattern: string): RegExp {
  const body = pattern.replace(/\*\*\/|\*\*|[*?]|[.+^${}()|[\]\\]/g, (piece) => {
    if (piece === '**/') return '(?:.*/)?';
    if (piece === '**') return '.*';
    return piece === '*' ? '[^/]*' : piece === '?' ? '[^/]' : `\\${piece}`;
  });
  return new RegExp(`^${body}$`);
}

function openAll(io: Io, files: readonly string[], overrides: ReadonlyMap<string, Expression>): Input[] {
  return files.flatMap((file) => {
    try {
      return [open(io, file, io.read(file), overrides)];
    } catch (error) {
      if (!(error instanceof UsageError)) throw error;
      io.fault(error.message);
      return [];
    }
  });
}

function open(io: Io, path: string, text: string, overrides: ReadonlyMap<string, Expression>): Input {
  return { path: shown(io, path), ...documentAt(path, text, (of) => io.readText(of), overrides) };
}

/** The document of a text that lies at a path; what it imports is read by `readText`. */
export function documentAt(
  path: string,
  text: string,
  readText: Io['readText'],
  overrides: ReadonlyMap<string, Expression> = new Map(),
): Pick<Input, 'document' | 'reopen'> {
  const refused = new Map<string, string>();
  const read = (uri: string): string | undefined => {
    if (!uri.startsWith('file:')) return void refused.set(uri, 'is not a file on this machine');
    try {
      const decoded = readText(fileURLToPath(uri));
      return decoded.ok ? decoded.text : void refused.set(uri, decoded.reason);
    } catch {
      return void refused.set(uri, 'has no address that this machine can open');
    }
  };
  const settings = { overrides, whyUnread: (uri: string) => refused.get(uri) };
  const reopen = (other: string): RigDocument =>
    createDocument({ uri: pathToFileURL(path).href, version: 0, text: other }, read, settings);
  return { document: reopen(text), reopen };
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
