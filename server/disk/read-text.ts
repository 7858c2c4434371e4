/** Reading a text from this machine's disk: regular files of UTF-8 text up to 4 MB. Devices, pipes and folders are never opened. */
import { closeSync, constants, fstatSync, openSync, readSync, statSync, type Stats } from 'node:fs';
import { decodeText, MOST_BYTES, sizeTrouble, TextPieces, type DecodedText } from '../protocol/text-bytes';
import { fileTrouble } from './trouble';

/** Bytes read at a time. */
const PIECE = 64 * 1024;

/** The text of a file of at most this number of bytes, or why it is not read: a clause to stand after its name. */
export const readTextFile = (path: string, most: number = MOST_BYTES): DecodedText =>
  fromFile(path, most, (file) => decode(readAll(file, most), most));

/**
 * Gives the text of a file to `take` in pieces of up to `PIECE` bytes, until it answers false; why it cannot be read to its end, or null. What
 * was taken before a refusal is void.
 */
export function readTextPieces(path: string, most: number, take: (text: string) => boolean): string | null {
  const given = fromFile(path, most, (file): DecodedText => {
    const pieces = new TextPieces();
    const buffer = Buffer.allocUnsafe(PIECE);
    let total = 0;
    for (;;) {
      const count = readPiece(file, buffer);
      const large = sizeTrouble((total += count), most);
      if (large !== null) return { ok: false, reason: large };
      const decoded = pieces.next(buffer.subarray(0, count), count === 0);
      if (!decoded.ok || count === 0 || !take(decoded.text)) return decoded;
    }
  });
  return given.ok ? null : given.reason;
}

function fromFile(path: string, most: number, use: (file: number) => DecodedText): DecodedText {
  try {
    const refused = kindTrouble(statSync(path), most);
    if (refused !== null) return { ok: false, reason: refused };
    // Not blocking, should a pipe have taken the place of the file since.
    const file = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
    try {
      const now = kindTrouble(fstatSync(file), most);
      return now === null ? use(file) : { ok: false, reason: now };
    } finally {
      closeSync(file);
    }
  } catch (error) {
    return { ok: false, reason: `cannot be read: ${fileTrouble(error)}` };
  }
}

/** The text of an open stream such as standard input. */
export function readTextStream(file: number): DecodedText {
  try {
    return decode(readAll(file, MOST_BYTES), MOST_BYTES);
  } catch (error) {
    return { ok: false, reason: `cannot be read: ${fileTrouble(error)}` };
  }
}

function kindTrouble(stats: Stats, most: number): string | null {
  if (stats.isFile()) return sizeTrouble(stats.size, most);
  if (stats.isDirectory()) return 'is a folder';
  return 'is not a regular file (a device, pipe or socket)';
}

function decode(bytes: Uint8Array, most: number): DecodedText {
  const large = sizeTrouble(bytes.length, most);
  return large === null ? decodeText(bytes) : { ok: false, reason: large };
}

/** All bytes of an open file, at most one more than the limit: files of the system may not know their size. */
function readAll(file: number, most: number): Uint8Array {
  const pieces: Buffer[] = [];
  let total = 0;
  while (total <= most) {
    const piece = Buffer.allocUnsafe(Math.min(PIECE, most + 1 - total));
    const count = readPiece(file, piece);
    if (count === 0) break;
    pieces.push(piece.subarray(0, count));
    total += count;
  }
  return Buffer.concat(pieces);
}

function readPiece(file: number, piece: Buffer): number {
  for (;;) {
    try {
      return readSync(file, piece, 0, piece.length, null);
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      if (code === 'EOF') return 0;
      if (code !== 'EAGAIN') throw error;
      pause();
    }
  }
}

/** A few milliseconds; standard input of a terminal may have nothing yet. */
export function pause(): void {
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 5);
}
