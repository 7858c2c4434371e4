/** What the grammar tests share: trees without their positions, one statement alone, fixtures of mistakes. */
import { expect } from 'vitest';
import { parse, parseExpression } from '../../grammar/src/api';
import type { Expression, Statement } from '../../grammar/src/ast';
import { dedent, withCarets, withoutCarets } from '../support/fixture';

/** An expression in brackets, so that a test shows how it was grouped. */
export function shapeOf(e: Expression): string {
  switch (e.kind) {
    case 'quantity':
      return e.unit ? `${e.number}[${e.unit.text}]` : e.number;
    case 'state':
      return e.on ? 'on' : 'off';
    case 'reference':
      return e.name.text;
    case 'unary':
      return `(${e.operator} ${shapeOf(e.operand)})`;
    case 'binary':
      return `(${shapeOf(e.left)} ${e.operator} ${shapeOf(e.right)})`;
    case 'call':
      return `${e.callee.text}(${e.args.map(shapeOf).join(', ')})`;
    case 'event':
      return `${e.subject.text}!${e.event.text}`;
    case 'missing':
      return '?';
  }
}

function plain(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(plain);
  if (typeof value !== 'object' || value === null) return value;
  const entries = Object.entries(value);
  if ('kind' in value && 'span' in value && !('keywordSpan' in value)) return shapeOf(value as Expression);
  if ('text' in value && 'span' in value && entries.length === 2) return value.text;
  if ('value' in value && 'span' in value && entries.length === 2) return `"${String(value.value)}"`;
  return Object.fromEntries(
    entries.filter(([k]) => !/span$/i.test(k) && k !== 'documentation').map(([k, v]) => [k, plain(v)]),
  );
}

/** A statement without positions and comments; names as text, expressions as `shapeOf` writes them. */
export const plainStatement = (statement: Statement): unknown => plain(statement);

/** The statements of a sound text that stands in a rig, without positions. */
export function statementsInRig(text: string): unknown[] {
  const whole = `rig test {\n${text}\n}\n`;
  const { tree, problems } = parse(whole);
  expect(problems).toEqual([]);
  const rig = tree.statements[0]!;
  return rig.kind === 'rig' ? rig.body.map(plain) : [];
}

/** How a sound expression is grouped. */
export function expressionShape(text: string): string {
  const { expression, problems } = parseExpression(text);
  expect(problems).toEqual([]);
  return shapeOf(expression);
}

/** Checks number, place, code and wording of all mistakes against the fixture's caret lines. */
export function expectMistakes(fixture: string): void {
  const expected = dedent(fixture);
  const text = withoutCarets(expected);
  const noted = parse(text).problems.map((p) => ({
    span: p.span,
    note: `${p.code.replace('syntax/', '')}: ${p.message}`,
  }));
  expect(withCarets(text, noted)).toBe(expected);
}

/** The same for lines that stand in a rig. */
export function expectMistakesInRig(lines: string): void {
  expectMistakes(['rig r {', lines.replace(/^\n|\n *$/g, ''), '}'].join('\n'));
}
