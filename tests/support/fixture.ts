/**
 * Markers in test texts: `<|>` a cursor, `<|…|>` a range, and lines of carets under a line for the problems expected there.
 *
 *     door upper { rest shut }
 *                       ^^^^ syntax/expected: rest takes open or closed, not shut.
 */

/** Half-open range of UTF-16 offsets. */
export interface Marked {
  readonly start: number;
  readonly end: number;
}

/** A text without its one `<|>`, and where that stood. Fails where there is not exactly one. */
export function cursorFixture(marked: string): { text: string; offset: number } {
  const parts = marked.split('<|>');
  if (parts.length !== 2) throw new Error(`a cursor fixture needs one <|>, this one has ${parts.length - 1}`);
  return { text: parts.join(''), offset: parts[0]!.length };
}

/** A text without its `<|…|>` markers, and what they enclosed, in order. Ranges may not be nested. */
export function rangeFixture(marked: string): { text: string; ranges: Marked[] } {
  const ranges: Marked[] = [];
  let text = '';
  let start = -1;
  for (const piece of marked.split(/(<\||\|>)/)) {
    if (piece === '<|') start = text.length;
    else if (piece === '|>') {
      if (start < 0) throw new Error('a range fixture has |> without <|');
      ranges.push({ start, end: text.length });
      start = -1;
    } else text += piece;
  }
  if (start >= 0) throw new Error('a range fixture has <| without |>');
  return { text, ranges };
}

/** A problem as tests look at it: where, and what is said. */
export interface Noted {
  readonly span: Marked;
  readonly note: string;
}

const CARET_LINE = /^ *(?:\^+|\|) \S.*$/;

/** A text without its caret lines. */
export function withoutCarets(fixture: string): string {
  return fixture
    .split('\n')
    .filter((line) => !CARET_LINE.test(line))
    .join('\n');
}

function caretLine(lineText: string, from: number, to: number, note: string): string {
  const end = Math.min(to, lineText.length);
  return ' '.repeat(from) + (end > from ? '^'.repeat(end - from) : '|') + ' ' + note;
}

/**
 * A text with a line of carets under each problem, as fixtures are written; `|` stands for an empty place. Compare it with
 * the fixture: one assertion then checks number, place and wording. A place over several lines is marked on its first.
 */
export function withCarets(text: string, problems: readonly Noted[]): string {
  const out: string[] = [];
  let offset = 0;
  for (const line of text.split('\n')) {
    out.push(line);
    for (const { span, note } of problems) {
      if (span.start < offset || span.start > offset + line.length) continue;
      out.push(caretLine(line, span.start - offset, span.end - offset, note));
    }
    offset += line.length + 1;
  }
  return out.join('\n');
}

/** Removes the indentation that all lines share, and the empty first and last line of a template literal. */
export function dedent(text: string): string {
  const lines = text.replace(/^\n/, '').replace(/\n *$/, '').split('\n');
  const indents = lines.filter((line) => line.trim() !== '').map((line) => /^ */.exec(line)![0].length);
  const common = Math.min(...indents, Number.MAX_SAFE_INTEGER);
  return lines.map((line) => line.slice(Math.min(common, /^ */.exec(line)![0].length))).join('\n');
}
