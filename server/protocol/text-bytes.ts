/** Bytes of a file as text: UTF-8 and nothing else, so that no text is ever rewritten from a wrong reading of it. */
import { say } from '../core/words/say';

export type DecodedText =
  | {
      readonly ok: true;
      /** Without the byte order mark. */
      readonly text: string;
      /** Whether the file begins with a byte order mark. */
      readonly mark: boolean;
    }
  | {
      readonly ok: false;
      /** What the file is instead, to stand after its name: `is UTF-16 text; save it as UTF-8`. */
      readonly reason: string;
    };

/** The largest file that is read: 4 MB, some 100,000 lines. Our own choice, no source. */
export const MOST_BYTES = 4 * 1024 * 1024;

/** `PK`, 3, 4: what packed files begin with, those of spreadsheets too (ZIP, APPNOTE 4.3.7 of its maker). */
const PACKED = [0x50, 0x4b, 0x03, 0x04] as const;
const UTF16_LITTLE = [0xff, 0xfe] as const;
const UTF16_BIG = [0xfe, 0xff] as const;

/** The text of some bytes, or what they are instead. */
export const decodeText = (bytes: Uint8Array): DecodedText => new TextPieces().next(bytes, true);

/** The text of bytes that come in pieces; a character may be cut between two of them. After a refusal it is of no more use. */
export class TextPieces {
  private readonly decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });
  private begun = false;

  /** `mark` is that of the first piece, which holds the first bytes of the file and at least 64 of them where it has them. */
  next(bytes: Uint8Array, isLast: boolean): DecodedText {
    const starts = (mark: readonly number[]): boolean => !this.begun && mark.every((byte, i) => bytes[i] === byte);
    if (starts(UTF16_LITTLE) || starts(UTF16_BIG) || (!this.begun && looksLikeUtf16(bytes)))
      return { ok: false, reason: say`is UTF-16 text; save it as UTF-8` };
    if (starts(PACKED))
      return { ok: false, reason: say`is a packed file (a spreadsheet?) and no text; save it as text` };
    const mark = starts([0xef, 0xbb, 0xbf]);
    this.begun = true;
    try {
      const text = this.decoder.decode(mark ? bytes.subarray(3) : bytes, { stream: !isLast });
      if (text.includes('\0')) return { ok: false, reason: say`is not a text file` };
      return { ok: true, text, mark };
    } catch {
      return { ok: false, reason: say`is not UTF-8 text; save it as UTF-8` };
    }
  }
}

/** UTF-16 without a mark: in Western text every other byte is zero. */
function looksLikeUtf16(bytes: Uint8Array): boolean {
  const length = Math.min(bytes.length, 64);
  if (length < 4) return false;
  const zeros = [0, 0];
  for (let i = 0; i < length; i++) if (bytes[i] === 0) zeros[i % 2]!++;
  const half = length / 2;
  return (zeros[0]! > half * 0.7 && zeros[1] === 0) || (zeros[1]! > half * 0.7 && zeros[0] === 0);
}

/** What the size of a file is refused with, null where it is small enough. */
export function sizeTrouble(bytes: number, most: number = MOST_BYTES): string | null {
  if (bytes <= most) return null;
  return say`is larger than ${most / 1024 / 1024} MB`;
}
