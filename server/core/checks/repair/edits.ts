/** Repairs as text: where a new statement goes, with the indentation of its neighbours; changes inside a statement. */
import type { Fix, Source, TextEdit } from '../../model/problem';
import type { CheckContext } from '../check';

/** Leading blanks of the line that holds `offset`. */
function indentAt(text: string, offset: number): string {
  const start = text.lastIndexOf('\n', offset - 1) + 1;
  return /^[ \t]*/.exec(text.slice(start))![0];
}

function newlineOf(text: string): string {
  return text.includes('\r\n') ? '\r\n' : '\n';
}

/** Whether a place lies in the rig's own text, outside parts: there a statement about the whole rig can stand. */
function isOwn(context: CheckContext, at: Source): boolean {
  const { whole } = context.rig;
  const parts = context.resolution.declarations.filter((d) => d.kind === 'part').map((d) => d.whole);
  const inside = (outer: Source): boolean => outer.uri === at.uri && outer.start <= at.start && at.end <= outer.end;
  return inside(whole) && !parts.some(inside);
}

/** Where a line with nothing but blanks or a comment may begin after a statement: end of its line, or its own end before a `}`. */
function afterStatement(text: string, end: number): number {
  const line = text.slice(end).search(/\r?\n|$/);
  const rest = text.slice(end, end + line);
  return /^[ \t]*(#.*)?$/.test(rest) ? end + line : end;
}

/**
 * Puts a statement on a line of its own: after the last of `neighbours` that stands in the rig itself, else before its closing
 * brace. Null where the text is not known.
 */
export function insertStatement(
  context: CheckContext,
  statement: string,
  neighbours: readonly Source[],
): TextEdit | null {
  const { whole } = context.rig;
  const text = context.text(whole.uri);
  if (text === undefined) return null;
  const own = neighbours.filter((n) => isOwn(context, n));
  const last = own.reduce<Source | null>((a, b) => (a && a.end >= b.end ? a : b), null);
  if (!last) return atEndOfRig(context, text, statement);
  const offset = afterStatement(text, last.end);
  const line = `${newlineOf(text)}${indentAt(text, last.start)}${statement}`;
  const restOfLine = offset === last.end && !/^\s*?(\r?\n|$)/.test(text.slice(offset)) ? newlineOf(text) : '';
  return { at: { uri: whole.uri, start: offset, end: offset }, text: line + restOfLine };
}

function atEndOfRig(context: CheckContext, text: string, statement: string): TextEdit | null {
  const { whole } = context.rig;
  const brace = whole.end - 1;
  if (text[brace] !== '}') return null;
  const before = text.slice(0, brace).trimEnd().length;
  const indent = `${indentAt(text, whole.start)}  `;
  const newline = newlineOf(text);
  const tail = text.slice(before, brace).includes('\n') ? '' : newline;
  const offset = afterStatement(text, before) > brace ? before : afterStatement(text, before);
  return { at: { uri: whole.uri, start: offset, end: offset }, text: `${newline}${indent}${statement}${tail}` };
}

/** A fix that states a requirement: after the other requirements, else after the drives. */
export function requireFix(context: CheckContext, title: string, requirement: string, preferred = false): Fix[] {
  const { rig } = context;
  const required = rig.requirements.map((r) => r.at);
  const neighbours = required.some((at) => isOwn(context, at))
    ? required
    : [...rig.drives, ...rig.sequences, ...rig.signals].map((s) => s.whole);
  const edit = insertStatement(context, `require ${requirement}`, neighbours);
  return edit ? [{ title, edits: [edit], ...(preferred ? { preferred } : {}) }] : [];
}

/** Adds or changes a worded property of an item (`rest closed`); null where the text has no such form. */
export function setProperty(context: CheckContext, item: Source, keyword: string, value: string): TextEdit | null {
  const text = context.text(item.uri)?.slice(item.start, item.end);
  if (text === undefined) return null;
  const { uri } = item;
  const present = new RegExp(`(^|[\\s{])${keyword}[ \\t]+\\w+`, 'm').exec(withoutComments(text));
  if (present) {
    const start = item.start + present.index + present[1]!.length;
    return { at: { uri, start, end: item.start + present.index + present[0].length }, text: `${keyword} ${value}` };
  }
  const brace = withoutComments(text).lastIndexOf('}');
  if (brace < 0) return { at: { uri, start: item.end, end: item.end }, text: ` { ${keyword} ${value} }` };
  const before = text.slice(0, brace).trimEnd();
  const indent = text.slice(before.length, brace).includes('\n')
    ? `\n${indentAt(context.text(uri)!, item.start)}  `
    : '  ';
  const start = item.start + before.length;
  const gap = before.endsWith('{') ? ' ' : indent;
  return { at: { uri, start, end: start }, text: `${gap}${keyword} ${value}` };
}

/** The text with comments blanked out, offsets kept. */
function withoutComments(text: string): string {
  return text.replace(/#[^\n]*/g, (comment) => ' '.repeat(comment.length));
}

/** The expression behind the `=` of a `drive` or `signal` statement: its place and text; null where there is none. */
export function expressionOf(
  context: CheckContext,
  whole: Source,
): { readonly at: Source; readonly text: string } | null {
  const text = context.text(whole.uri)?.slice(whole.start, whole.end);
  // A door may be driven by a sequence, which has no expression.
  const equals = text !== undefined && /^(drive|signal)\b/.test(text) ? text.indexOf('=') : -1;
  if (text === undefined || equals < 0) return null;
  const written = text.slice(equals + 1);
  const lead = written.length - written.trimStart().length;
  const start = whole.start + equals + 1 + lead;
  const expression = written.trim();
  return { at: { uri: whole.uri, start, end: start + expression.length }, text: expression };
}

/** Deletes a statement with its line. */
export function deleteStatement(context: CheckContext, whole: Source): TextEdit | null {
  const text = context.text(whole.uri);
  if (text === undefined) return null;
  const lineStart = text.lastIndexOf('\n', whole.start - 1) + 1;
  const alone = text.slice(lineStart, whole.start).trim() === '' && /^[ \t]*(\r?\n|$)/.test(text.slice(whole.end));
  if (!alone) return { at: whole, text: '' };
  const end = text.indexOf('\n', whole.end);
  return { at: { uri: whole.uri, start: lineStart, end: end < 0 ? text.length : end + 1 }, text: '' };
}
