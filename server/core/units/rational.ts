/**
 * Exact fractions on big integers: what the digits of a text say, without rounding. Only what unit conversion and `let`
 * arithmetic need. Plain values `n/d` with `d > 0n`, not always in lowest terms; compare with `compare`, never field by field.
 *
 * A decimal type was considered and not taken: `1 h / 7 * 7` and the factor of `psi` are not finite decimals.
 */

export interface Rational {
  readonly n: bigint;
  readonly d: bigint;
}

export const ZERO: Rational = { n: 0n, d: 1n };
export const ONE: Rational = { n: 1n, d: 1n };

/** Above this, fractions are brought to lowest terms; below, it is not worth the time. */
const REDUCE_ABOVE = 2n ** 64n;
/** Beyond this no quantity makes sense; keeps repeated squaring in a broken or hostile text from taking all memory. */
const LIMIT = 2n ** 1024n;
/** Longest run of digits that is read; no measured quantity has more. */
const MOST_DIGITS = 60;
const GREATEST_EXPONENT = 99;

const DECIMAL = /^([+-]?)(\d*)(?:\.(\d*))?(?:[eE]([+-]?\d+))?$/;

function gcd(a: bigint, b: bigint): bigint {
  let x = a < 0n ? -a : a;
  let y = b;
  while (y !== 0n) [x, y] = [y, x % y];
  return x;
}

function lean(n: bigint, d: bigint): Rational {
  if (d < REDUCE_ABOVE) return { n, d };
  const g = gcd(n, d);
  return g > 1n ? { n: n / g, d: d / g } : { n, d };
}

/** Reads decimal digits (`12`, `1.50`, `.5`, `3e-2`) exactly; null where they are none or absurdly long. */
export function parseDecimal(digits: string): Rational | null {
  const match = DECIMAL.exec(digits);
  if (match === null) return null;
  const [, sign, whole = '', fraction = '', exponent = '0'] = match;
  const figures = whole + fraction;
  const power = Number(exponent) - fraction.length;
  if (figures === '' || figures.length > MOST_DIGITS || Math.abs(Number(exponent)) > GREATEST_EXPONENT) return null;
  const n = BigInt(sign + figures);
  return power >= 0 ? { n: n * 10n ** BigInt(power), d: 1n } : { n, d: 10n ** BigInt(-power) };
}

/** Reads `a` or `a/b` with decimal `a` and `b`, as the factors in the unit table are written. Throws on a bad table. */
export function parseFraction(text: string): Rational {
  const [top, bottom = '1'] = text.split('/');
  const n = parseDecimal(top!);
  const d = parseDecimal(bottom);
  if (n === null || d === null || d.n === 0n) throw new Error(`bad factor ${text}`);
  const { n: p, d: q } = divide(n, d)!;
  const g = gcd(p, q);
  return { n: p / g, d: q / g };
}

export function add(a: Rational, b: Rational): Rational {
  return a.d === b.d ? lean(a.n + b.n, a.d) : lean(a.n * b.d + b.n * a.d, a.d * b.d);
}

export function negate(a: Rational): Rational {
  return { n: -a.n, d: a.d };
}

export function subtract(a: Rational, b: Rational): Rational {
  return add(a, negate(b));
}

export function multiply(a: Rational, b: Rational): Rational {
  return lean(a.n * b.n, a.d * b.d);
}

/** Null where `b` is zero. */
export function divide(a: Rational, b: Rational): Rational | null {
  if (b.n === 0n) return null;
  return b.n < 0n ? lean(-a.n * b.d, a.d * -b.n) : lean(a.n * b.d, a.d * b.n);
}

/** Negative, zero or positive as `a` is below, equal to or above `b`. */
export function compare(a: Rational, b: Rational): number {
  const difference = a.n * b.d - b.n * a.d;
  return difference < 0n ? -1 : difference > 0n ? 1 : 0;
}

export function least(first: Rational, ...others: readonly Rational[]): Rational {
  return others.reduce((best, x) => (compare(x, best) < 0 ? x : best), first);
}

export function greatest(first: Rational, ...others: readonly Rational[]): Rational {
  return others.reduce((best, x) => (compare(x, best) > 0 ? x : best), first);
}

/** True where the figures have grown beyond anything a quantity can be. */
export function isAbsurd(a: Rational): boolean {
  return a.d > LIMIT || a.n > LIMIT || a.n < -LIMIT;
}

/** The whole number `a` is, or null where it is none. */
export function toInteger(a: Rational): bigint | null {
  return a.n % a.d === 0n ? a.n / a.d : null;
}

/** Greatest whole number not above `a`. */
export function floor(a: Rational): bigint {
  const quotient = a.n / a.d;
  return a.n % a.d !== 0n && a.n < 0n ? quotient - 1n : quotient;
}

/** Least whole number not below `a`. */
export function ceil(a: Rational): bigint {
  return -floor(negate(a));
}

/** The nearest double. */
export function toNumber(a: Rational): number {
  const n = Number(a.n);
  const d = Number(a.d);
  if (Number.isSafeInteger(n) && Number.isSafeInteger(d)) return n / d;
  // 64 or more bits of the quotient; what is cut off is kept as a last bit, so that ties are rounded as they should be.
  const size = a.n < 0n ? -a.n : a.n;
  const shift = a.d.toString(2).length - size.toString(2).length + 64;
  const [top, bottom] = shift >= 0 ? [size << BigInt(shift), a.d] : [size, a.d << BigInt(-shift)];
  const quotient = top % bottom === 0n ? top / bottom : (top / bottom) | 1n;
  return (a.n < 0n ? -1 : 1) * Number(quotient) * 2 ** -shift;
}
