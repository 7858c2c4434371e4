import { describe, expect, it } from 'vitest';
import type { DimensionName } from '../../server/core/units/dimensions';
import { parseFraction } from '../../server/core/units/rational';
import {
  formatAlike,
  formatNumber,
  formatSi,
  formatTime,
  parseQuantity,
  parseTime,
  timeLiteral,
  toMicroseconds,
  toMicrosecondsOutward,
} from '../../server/core/units/units';

const us = (number: string, unit: string) => {
  const parsed = parseQuantity(number, unit);
  return parsed.ok ? toMicroseconds(parsed.value) : parsed.reason;
};

describe('times are whole microseconds', () => {
  it.each([
    ['0.1', 'ms', 100],
    ['1.5', 's', 1_500_000],
    ['0.000001', 's', 1],
    ['0.3', 's', 300_000],
    ['1.1', 's', 1_100_000],
    ['2.7', 'min', 162_000_000],
    ['0.001', 'd', 86_400_000],
    ['7', 'µs', 7],
    ['7', 'μs', 7],
    // 2^53 - 1 and one more
    ['9007199254740991', 'us', 9_007_199_254_740_991],
    ['9007199254740992', 'us', 'out-of-range'],
    ['0.0001', 'ms', 'too-fine'],
    ['0.5', 'us', 'too-fine'],
    ['1', 'fortnight', 'unit'],
    ['1x', 's', 'number'],
  ])('%s %s', (number, unit, expected) => expect(us(number, unit)).toBe(expected));

  it('rounds only the ends of tolerances, outward', () => {
    // 10 us / 3 = 3.33 us
    expect(toMicrosecondsOutward(parseFraction('0.00001/3'), 'low')).toBe(3);
    expect(toMicrosecondsOutward(parseFraction('0.00001/3'), 'high')).toBe(4);
  });

  it.each([
    ['30 s', 30_000_000],
    ['1.5h', 5_400_000_000],
    [' 40 µs ', 40],
    ['3 bar', null],
    ['-3 s', null],
    ['0.5 us', null],
    ['soon', null],
  ])('parseTime(%j)', (text, expected) => expect(parseTime(text)).toBe(expected));
});

describe('times for people', () => {
  it.each([
    [0, '0 s'],
    [3, '3 us'],
    [100, '100 us'],
    [1_500, '1.5 ms'],
    [250_000, '250 ms'],
    [1_750_000, '1.75 s'],
    [11_800_000, '11.8 s'],
    [1_000_001, '1.000001 s'],
    [-150_000, '-150 ms'],
    [119_000_000, '119 s'],
    [150_000_000, '2 min 30 s'],
    [3_725_000_000, '1 h 2 min 5 s'],
    [86_400_000_000, '1 d'],
    [120_250_000, '2 min 250 ms'],
    [Number.POSITIVE_INFINITY, 'without end'],
  ])('%d', (time, text) => expect(formatTime(time)).toBe(text));

  it.each([1, 999, 1_000, 123_456, 1_000_000, 90_061_000_001, -5])('timeLiteral(%d) reads back', (time) => {
    const [number, unit] = timeLiteral(time).split(' ');
    expect(us(number!, unit!)).toBe(time);
  });
});

describe('quantities for people', () => {
  it.each<[number, DimensionName, string]>([
    [150_000, 'pressure', '1.5 bar'],
    [101_325, 'pressure', '1.013 bar'],
    [5_000, 'pressure', '50 mbar'],
    [40, 'pressure', '0.4 mbar'],
    [5, 'pressure', '5 Pa'],
    [0, 'pressure', '0 bar'],
    [0.25, 'volume', '250 L'],
    [6, 'volume', '6 m3'],
    [0.0000021, 'volume', '2.1 mL'],
    [0.3, 'length', '300 mm'],
    [308.15, 'temperature', '35 degC'],
    [0.5, 'mass', '0.5 kg'],
    [0.05, 'mass', '50 g'],
    [0.12, 'mass_flow', '0.12 kg/s'],
    [0.0289655, 'molar_mass', '28.97 g/mol'],
    [93.3333, 'power', '93.33 W'],
    [7_200_000, 'specific_energy', '7.2 MJ/kg'],
    [1_500_000, 'time', '1.5 s'],
    [0.62, 'none', '0.62'],
    [3, 'amount', '3 mol'],
    [-20_000, 'pressure', '-0.2 bar'],
  ])('%d %s', (value, dimension, text) => expect(formatSi(value, dimension)).toBe(text));

  it.each([
    [1234.5, '1235'],
    [0.00012346, '0.0001235'],
    [1e-7, '1e-7'],
    [12_345_678, '1.235e7'],
    [100, '100'],
    [99999.6, '100000'],
  ])('formatNumber(%d)', (value, text) => expect(formatNumber(value)).toBe(text));
});

describe('quantities side by side', () => {
  // 0 °C is 273.15 K by the definition of the Celsius scale (SI brochure, 9th edition, 2.3.1).
  it('are temperatures in degrees Celsius, without what rounding leaves', () => {
    const text = formatAlike([293.15, 1273.15], 'temperature');
    expect([293.15, 273.15, 1273.15, 77.35, 310.15 + 1e-9].map(text)).toEqual([
      '20 degC',
      '0 degC',
      '1000 degC',
      '-195.8 degC',
      '37 degC',
    ]);
  });

  it('are in the unit that suits the largest, a hair of rounding aside', () => {
    expect(formatAlike([0.3e5 - 0.2e5], 'pressure')(0.3e5 - 0.2e5)).toBe(formatAlike([0.1e5], 'pressure')(0.1e5));
    const text = formatAlike([2e5, 500], 'pressure');
    expect([2e5, 500, 0].map(text)).toEqual(['2 bar', '0.005 bar', '0 bar']);
  });
});
