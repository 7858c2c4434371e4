/** Repairs as text: where a new statement goes, with the indentation of its neighbours; changes inside a statement. */
import type { Statement } from '../../../../grammar/src/ast';
import { type QuantityText, quantityText } from '../../../../grammar/src/quantity-text';
import {
  expressionSpan,
  hasProperties,
  indentAt,
  newlineOf,
  setProperties,
  statementAt,
} from '../../../../grammar/src/rewrite';
import type { Fix, Source, TextEdit } from '../../model/problem';
import type { CheckContext } from '../check';

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
  const [text, statement] = [context.text(item.uri), statementOf(context, item)];
  if (text === undefined || !hasProperties(statement)) return null;
  const edit = setProperties(text, statement, [[keyword, value]])?.[0];
  return edit ? { at: { uri: item.uri, ...edit.span }, text: edit.text } : null;
}

function statementOf(context: CheckContext, { uri, start, end }: Source): Statement | null {
  const tree = context.tree(uri);
  return tree ? statementAt(tree, { start, end }) : null;
}

/** The expression behind the `=` of a `drive` or `signal` statement: its place and text; null where there is none. */
export function expressionOf(
  context: CheckContext,
  whole: Source,
): { readonly at: Source; readonly text: string } | null {
  const text = context.text(whole.uri);
  // A door may be driven by a sequence, which has no expression.
  const span = text === undefined ? null : expressionSpan(text, statementOf(context, whole));
  return span && { at: { uri: whole.uri, ...span }, text: text!.slice(span.start, span.end) };
}

/** The one literal at a place, with its unit; null for a computed value, and for one with a tolerance. */
export function literalAt(context: CheckContext, at: Source): QuantityText | null {
  const text = context.text(at.uri)?.slice(at.start, at.end);
  const literal = text === undefined ? null : quantityText(text);
  return literal && literal.unit !== '' && literal.span.end === text!.length ? literal : null;
}

/** A literal with another number: same unit, same blank, with at most this number of significant digits. */
export function withNumber({ blank, unit }: QuantityText, number: number, digits: number): string {
  return `${Number(number.toPrecision(digits))}${blank}${unit}`;
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
