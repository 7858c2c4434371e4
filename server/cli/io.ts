/** The world of the command line as arguments, so that tests run commands without a process. */
import { appendFileSync, mkdirSync, realpathSync } from 'node:fs';
import { isAbsolute, relative, resolve, sep } from 'node:path';
import { visible } from '../core/units/visible';
import { nextChange } from '../disk/changes';
import { readTextFile, readTextPieces, readTextStream } from '../disk/read-text';
import { pathKind, rigFilesBelow } from '../disk/rig-files';
import { codeOf, fileTrouble } from '../disk/trouble';
import { writeAll, writeFile, type FileData } from '../disk/write-file';
import type { DecodedText } from '../protocol/text-bytes';

export interface Io {
  /** Text for people or programs; bytes go out as they are. */
  out(text: string | Uint8Array): void;
  err(text: string): void;
  /** Says what went wrong with one of several files; the command goes on, and ends with exit code 2. */
  fault(sentence: string): void;
  /** Whether there was a fault. */
  faulty(): boolean;
  /** Text of a file without byte order mark; throws a `UsageError` that says why it cannot be read. */
  read(path: string, mostBytes?: number): string;
  /** Gives such a text to `take` in pieces, for files of any length, until it answers false; throws as `read`. */
  readPieces(path: string, mostBytes: number, take: (text: string) => boolean): void;
  /** The same for files that may be missing: the text, or a clause that says why there is none. */
  readText(path: string): DecodedText;
  /**
   * Writes a result, whole or not at all; throws a `UsageError` that says why not. A result never takes the place of what was read, nor
   * of any rig.
   */
  write(path: string, data: FileData): void;
  /** Puts a file that was read back changed, whole or not at all; throws as `write`. */
  rewrite(path: string, text: string): void;
  /** Makes a folder for results, with those above it; one that is there already stays as it is. Throws as `write`. */
  makeFolder(path: string): void;
  /** Adds text at the end of a file, made where it is missing: for results that come one by one. */
  append(path: string, text: string): void;
  /** What is at a path, null where nothing is. */
  kind(path: string): 'file' | 'folder' | null;
  /** `.rig` files in a folder and below, names in order. */
  rigFiles(folder: string): string[];
  stdin(): string;
  /** Waits until something that was read changes; false where there is nothing to wait for. */
  changed(): Promise<boolean>;
  readonly cwd: string;
  readonly colour: boolean;
  /** Width of the terminal that the output goes to; null where it goes elsewhere. */
  readonly columns: number | null;
}

/** The real machine. `output` and `complaints` are open streams: those of the process unless a test gives others. */
export function nodeIo(output = 1, complaints = 2): Io {
  let faults = 0;
  const sources = new Set<string>();
  const folders = new Set<string>();
  const reading = (path: string): string => {
    sources.add(placeOf(path));
    return path;
  };
  const colour = Boolean(process.stdout.isTTY) && !process.env['NO_COLOR'];
  const err = (text: string): void => {
    try {
      writeAll(complaints, visible(text));
    } catch {
      // Nobody listens to complaints; the exit code still tells.
    }
  };
  return {
    out: (text) => writeOut(output, typeof text === 'string' ? shownText(text, colour) : text),
    err,
    fault: (sentence) => {
      faults++;
      err(`caisson: ${sentence}\n`);
    },
    faulty: () => faults > 0,
    read: (path, mostBytes) => textOf(path, readTextFile(reading(path), mostBytes)),
    readPieces: (path, mostBytes, take) => {
      const reason = readTextPieces(reading(path), mostBytes, take);
      if (reason !== null) throw new UsageError(`${shown(path)} ${reason}.`);
    },
    readText: (path) => readTextFile(reading(path)),
    write: (path, data) => {
      const place = placeOf(path);
      if (sources.has(place))
        throw new UsageError(`${shown(path)} is what is read here; give the result another name.`);
      if (/\.rig$/i.test(place))
        throw new UsageError(`${shown(path)} has the name of a rig; give the result another name.`);
      put(path, data);
    },
    rewrite: put,
    makeFolder,
    append,
    kind: pathKind,
    rigFiles: (folder) => {
      folders.add(placeOf(folder));
      return [...rigFilesBelow(folder)].flat();
    },
    changed: async () => {
      await nextChange(sources, folders);
      return true;
    },
    stdin: () => textOf('Standard input', readTextStream(0)),
    cwd: process.cwd(),
    colour,
    columns: process.stdout.isTTY ? process.stdout.columns : null,
  };
}

function makeFolder(path: string): void {
  try {
    mkdirSync(path, { recursive: true });
  } catch (error) {
    throw new UsageError(`The folder ${shown(path)} cannot be made: ${fileTrouble(error)}.`);
  }
}

function append(path: string, text: string): void {
  try {
    appendFileSync(path, text);
  } catch (error) {
    throw new UsageError(`${shown(path)} cannot be written: ${fileTrouble(error)}.`);
  }
}

/** The colours that the program itself sets; nothing else of the kind reaches a terminal. */
// eslint-disable-next-line no-control-regex -- escape sequences begin so
const COLOURS = /(\u001b\[(?:31|33|36|90|0)m)/;

/** A text as it may go to a terminal: control characters of names, titles and paths stand as visible escapes. */
export function shownText(text: string, colour: boolean): string {
  if (!colour) return visible(text);
  return text
    .split(COLOURS)
    .map((piece, i) => (i % 2 === 1 ? piece : visible(piece)))
    .join('');
}

function put(path: string, data: FileData): void {
  const trouble = writeFile(path, data);
  if (trouble !== null) throw new UsageError(`${shown(path)} ${trouble}.`);
}

/** Where a path leads, links followed; the path itself where nothing is there yet. */
function placeOf(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    return resolve(path);
  }
}

function writeOut(output: number, text: string | Uint8Array): void {
  try {
    writeAll(output, text);
  } catch (error) {
    throw new UsageError(
      codeOf(error) === 'EPIPE'
        ? 'The output was cut off: the program that reads it has ended.'
        : `The output cannot be written: ${fileTrouble(error)}.`,
    );
  }
}

function textOf(name: string, decoded: DecodedText): string {
  if (decoded.ok) return decoded.text;
  throw new UsageError(`${shown(name)} ${decoded.reason}.`);
}

/** Relative to the working folder where it lies below it, with forward slashes. */
function shown(path: string): string {
  const short = relative(process.cwd(), path);
  return (isAbsolute(path) && !short.startsWith('..') && short !== '' ? short : path).split(sep).join('/');
}

/**
 * The format that an option or the ending of an output's name asks for; ends the command where the two contradict each other or
 * the ending is of no format that there is. Names without an ending take the format given, or the first.
 */
export function outputFormat<F extends string>(
  formats: readonly F[],
  out: string | undefined,
  given: string | undefined,
): F {
  const one = formats.length === 1 ? formats[0]! : `${formats.slice(0, -1).join(', ')} or ${formats.at(-1)!}`;
  const format = formats.find((f) => f === given);
  if (given !== undefined && format === undefined) throw new UsageError(`--format is ${one}, not ${given}.`);
  const ending = out === undefined || out === '-' ? undefined : /\.([^./\\]*)$/.exec(out)?.[1];
  const named = formats.find((f) => f === ending?.toLowerCase());
  if (ending !== undefined && named === undefined) throw new UsageError(`${out} ends in .${ending}; write ${one}.`);
  if (format !== undefined && named !== undefined && format !== named)
    throw new UsageError(`${out} ends in .${named}, but --format is ${format}.`);
  return named ?? format ?? formats[0]!;
}

/** Ends the command where an output's name ends in what the command does not write; a rig's name is left to `Io.write`, which knows why. */
export function wantEnding(endings: readonly string[], out: string): void {
  if (out !== '-' && !/\.rig$/i.test(out)) outputFormat(endings, out, undefined);
}

/** A mistake of the caller: usage or a file that cannot be read. Ends the command with exit code 2 and this sentence. */
export class UsageError extends Error {}

/** A word of the user as it stands in a message: its beginning where it is long. */
export function shortened(word: string): string {
  return word.length <= 200 ? word : `${word.slice(0, 120)}… (${word.length} characters)`;
}
