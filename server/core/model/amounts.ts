/** Worked-out constants: exact values with tolerance and dimension, before they become the numbers of a resolved rig. */
import { addVectors, DIMENSIONS, type DimensionVector, sameVector, subtractVectors } from '../units/dimensions';
import { parseQuantity, type TimeReading, toMicroseconds } from '../units/units';
import {
  add,
  divide,
  greatest,
  isAbsurd,
  least,
  multiply,
  negate,
  ONE,
  type Rational,
  subtract,
  ZERO,
} from '../units/rational';

/** In SI units, seconds for times; `low` ≤ `nominal` ≤ `high`. */
export interface Amount {
  readonly low: Rational;
  readonly nominal: Rational;
  readonly high: Rational;
  readonly vector: DimensionVector;
  /**
   * How many zero points of gauge pressures or degrees Celsius it holds: 1 for `2 barg` (a point on a shifted scale), 0 for
   * `2 bar` and for the difference `3 barg - 2 barg`. Sums that would hold 2 or -1 mean nothing.
   */
  readonly offsets: 0 | 1;
  /** A literal without unit. */
  readonly bare: boolean;
  /** A literal in per cent: as a tolerance it is relative. */
  readonly percent: boolean;
  /** The whole tolerance is a share of the nominal value (`1.8 s +- 2 %`), and stays one where another value takes its place. */
  readonly relative?: boolean;
}

/** A literal once read: as a value, and as a difference (without the offset of its unit). */
export type Literal =
  | { readonly ok: true; readonly value: Amount; readonly difference: Amount; readonly time: TimeReading | null }
  | { readonly ok: false; readonly reason: 'number' | 'unit' };

/** Reads digits and unit; `time` is set for times: whole microseconds, or why it is none. */
export function readLiteral(number: string, unit: string | null): Literal {
  const parsed = parseQuantity(number, unit);
  if (!parsed.ok) return parsed;
  const { vector } = DIMENSIONS[parsed.dimension];
  const marks = { bare: unit === null, percent: unit === '%' };
  return {
    ok: true,
    value: { ...exactAmount(parsed.value, vector, parsed.offset ? 1 : 0), ...marks },
    difference: { ...exactAmount(parsed.difference, vector), ...marks },
    time: parsed.dimension === 'time' ? toMicroseconds(parsed.value) : null,
  };
}

export type AmountError = 'dimension' | 'offset' | 'zero' | 'size';

/** An exact amount without tolerance. */
export function exactAmount(value: Rational, vector: DimensionVector, offsets: 0 | 1 = 0): Amount {
  return { low: value, nominal: value, high: value, vector, offsets, bare: false, percent: false };
}

function isExact(a: Amount): boolean {
  return a.low === a.nominal && a.high === a.nominal;
}

function bounded(a: Amount): Amount | AmountError {
  return isAbsurd(a.nominal) || isAbsurd(a.low) || isAbsurd(a.high) ? 'size' : a;
}

export function negateAmount(a: Amount): Amount | AmountError {
  if (a.offsets !== 0) return 'offset';
  return {
    ...exactAmount(negate(a.nominal), a.vector),
    low: negate(a.high),
    high: negate(a.low),
  };
}

/** Sum or difference; tolerances add up in the worst way. */
export function addAmounts(a: Amount, b: Amount, operator: '+' | '-'): Amount | AmountError {
  if (!sameVector(a.vector, b.vector)) return 'dimension';
  const offsets = operator === '+' ? a.offsets + b.offsets : a.offsets - b.offsets;
  if (offsets !== 0 && offsets !== 1) return 'offset';
  const [combine, low, high] = operator === '+' ? [add, b.low, b.high] : [subtract, b.high, b.low];
  const nominal = combine(a.nominal, b.nominal);
  if (isExact(a) && isExact(b)) return bounded(exactAmount(nominal, a.vector, offsets));
  return bounded({ ...exactAmount(nominal, a.vector, offsets), low: combine(a.low, low), high: combine(a.high, high) });
}

/** Product or quotient; the tolerance spans all combinations of the ends. */
export function scaleAmounts(a: Amount, b: Amount, operator: '*' | '/'): Amount | AmountError {
  const isScale = (x: Amount): boolean => sameVector(x.vector, DIMENSIONS.none.vector);
  // Twice a gauge pressure means one thing over the atmosphere and another over vacuum.
  if ((a.offsets === 1 && isScale(b)) || (b.offsets === 1 && isScale(a))) return 'offset';
  const vector = (operator === '*' ? addVectors : subtractVectors)(a.vector, b.vector);
  if (operator === '/' && b.low.n <= 0n && b.high.n >= 0n) return 'zero';
  const combine = (x: Rational, y: Rational): Rational => (operator === '*' ? multiply(x, y) : divide(x, y)!);
  const nominal = combine(a.nominal, b.nominal);
  if (isExact(a) && isExact(b)) return bounded(exactAmount(nominal, vector));
  const ends = [combine(a.low, b.low), combine(a.low, b.high), combine(a.high, b.low), combine(a.high, b.high)];
  return bounded({ ...exactAmount(nominal, vector), low: least(nominal, ...ends), high: greatest(nominal, ...ends) });
}

function magnitude(a: Rational): Rational {
  return a.n < 0n ? negate(a) : a;
}

/** `a` with its tolerance widened by `by`: absolute in the same dimension, or relative where `by` is in per cent. */
export function widenAmount(a: Amount, by: Amount): Amount | AmountError {
  if (!by.percent && !sameVector(a.vector, by.vector)) return 'dimension';
  const amount = by.percent ? multiply(magnitude(a.nominal), by.high) : by.high;
  const relative = by.percent && (isExact(a) || a.relative === true);
  const ends = { low: subtract(a.low, amount), high: add(a.high, amount) };
  return bounded({ ...a, bare: false, percent: false, relative, ...ends });
}

/** `a` with both ends moved out by a fraction of themselves (timer accuracy). */
export function widenByFraction(a: Amount, fraction: Rational): Amount {
  if (fraction.n === 0n) return a;
  return {
    ...a,
    low: multiply(a.low, subtract(ONE, fraction)),
    high: multiply(a.high, add(ONE, fraction)),
  };
}

export const NOTHING: Amount = exactAmount(ZERO, DIMENSIONS.none.vector);
