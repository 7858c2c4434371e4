/** Changing statements by their tree: where a property stands or would stand. Texts in, edits out; nothing is applied here. */
import type { Property, Span, Statement, Tree } from './ast';

/** Replace `span` of the text by `text`. */
export interface SpanEdit {
  readonly span: Span;
  readonly text: string;
}

type WithProperties = Extract<Statement, { readonly properties: readonly Property[] }>;

/** The statement that stands exactly at `span`, also inside rigs and parts; null where there is none. */
export function statementAt(tree: Tree, span: Span): Statement | null {
  return findStatement(tree.statements, span);
}

function findStatement(statements: readonly Statement[], span: Span): Statement | null {
  for (const statement of statements) {
    const { start, end } = statement.span;
    if (start > span.start || end < span.end) continue;
    if (start === span.start && end === span.end) return statement;
    return 'body' in statement ? findStatement(statement.body, span) : null;
  }
  return null;
}

/** The statements of these that can hold properties. */
export function hasProperties(statement: Statement | null): statement is WithProperties {
  return statement !== null && 'properties' in statement;
}

/** The property of a keyword, or undefined. */
export function propertyNamed(statement: WithProperties, keyword: string): Property | undefined {
  return statement.properties.find((p) => p.keyword.text === keyword);
}

/** A property to state: its keyword and what stands after it: `closed`, `250 ms`. */
export type Stated = readonly [keyword: string, stated: string];

/**
 * States properties: changes those that are there, and adds the others to the block (a block of its own where there is none).
 * @returns null where the block is not closed in the text, so that no place is safe
 */
export function setProperties(
  text: string,
  statement: WithProperties,
  properties: readonly Stated[],
): SpanEdit[] | null {
  const changes: SpanEdit[] = [];
  const added: string[] = [];
  for (const [keyword, stated] of properties) {
    const present = propertyNamed(statement, keyword);
    if (present) changes.push({ span: present.span, text: `${keyword} ${stated}` });
    else added.push(`${keyword} ${stated}`);
  }
  if (added.length === 0) return changes;
  const addition = addProperties(text, statement, added);
  return addition && [...changes, addition];
}

/** Adds properties as the last of the block, each on a line of its own where the block has lines. */
function addProperties(text: string, statement: WithProperties, added: readonly string[]): SpanEdit | null {
  const { start, end } = statement.span;
  const closed = text[end - 1] === '}';
  if (!closed && statement.properties.length > 0) return null;
  if (!closed) return { span: { start: end, end }, text: ` { ${added.join('  ')} }` };
  const brace = end - 1;
  const at = start + text.slice(start, brace).trimEnd().length;
  const gap = text.slice(at, brace);
  const span = { start: at, end: at };
  if (/[\r\n]/.test(gap)) {
    const line = newlineOf(text) + propertyIndent(text, statement);
    return { span, text: added.map((property) => line + property).join('') };
  }
  const lead = text[at - 1] === '{' ? ' ' : '  ';
  return { span, text: lead + added.join('  ') + (gap === '' ? ' ' : '') };
}

/** The line end that a text uses. */
export function newlineOf(text: string): string {
  return text.includes('\r\n') ? '\r\n' : text.includes('\n') || !text.includes('\r') ? '\n' : '\r';
}

/** Leading blanks of the line that holds `offset`. */
export function indentAt(text: string, offset: number): string {
  let start = offset;
  while (start > 0 && text[start - 1] !== '\n' && text[start - 1] !== '\r') start--;
  return /^[ \t]*/.exec(text.slice(start, offset))![0];
}

/** The indentation of the last property that begins its line, else two blanks more than the statement. */
function propertyIndent(text: string, statement: WithProperties): string {
  for (const { span } of [...statement.properties].reverse()) {
    const indent = indentAt(text, span.start);
    if (span.start === indent.length || /[\r\n]/.test(text[span.start - indent.length - 1]!)) return indent;
  }
  return `${indentAt(text, statement.span.start)}  `;
}
