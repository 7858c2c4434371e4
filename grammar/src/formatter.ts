/**
 * The formatter. Changes blanks and line ends only, and proves it: afterwards the parser sees the very same tokens and every
 * comment is there in order, or nothing is changed and the reason given. Texts with mistakes in form are left alone.
 */
import type { Span } from './ast';
import { alignColumns, alignComments } from './format-columns';
import { setLines } from './format-lines';
import { drained, readSteps, type Reading } from './read';
import { Comment, Newline, type RigToken } from './tokens';
import { say } from './say';

/** Replace `span` of the text by `text`. */
export interface FormatEdit {
  readonly span: Span;
  readonly text: string;
}

/** Edits in order, none overlapping; null where the text is left alone, with the reason. */
export interface FormatEdits {
  readonly edits: readonly FormatEdit[] | null;
  readonly reason: string | null;
}

/** The line end that a text uses most; LF where it has none. */
export function lineEndOf(text: string): string {
  const crlf = text.match(/\r\n/g)?.length ?? 0;
  const lf = (text.match(/\n/g)?.length ?? 0) - crlf;
  const cr = (text.match(/\r/g)?.length ?? 0) - crlf;
  if (crlf > lf && crlf >= cr) return '\r\n';
  return cr > lf ? '\r' : '\n';
}

/** A comment's blanks at its end belong to no one. */
const imageOf = (token: RigToken): string => (token.tokenType === Comment ? token.image.trimEnd() : token.image);
const endOf = (token: RigToken): number => token.startOffset + imageOf(token).length;

/** The blanks and line ends before each token but newlines, and after the last. */
function gapsFor(reading: Reading, lineEnd: string): string[] {
  const lines = setLines(reading);
  alignColumns(lines);
  alignComments(lines);
  const gaps = lines.flatMap((line) => line.gaps.map((gap, i) => (i === 0 ? lineEnd.repeat(line.breaks) : '') + gap));
  return [...gaps, lines.length > 0 ? lineEnd : ''];
}

/** What must stay the same: the parser's input, and all comments. */
function essence(reading: Reading): string {
  const parts = reading.input.map((t) => (t.tokenType === Newline ? '\n' : t.image));
  while (parts[parts.length - 1] === '\n') parts.pop();
  while (parts[0] === '\n') parts.shift();
  const comments = reading.tokens.filter((t) => t.tokenType === Comment).map(imageOf);
  return JSON.stringify([parts, comments]);
}

function lineOf(text: string, offset: number): number {
  return text.slice(0, offset).split(/\r\n|\r|\n/).length;
}

function refusal(text: string, reading: Reading): string | null {
  const first = reading.problems[0];
  if (!first) return null;
  return say`Not formatted, because line ${lineOf(text, first.span.start)} has a mistake: ${first.message}`;
}

function editsFor(text: string, reading: Reading): FormatEdit[] {
  const gaps = gapsFor(reading, lineEndOf(text));
  const edits: FormatEdit[] = [];
  let at = 0;
  const tokens = reading.tokens.filter((t) => t.tokenType !== Newline);
  gaps.forEach((gap, i) => {
    const end = tokens[i]?.startOffset ?? text.length;
    if (text.slice(at, end) !== gap) edits.push({ span: { start: at, end }, text: gap });
    const token = tokens[i];
    if (token) at = endOf(token);
  });
  return edits;
}

/** The text after edits in order. */
export function applyEdits(text: string, edits: readonly FormatEdit[]): string {
  let at = 0;
  let result = '';
  for (const { span, text: replacement } of edits) {
    result += text.slice(at, span.start) + replacement;
    at = span.end;
  }
  return result + text.slice(at);
}

/** The smallest edits that format a text; each replaces blanks and line ends between two tokens. */
export function formatEdits(text: string): FormatEdits {
  return drained(formatSteps(text));
}

/** The same in steps: reading, setting, reading again, comparing. */
export function* formatSteps(text: string): Generator<undefined, FormatEdits, void> {
  const reading = yield* readSteps(text);
  yield;
  const refused = refusal(text, reading);
  if (refused !== null) return { edits: null, reason: refused };
  const edits = editsFor(text, reading);
  yield;
  const after = yield* readSteps(applyEdits(text, edits));
  yield;
  if (after.problems.length === 0 && essence(after) === essence(reading)) return { edits, reason: null };
  return {
    edits: null,
    reason: say`Not formatted, because the result would not read the same; please report this text.`,
  };
}

/** A text formatted; null where it is left alone, with the reason. Formatting the result again changes nothing. */
export function formatText(text: string): { text: string | null; reason: string | null } {
  const { edits, reason } = formatEdits(text);
  return { text: edits && applyEdits(text, edits), reason };
}

function lineBounds(text: string, span: Span): Span {
  let { start, end } = span;
  while (start > 0 && !/[\r\n]/.test(text[start - 1]!)) start--;
  while (end < text.length && !/[\r\n]/.test(text[end]!)) end++;
  return { start, end };
}

/** An edit as far as it concerns the lines of a range: what follows them keeps its line breaks and indentation. */
function editWithin(text: string, edit: FormatEdit, lines: Span): FormatEdit | null {
  const { start, end } = edit.span;
  if (end < lines.start || start > lines.end) return null;
  if (end <= lines.end) return edit;
  const trailing = /^[^\r\n]*/.exec(text.slice(start, end))![0];
  return trailing === '' ? null : { span: { start, end: start + trailing.length }, text: '' };
}

/** The edits of `formatEdits` that concern the lines of `span`. */
export function formatRange(text: string, span: Span): FormatEdits {
  return drained(formatRangeSteps(text, span));
}

/** The same in steps, as `formatSteps`. */
export function* formatRangeSteps(text: string, span: Span): Generator<undefined, FormatEdits, void> {
  const { edits, reason } = yield* formatSteps(text);
  if (!edits) return { edits, reason };
  const lines = lineBounds(text, span);
  return { edits: edits.map((e) => editWithin(text, e, lines)).filter((e) => e !== null), reason };
}
