/** Formatting as small edits, so that cursors and marks in untouched lines stay where they are. */
import { formatText } from '../../../grammar/src/api';
import type { Span } from '../../../grammar/src/ast';

/** Replace `span` of the original text by `text`. */
export interface FormatEdit {
  readonly span: Span;
  readonly text: string;
}

export interface FormatResult {
  readonly edits: readonly FormatEdit[];
  /** Why the text is left as it is, or null. */
  readonly refused: string | null;
}

/** Edits that format the whole text; none where it is formatted already or cannot be without loss. */
export function formatDocument(text: string): FormatResult {
  const formatted = formatText(text);
  if (formatted.text === null) return { edits: [], refused: formatted.reason };
  return { edits: lineEdits(text, formatted.text), refused: null };
}

/** Edits of the whole-text formatting that touch the lines of `range`. */
export function formatRange(text: string, range: Span): FormatResult {
  const whole = formatDocument(text);
  const first = text.lastIndexOf('\n', range.start - 1) + 1;
  const next = text.indexOf('\n', Math.max(range.start, range.end - 1));
  const last = next === -1 ? text.length : next + 1;
  return { ...whole, edits: whole.edits.filter((e) => e.span.start < last && e.span.end >= first) };
}

/** Smallest whole-line replacements that turn `before` into `after`. */
export function lineEdits(before: string, after: string): FormatEdit[] {
  const a = linesOf(before);
  const b = linesOf(after);
  const edits: FormatEdit[] = [];
  let offset = 0;
  let i = 0;
  let j = 0;
  for (const [matchA, matchB] of [...commonLines(a, b), [a.length, b.length] as const]) {
    const removed = a.slice(i, matchA).join('');
    const added = b.slice(j, matchB).join('');
    if (removed !== added) edits.push(trimmed(offset, removed, added));
    offset += removed.length + (a[matchA]?.length ?? 0);
    i = matchA + 1;
    j = matchB + 1;
  }
  return edits;
}

function linesOf(text: string): string[] {
  return text.match(/[^\n]*\n|[^\n]+$/g) ?? [];
}

/** Leaves out what both texts have in common at their ends. */
function trimmed(offset: number, removed: string, added: string): FormatEdit {
  const most = Math.min(removed.length, added.length);
  let head = 0;
  while (head < most && removed[head] === added[head]) head++;
  let tail = 0;
  while (tail < most - head && removed[removed.length - 1 - tail] === added[added.length - 1 - tail]) tail++;
  return {
    span: { start: offset + head, end: offset + removed.length - tail },
    text: added.slice(head, added.length - tail),
  };
}

/**
 * Pairs of indices of lines that stay, in order. A formatter rarely adds or removes lines, so each line is looked for near
 * where it is expected; a line not found within the window counts as changed, which is never wrong, only less small.
 */
function commonLines(a: readonly string[], b: readonly string[]): (readonly [number, number])[] {
  const WINDOW = 40;
  const pairs: (readonly [number, number])[] = [];
  let j = 0;
  for (let i = 0; i < a.length && j < b.length; i++) {
    if (a[i] === b[j]) {
      pairs.push([i, j++]);
      continue;
    }
    const rest = a.length - i === b.length - j;
    const found = rest || a[i]!.trim() === '' ? -1 : b.slice(j, j + WINDOW).indexOf(a[i]!);
    if (found > 0) {
      j += found;
      pairs.push([i, j++]);
    } else if (rest) {
      j++;
    }
  }
  return pairs;
}
