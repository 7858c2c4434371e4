/** A quantity as it stands in a text: where its number and unit are, so that another value can take their place. */
import type { Expression, QuantityLiteral, Span } from './ast';
import { readExpression } from './read';

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

/** The literal that a text consists of, alone or with a tolerance (`1.8 s +- 5 %`); null where the text says anything else. */
export function quantityText(text: string): QuantityText | null {
  const { expression, problems } = readExpression(text);
  if (problems.length > 0) return null;
  const literal = literalOf(expression);
  if (literal === null) return null;
  const { numberSpan, unit, number } = literal;
  const span = { start: numberSpan.start, end: unit?.span.end ?? numberSpan.end };
  const blank = unit ? text.slice(numberSpan.end, unit.span.start) : '';
  return { number, unit: unit ? text.slice(unit.span.start, unit.span.end) : '', span, blank };
}

function literalOf(expression: Expression): QuantityLiteral | null {
  if (expression.kind === 'quantity') return expression;
  const isTolerance = expression.kind === 'binary' && expression.operator === '+-';
  return isTolerance && expression.left.kind === 'quantity' ? expression.left : null;
}
