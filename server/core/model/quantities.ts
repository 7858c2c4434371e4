/** The numbers of the resolved rig: expressions → quantities in SI and times in whole microseconds, dimension and range checked. */
import type { Expression } from '../../../grammar/src/ast';
import { describeVector, type DimensionName, dimensionOf } from '../units/dimensions';
import { divide, ONE, type Rational, toNumber } from '../units/rational';
import { toMicroseconds, toMicrosecondsOutward } from '../units/units';
import type { Amount } from './amounts';
import { type At, excerpt, place, report, type Scope } from './context';
import { evaluate } from './evaluate';
import { missingUnit, oneOf, refuseTime } from './literals';
import { finalArgument } from './names';
import type { Source } from './problem';
import type { Quantity, TimeValue } from './rig';
import { say } from '../words/say';

/** Where an expression's value is to be blamed and edited: the argument of the place, where a bare parameter is written. */
export function valuePlace(scope: Scope, expression: Expression): Source {
  if (expression.kind !== 'reference') return place(scope, expression.span);
  const argument = finalArgument({ expression, scope });
  return place(argument.scope, argument.expression.span);
}

/** What to write instead of a value of a dimension that is not taken in a place: a sentence, from the value as it is written. */
export type Instead = Partial<Record<DimensionName, (given: string) => string>>;

function nameOfDimension(
  here: At,
  expression: Expression,
  amount: Amount,
  wanted: readonly DimensionName[],
  instead: Instead = {},
): DimensionName | null {
  const { ctx, scope } = here;
  const dimension = dimensionOf(amount.vector);
  if (dimension !== null && wanted.includes(dimension)) return dimension;
  const literal = finalArgument({ expression, scope });
  if (amount.bare && literal.expression.kind === 'quantity') {
    missingUnit({ ctx, scope: literal.scope }, literal.expression, wanted);
  } else {
    const given = excerpt(literal.scope, literal.expression.span);
    const isArgument = literal.expression !== expression;
    const need = isArgument
      ? say`this part needs ${oneOf(wanted)} for ${excerpt(scope, expression.span)}`
      : say`${oneOf(wanted)} is needed here`;
    const related = isArgument ? [{ at: place(scope, expression.span), message: say`used here` }] : undefined;
    const advice = dimension === null ? undefined : instead[dimension]?.(given);
    const problem = say`${given} is ${describeVector(amount.vector)}; ${need}.`;
    const message = advice === undefined ? problem : `${problem} ${advice}`;
    report(ctx, 'unit/dimension', message, valuePlace(scope, expression), { related });
  }
  return null;
}

/** What a value may be, in the unit of the resolved rig. */
export interface Range {
  /** For the message: `The volume of a chamber`. */
  readonly what: () => string;
  readonly least?: number;
  /** Greater than this, not equal. */
  readonly above?: number;
  readonly most?: number;
  readonly below?: number;
  /** The limits in words, with their units: `above 0`. */
  readonly words: () => string;
}

function inRange(range: Range, value: number): boolean {
  return (
    (range.least === undefined || value >= range.least) &&
    (range.above === undefined || value > range.above) &&
    (range.most === undefined || value <= range.most) &&
    (range.below === undefined || value < range.below)
  );
}

/** Whether a value is within its range with its whole tolerance; reports it where not. */
export function checkRange(
  here: At,
  expression: Expression,
  range: Range | null,
  value: { readonly min: number; readonly max: number },
): boolean {
  const { ctx, scope } = here;
  if (range === null || (inRange(range, value.min) && inRange(range, value.max))) return true;
  const written = excerpt(scope, expression.span);
  report(
    ctx,
    'value/out-of-range',
    say`${range.what()} must be ${range.words()}, not ${written}.`,
    valuePlace(scope, expression),
  );
  return false;
}

/** An amount as numbers, of whatever dimension; times in (whole) microseconds. */
export function quantityFrom(
  here: At,
  expression: Expression,
  amount: Amount,
): { readonly quantity: Quantity; readonly dimension: DimensionName | null } | null {
  const dimension = dimensionOf(amount.vector);
  const at = valuePlace(here.scope, expression);
  if (dimension === 'time') {
    const time = timeFrom(here, expression, amount, null);
    return time === null ? null : { quantity: time, dimension };
  }
  const nominal = toNumber(amount.nominal);
  const min = amount.low === amount.nominal ? nominal : toNumber(amount.low);
  const max = amount.high === amount.nominal ? nominal : toNumber(amount.high);
  const quantity = { nominal, min, max, at };
  return { quantity, dimension };
}

/** The value of an expression; a constant that has none was reported where it stands, and is missing here all the same. */
function amountOf(here: At, expression: Expression, wanted: readonly DimensionName[]): Amount | null {
  const amount = evaluate(here, expression, wanted);
  if (amount === null) here.ctx.misread += 1;
  return amount;
}

/** Computes a quantity of one of the wanted dimensions within its range; null where it is none (reported). */
export function quantityOf(
  here: At,
  expression: Expression,
  wanted: readonly DimensionName[],
  range: Range | null,
  instead: Instead = {},
): { readonly quantity: Quantity; readonly dimension: DimensionName } | null {
  const amount = amountOf(here, expression, wanted);
  if (amount === null) return null;
  const dimension = nameOfDimension(here, expression, amount, wanted, instead);
  if (dimension === null) return null;
  const made = quantityFrom(here, expression, amount);
  if (made === null || !checkRange(here, expression, range, made.quantity)) return null;
  return { quantity: made.quantity, dimension };
}

/** A time from an amount: nominal exact, the ends of its tolerance rounded outward to whole microseconds. */
export function timeFrom(
  here: At,
  expression: Expression,
  amount: Amount,
  range: Range | null,
  change: (amount: Amount) => Amount = (same) => same,
): TimeValue | null {
  const widened = change(amount);
  const time = wholeTime(here, expression, widened, range);
  const slopes = time && slopesOf(amount, widened);
  return slopes ? { ...time, slopes } : time;
}

/** Of the ends of a widened time, by its nominal time; null where a tolerance in units of time is all there is. */
function slopesOf(stated: Amount, widened: Amount): NonNullable<TimeValue['slopes']> | null {
  const { nominal, low, high, relative } = widened;
  if (nominal.n === 0n || low === nominal || (stated.low === low && !relative)) return null;
  // A stated tolerance in units of time moves along, and what is a share is one of it too.
  const [from, to] = relative || stated.low === stated.nominal ? [nominal, nominal] : [stated.low, stated.high];
  const ratio = (a: Rational, b: Rational): number => toNumber(divide(a, b) ?? ONE);
  return { min: ratio(low, from), max: ratio(high, to) };
}

function wholeTime(here: At, expression: Expression, amount: Amount, range: Range | null): TimeValue | null {
  const { ctx, scope } = here;
  const at = valuePlace(scope, expression);
  const nominal = toMicroseconds(amount.nominal);
  if (typeof nominal !== 'number') {
    return refuseTime(ctx, amount.nominal, nominal, at, excerpt(scope, expression.span));
  }
  const min = amount.low === amount.nominal ? nominal : toMicrosecondsOutward(amount.low, 'low');
  const max = amount.high === amount.nominal ? nominal : toMicrosecondsOutward(amount.high, 'high');
  if (typeof min !== 'number' || typeof max !== 'number') {
    return refuseTime(ctx, amount.nominal, 'out-of-range', at, excerpt(scope, expression.span));
  }
  if (!checkRange(here, expression, range, { min, max })) return null;
  return { nominal, min, max, at };
}

/** Computes a time; `change` widens it (timer accuracy). Null where it is none (reported). */
export function timeOf(
  here: At,
  expression: Expression,
  range: Range | null,
  change: (amount: Amount) => Amount = (amount) => amount,
): TimeValue | null {
  const amount = amountOf(here, expression, ['time']);
  if (amount === null || nameOfDimension(here, expression, amount, ['time']) === null) return null;
  return timeFrom(here, expression, amount, range, change);
}
