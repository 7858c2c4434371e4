/** Changing statements by their tree: where a property stands or would stand. Texts in, edits out; nothing is applied here. */
import type { Expression, Property, Span, Statement, Tree } from './ast';
import { readExpression } from './read';

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

/** The expression of a `drive`, `signal` or `let` as it is written, with its own parentheses; null where there is none to be changed. */
export function expressionSpan(text: string, statement: Statement | null): Span | null {
  if (statement?.kind !== 'drive' && statement?.kind !== 'signal' && statement?.kind !== 'let') return null;
  const { value } = statement;
  const name = statement.kind === 'drive' ? statement.target : statement.name;
  const equals = text.indexOf('=', name.span.end);
  const between = text.slice(name.span.end, value.span.start);
  if (value.kind === 'missing' || equals < 0 || equals >= value.span.start || between.includes('#')) return null;
  const start = equals + 1 + /^\s*/.exec(text.slice(equals + 1))![0].length;
  const end = endOfValue(text, statement);
  return { start, end: start + text.slice(start, end).trimEnd().length };
}

/** Where the statement ends, or what follows its value begins: `responds 80 ms`, `in 1 s .. 2 s`. */
function endOfValue(text: string, statement: Statement & { readonly kind: 'drive' | 'signal' | 'let' }): number {
  const after =
    statement.kind === 'signal'
      ? (['responds', statement.responds] as const)
      : statement.kind === 'let'
        ? (['in', statement.range] as const)
        : null;
  return after?.[1] ? text.lastIndexOf(after[0], after[1].span.start) : statement.span.end;
}

/** An expression of logic as one operand beside `operator` or behind `not`: in parentheses unless it holds together by itself. */
export function asOperand(written: string, operator: 'not' | 'and' | 'or'): string {
  const { expression, problems } = readExpression(written);
  return problems.length === 0 && holdsTogether(expression, operator) ? written : `(${written})`;
}

function holdsTogether(expression: Expression, operator: 'not' | 'and' | 'or'): boolean {
  if (expression.kind === 'reference' || expression.kind === 'call') return true;
  if (operator === 'not') return false;
  if (expression.kind === 'unary') return true;
  return expression.kind === 'binary' && expression.operator === operator;
}

/** The opposite of an expression of logic: `not x` of `x`, `x` of `not x`. */
export function inverse(written: string): string {
  const { expression, problems } = readExpression(written);
  const isNegated = problems.length === 0 && expression.kind === 'unary' && expression.operator === 'not';
  return isNegated && expression.operand.kind === 'reference'
    ? expression.operand.name.text
    : `not ${asOperand(written, 'not')}`;
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
