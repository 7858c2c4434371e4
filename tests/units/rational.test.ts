import { describe, expect, it } from 'vitest';
import {
  add,
  ceil,
  compare,
  divide,
  floor,
  isAbsurd,
  multiply,
  parseDecimal,
  parseFraction,
  subtract,
  toInteger,
  toNumber,
  ZERO,
} from '../../server/core/units/rational';

const of = (text: string) => parseFraction(text);

describe('parseDecimal', () => {
  it.each([
    ['12', 12],
    ['1.50', 1.5],
    ['.5', 0.5],
    ['5.', 5],
    ['-0.2', -0.2],
    ['3e-2', 0.03],
    ['0.1', 0.1],
  ])('%s', (text, value) => expect(toNumber(parseDecimal(text)!)).toBe(value));

  it.each(['', '.', '-', '1,5', '1.2.3', 'x', '1e999', '1'.repeat(61)])('refuses %j', (text) =>
    expect(parseDecimal(text)).toBeNull(),
  );
});

describe('arithmetic', () => {
  it('is exact where doubles are not', () => {
    expect(compare(add(of('0.1'), of('0.2')), of('0.3'))).toBe(0);
    expect(compare(multiply(divide(of('1'), of('7'))!, of('7')), of('1'))).toBe(0);
    expect(compare(subtract(of('1/3'), of('1/3')), ZERO)).toBe(0);
  });

  it('keeps the sign in the numerator', () => {
    const quotient = divide(of('1'), of('-4'))!;
    expect(quotient.d > 0n).toBe(true);
    expect(toNumber(quotient)).toBe(-0.25);
  });

  it('has no division by zero', () => expect(divide(of('1'), ZERO)).toBeNull());

  it.each([
    ['7/2', 3n, 4n],
    ['-7/2', -4n, -3n],
    ['4', 4n, 4n],
  ])('rounds %s down and up', (text, down, up) => {
    expect(floor(of(text))).toBe(down);
    expect(ceil(of(text))).toBe(up);
  });

  it('knows whole numbers', () => {
    expect(toInteger(of('6/3'))).toBe(2n);
    expect(toInteger(of('5/3'))).toBeNull();
  });

  it('notices figures beyond all quantities', () => {
    let big = of('3');
    for (let i = 0; i < 12; i++) big = multiply(big, big);
    expect(isAbsurd(big)).toBe(true);
  });
});

describe('toNumber', () => {
  // 2^70 + 2^17 is exactly half way to the next double (spacing 2^18); one more bit must round up.
  it('rounds large figures to the nearest double', () => {
    expect(toNumber({ n: 2n ** 70n + 2n ** 17n + 1n, d: 1n })).toBe(2 ** 70 + 2 ** 18);
    expect(toNumber({ n: 10n ** 40n, d: 3n * 10n ** 40n })).toBe(1 / 3);
    expect(toNumber({ n: -(10n ** 30n), d: 1n })).toBe(-1e30);
  });
});
