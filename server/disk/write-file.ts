/**
 * Writing a file so that it is either the old one or the new one, whatever happens: the data go into a file beside it, are flushed,
 * and take its name in one step. Links are followed and stay links; mode and byte order mark stay.
 */
import {
  closeSync,
  fchmodSync,
  fsyncSync,
  openSync,
  readlinkSync,
  readSync,
  renameSync,
  statSync,
  unlinkSync,
  writeSync,
  type Stats,
} from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { pause } from './read-text';
import { codeOf, fileTrouble } from './trouble';

/** What is written: a text, bytes, or a text in pieces, taken one by one. */
export type FileData = string | Uint8Array | Iterable<string>;

/** Writes a file, or gives why not: a clause to stand after its name. On failure the old file is as it was. */
export function writeFile(path: string, data: FileData): string | null {
  try {
    const target = followed(path);
    const before = statOf(target);
    // A device or pipe (`/dev/stdout`) has no contents that could be lost, and must not be replaced.
    if (before && !before.isFile()) writeInto(target, data);
    else replace(target, before && typeof data === 'string' ? marked(target, data) : data, before);
    return null;
  } catch (error) {
    return `cannot be written: ${fileTrouble(error)}`;
  }
}

/** Where a path leads by its links, the last of which may lead nowhere yet. */
function followed(path: string): string {
  let at = path;
  for (let links = 0; links < 40; links++) {
    let next: string;
    try {
      next = readlinkSync(at);
    } catch {
      return at;
    }
    at = resolve(dirname(at), next);
  }
  throw Object.assign(new Error('circle'), { code: 'ELOOP' });
}

function statOf(path: string): Stats | null {
  try {
    return statSync(path);
  } catch (error) {
    if (codeOf(error) === 'ENOENT') return null;
    throw error;
  }
}

function replace(target: string, data: FileData, before: Stats | null): void {
  // What may not be written must not be replaced either, though the folder would allow it.
  if (before) closeSync(openSync(target, 'r+'));
  const beside = join(dirname(target), `.${basename(target).slice(0, 80)}.${process.pid}.caisson-new`);
  const file = openSync(beside, 'wx', before ? before.mode & 0o777 : 0o666);
  try {
    try {
      if (before) fchmodSync(file, before.mode & 0o7777);
      writeAll(file, data);
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
    renameSync(beside, target);
  } catch (error) {
    unlinkSync(beside);
    throw error;
  }
}

/** The text with a byte order mark where the file has one. */
function marked(target: string, text: string): string {
  const head = Buffer.alloc(3);
  const file = openSync(target, 'r');
  try {
    const count = readSync(file, head, 0, 3, 0);
    return count === 3 && head.toString('hex') === 'efbbbf' ? `\uFEFF${text}` : text;
  } finally {
    closeSync(file);
  }
}

function writeInto(target: string, data: FileData): void {
  const file = openSync(target, 'w');
  try {
    writeAll(file, data);
  } finally {
    closeSync(file);
  }
}

/** Writes everything to an open file or stream, waiting where it takes no more for the moment; throws as Node does. */
export function writeAll(file: number, data: FileData): void {
  if (typeof data !== 'string' && !(data instanceof Uint8Array)) {
    for (const piece of data) writeAll(file, piece);
    return;
  }
  const bytes = typeof data === 'string' ? Buffer.from(data) : data;
  let done = 0;
  while (done < bytes.length) {
    try {
      done += writeSync(file, bytes, done, bytes.length - done);
    } catch (error) {
      if (codeOf(error) !== 'EAGAIN') throw error;
      pause();
    }
  }
}
