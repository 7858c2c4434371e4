/**
 * How wide a text is about to be, without a browser. Classes of widths of a plain sans-serif (em fractions rounded up from the
 * Helvetica metrics of the Adobe Core 14 fonts), so that an estimate is rather too wide than too narrow.
 */

const NARROW = /[ijlI.,:;'|!()[\]/\\ ·]/;
const WIDE = /[mwMW@%→←]/;
const UPPER = /[\p{Lu}]/u;
const FULL = /[\u1100-\u11ff\u2e80-\ud7af\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\u{1f000}-\u{3ffff}]/u;
const NOTHING = /\p{Mn}|\p{Me}|\p{Cf}/u;

function emOf(character: string): number {
  if (NOTHING.test(character)) return 0;
  if (FULL.test(character)) return 1.05;
  if (NARROW.test(character)) return 0.32;
  if (WIDE.test(character)) return 0.95;
  if (UPPER.test(character)) return 0.72;
  return 0.58;
}

/** Estimated width in px of `text` at a font size in px. */
export function textWidth(text: string, size: number): number {
  let em = 0;
  for (const character of text) em += emOf(character);
  return em * size;
}

/** `text` cut with an ellipsis so that it fits in `width` px; whole code points only. */
export function fitText(text: string, size: number, width: number): string {
  if (textWidth(text, size) <= width) return text;
  const kept: string[] = [];
  let used = textWidth('…', size);
  for (const character of text) {
    used += emOf(character) * size;
    if (used > width) break;
    kept.push(character);
  }
  return kept.join('').trimEnd() + '…';
}
