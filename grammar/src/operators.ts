/** Operators of expressions: how tightly they bind, and operands joined by that. */
import type { BinaryOperator, Expression, Span } from './ast';
import { plainOperator, spanOf } from './lexer';
import type { RigToken } from './tokens';

/** How tightly an operator binds; unary `not` and `-` bind tighter than all. */
const PRECEDENCE: Readonly<Record<BinaryOperator, number>> = {
  '..': 1,
  '+-': 2,
  or: 3,
  xor: 4,
  and: 5,
  '<': 6,
  '<=': 6,
  '>': 6,
  '>=': 6,
  '=': 6,
  '<>': 6,
  '+': 7,
  '-': 7,
  '*': 8,
  '/': 8,
};
/** Loosest operators an expression may hold: any, or only arithmetic (before the comparison of a requirement). */
export const ANY_OPERATOR = 1;
export const ARITHMETIC = 7;

/** From the opening to after the closing parenthesis of an expression that stands in some; its own span is what is inside. */
const groups = new WeakMap<Expression, Span>();
export const wholeOf = (operand: Expression): Span => groups.get(operand) ?? operand.span;
export const noteGroup = (inner: Expression, whole: Span): void => void groups.set(inner, whole);
/** Notes for a copy that stands `by` further on what is noted for the original, if it is in parentheses. */
export function moveGroup(original: Expression, copy: Expression, by: number): void {
  const whole = groups.get(original);
  if (whole) groups.set(copy, { start: whole.start + by, end: whole.end + by });
}

/** Joins operands by precedence, left to right among equals. */
export function foldOperators(operands: readonly Expression[], operators: readonly RigToken[]): Expression {
  const values: Expression[] = [operands[0]!];
  const waiting: RigToken[] = [];
  const join = () => {
    const right = values.pop()!;
    const left = values.pop()!;
    const token = waiting.pop()!;
    const operator = plainOperator(token.image) as BinaryOperator;
    const span = { start: wholeOf(left).start, end: wholeOf(right).end };
    values.push({ kind: 'binary', operator, operatorSpan: spanOf(token), left, right, span });
  };
  operators.forEach((token, i) => {
    while (waiting.length > 0 && bindingOf(waiting[waiting.length - 1]!) >= bindingOf(token)) join();
    waiting.push(token);
    values.push(operands[i + 1]!);
  });
  while (waiting.length > 0) join();
  return values[0]!;
}

export const bindingOf = (token: RigToken): number => PRECEDENCE[plainOperator(token.image) as BinaryOperator] ?? 0;
