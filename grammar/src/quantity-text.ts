/** A quantity as it stands in a text: where its number and unit are, so that another value can take their place. */
import type { Expression, Span } from './ast';
import { readExpression, readText } from './read';

export interface QuantityText {
  /** The digits as written. */
  readonly number: string;
  /** The unit as written, empty where there is none. */
  readonly unit: string;
  /** From the first digit to the end of the unit. */
  readonly span: Span;
  /** What stands between number and unit. */
  readonly blank: string;
}

/** The literal that a text consists of, with its sign, alone or with a tolerance (`1.8 s +- 5 %`); null where the text says anything else. */
export function quantityText(text: string): QuantityText | null {
  const { expression, problems } = readExpression(text);
  if (problems.length > 0) return null;
  const signed = withoutTolerance(expression);
  const isNegative = signed.kind === 'unary' && signed.operator === '-';
  const literal = isNegative ? signed.operand : signed;
  if (literal.kind !== 'quantity') return null;
  // The sign of `-(3 s)` does not belong to the literal.
  if (isNegative && text.slice(signed.span.start + 1, literal.span.start).trim() !== '') return null;
  const { numberSpan, unit } = literal;
  const number = isNegative ? `-${literal.number}` : literal.number;
  const span = { start: signed.span.start, end: unit?.span.end ?? numberSpan.end };
  const blank = unit ? text.slice(numberSpan.end, unit.span.start) : '';
  return { number, unit: unit ? text.slice(unit.span.start, unit.span.end) : '', span, blank };
}

/** `1 s + wait +- 2 %` in its parts, where the whole of an expression has a tolerance; null where it has none there. */
export function toleranceText(text: string): { readonly nominal: string; readonly tolerance: string } | null {
  const { expression } = readExpression(text);
  if (expression.kind !== 'binary' || expression.operator !== '+-') return null;
  const operator = expression.operatorSpan;
  return {
    nominal: text.slice(expression.span.start, operator.start).trim(),
    tolerance: text.slice(operator.end, expression.span.end).trim(),
  };
}

/** Where the value of a `let` statement stands that is a text of its own; null where the text is anything else. */
export function letValueSpan(text: string): Span | null {
  const [statement] = readText(text).statements;
  return statement?.kind === 'let' && statement.value.kind !== 'missing' ? statement.value.span : null;
}

const withoutTolerance = (expression: Expression): Expression =>
  expression.kind === 'binary' && expression.operator === '+-' ? expression.left : expression;
