/** Reading and writing quantities: digits and a unit → an exact value in SI, and back to text that people read. */
import { DIMENSIONS, type DimensionName } from './dimensions';
import { beside } from './noise';
import {
  add,
  ceil,
  floor,
  multiply,
  parseDecimal,
  parseFraction,
  type Rational,
  toInteger,
  toNumber,
} from './rational';
import { type Unit, UNITS } from './table';
import { said, say } from '../words/say';

/** A unit ready for arithmetic. */
interface ExactUnit {
  readonly unit: Unit;
  readonly factor: Rational;
  readonly offset: Rational | null;
}

const BY_NAME = new Map<string, ExactUnit>();
for (const unit of UNITS) {
  const exact: ExactUnit = {
    unit,
    factor: parseFraction(unit.factor),
    offset: unit.offset === undefined ? null : parseFraction(unit.offset),
  };
  for (const name of [unit.name, ...(unit.aliases ?? [])]) BY_NAME.set(name, exact);
}

/** The unit of this name or spelling, or null. */
export function unitNamed(name: string): Unit | null {
  return BY_NAME.get(name)?.unit ?? null;
}

/** Units of a dimension, the likeliest first. */
export function unitsOf(dimension: DimensionName): readonly Unit[] {
  return UNITS.filter((unit) => unit.dimension === dimension);
}

export type ParsedQuantity =
  | {
      readonly ok: true;
      readonly dimension: DimensionName;
      /** In SI units (seconds for times). */
      readonly value: Rational;
      /** The same number taken as a difference: without the offset of a gauge pressure or of degrees Celsius. */
      readonly difference: Rational;
      /** True where the unit has an offset. */
      readonly offset: boolean;
    }
  | { readonly ok: false; readonly reason: 'number' | 'unit' };

/**
 * Reads a number with its unit exactly as written; `unit` null means a plain number.
 * @returns the value in SI, or which of the two could not be read.
 */
export function parseQuantity(number: string, unit: string | null): ParsedQuantity {
  const digits = parseDecimal(number);
  if (digits === null) return { ok: false, reason: 'number' };
  if (unit === null) return { ok: true, dimension: 'none', value: digits, difference: digits, offset: false };
  const exact = BY_NAME.get(unit);
  if (exact === undefined) return { ok: false, reason: 'unit' };
  const difference = multiply(digits, exact.factor);
  const value = exact.offset === null ? difference : add(difference, exact.offset);
  return { ok: true, dimension: exact.unit.dimension, value, difference, offset: exact.offset !== null };
}

const MILLION: Rational = { n: 1_000_000n, d: 1n };

/** Greatest time that is held exactly, in microseconds (about 285 years). */
export const LONGEST_TIME = Number.MAX_SAFE_INTEGER;

export type TimeReading = number | 'too-fine' | 'out-of-range';

function bounded(us: bigint): TimeReading {
  const value = Number(us);
  return Math.abs(value) <= LONGEST_TIME ? value : 'out-of-range';
}

/** Seconds → whole microseconds, or why that cannot be. Never rounds. */
export function toMicroseconds(seconds: Rational): TimeReading {
  const us = toInteger(multiply(seconds, MILLION));
  return us === null ? 'too-fine' : bounded(us);
}

/** Seconds → microseconds rounded down (`floor`) or up (`ceil`), for the far ends of a tolerance. */
export function toMicrosecondsOutward(seconds: Rational, end: 'low' | 'high'): TimeReading {
  const us = multiply(seconds, MILLION);
  return bounded(end === 'low' ? floor(us) : ceil(us));
}

/** Reads a time such as `30 s` or `1.5h` to whole microseconds; null where it is not a time, too fine or too long. */
export function parseTime(text: string): number | null {
  const match = /^\s*([\d.]+)\s*(\p{L}+)\s*$/u.exec(text);
  const parsed = match === null ? null : parseQuantity(match[1]!, match[2]!);
  if (parsed === null || !parsed.ok || parsed.dimension !== 'time') return null;
  const us = toMicroseconds(parsed.value);
  return typeof us === 'number' ? us : null;
}

const trimmed = (text: string): string => (text.includes('.') ? text.replace(/\.?0+$/, '') : text);

/** Whole microseconds as seconds, exactly: `1.75`, `0.000003`. */
function exactDecimal(us: number, decimals: number): string {
  const digits = String(us).padStart(decimals + 1, '0');
  return trimmed(`${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`);
}

/**
 * A time as one literal of the language, exact, to be put into a text: `1.75 s`, `250 ms`, `40 us`, `150 s`.
 * @param us whole microseconds
 */
export function timeLiteral(us: number): string {
  const size = Math.abs(us);
  const sign = us < 0 ? '-' : '';
  if (size === 0) return '0 s';
  if (size < 1_000) return `${sign}${size} us`;
  if (size < 1_000_000) return `${sign}${exactDecimal(size, 3)} ms`;
  return `${sign}${exactDecimal(size, 6)} s`;
}

const LONG_UNITS = [
  ['d', 86_400_000_000],
  ['h', 3_600_000_000],
  ['min', 60_000_000],
] as const;

/**
 * A time in readable form, exact: `0 s`, `40 us`, `250 ms`, `1.75 s`, from two minutes on `2 min 30 s`, `1 h 12 min`.
 * @param us whole microseconds; fractions (means of simulated runs) are shown rounded to whole microseconds
 */
export function formatTime(us: number): string {
  if (!Number.isFinite(us)) return us > 0 ? say`without end` : say`never`;
  const whole = Math.round(us);
  let rest = Math.abs(whole);
  if (rest < 120_000_000) return timeLiteral(whole);
  const parts: string[] = [];
  for (const [name, size] of LONG_UNITS) {
    const count = Math.floor(rest / size);
    rest -= count * size;
    if (count > 0) parts.push(`${count} ${name}`);
  }
  if (rest > 0) parts.push(timeLiteral(rest));
  return (whole < 0 ? '-' : '') + parts.join(' ');
}

/** What moments are known to that the contents of a followed run bring about, µs. */
export const FOLLOWED_TO = 1_000;

/** A moment that the contents of a followed run bring about, no finer than it is known. */
export const formatFollowed = (us: number): string => formatTime(Math.round(us / FOLLOWED_TO) * FOLLOWED_TO);

/** Four significant figures, without trailing zeros, without exponent where that stays readable. */
export function formatNumber(value: number): string {
  if (!Number.isFinite(value)) return String(value);
  if (value === 0) return '0';
  const size = Math.abs(value);
  if (size >= 1e7 || size < 1e-4)
    return value
      .toExponential(3)
      .replace(/\.?0+e/, 'e')
      .replace('e+', 'e');
  if (size >= 1000) return String(Math.round(value));
  return trimmed(value.toPrecision(4));
}

/** Units that results are shown in: the first whose size is not above the value; the last where none is. */
const SHOWN: Readonly<Partial<Record<DimensionName, readonly string[]>>> = {
  length: ['m', 'mm', 'um'],
  area: ['m2', 'cm2', 'mm2'],
  volume: ['m3', 'L', 'mL'],
  mass: ['kg', 'g', 'mg'],
  pressure: ['bar', 'mbar', 'Pa'],
  density: ['kg/m3'],
  mass_flow: ['kg/s', 'g/s'],
  volume_flow: ['m3/s', 'L/s', 'mL/s'],
  flow_conductance: ['L/s/bar'],
  amount_flow: ['Nm3/h', 'NL/min'],
  molar_mass: ['g/mol'],
  power: ['MW', 'kW', 'W'],
  energy: ['MJ', 'kJ', 'J'],
  specific_energy: ['MJ/kg', 'kJ/kg', 'J/kg'],
};

/** Below this many of a unit the next smaller one is taken: 0.5 bar stays bar, 0.05 m3 becomes 50 L. */
const FEWEST: Readonly<Partial<Record<DimensionName, number>>> = { pressure: 0.1, mass_flow: 0.1, mass: 0.1 };

/**
 * A quantity in readable form, in a unit of readable size, four significant figures: `1.5 bar`, `250 L`, `35 degC`.
 * @param value in the unit of a resolved rig: SI, microseconds for times
 */
export function formatSi(value: number, dimension: DimensionName): string {
  return formatAlike([value], dimension)(value);
}

/**
 * Quantities shown side by side (a column, a table, a sentence): all in the unit that suits the largest of `values`, four
 * significant figures each; what is nothing beside the largest is 0 (noise.ts). Null and undefined are none of them.
 */
export function formatAlike(
  values: readonly (number | null | undefined)[],
  dimension: DimensionName,
): (value: number) => string {
  if (dimension === 'time') return formatTime;
  if (dimension === 'none') return formatNumber;
  if (dimension === 'temperature') return (value) => `${formatNumber(Math.round((value - 273.15) * 1e6) / 1e6)} degC`;
  const { name, size } = shownUnit(values, dimension);
  const largest = largestOf(values);
  return (value) => `${formatNumber(beside(value, largest) / size)} ${name}`;
}

/** The largest size among some quantities; 0 where there is none. */
const largestOf = (values: readonly (number | null | undefined)[]): number =>
  values.reduce<number>((most, v) => Math.max(most, Number.isFinite(v) ? Math.abs(v!) : 0), 0);

/** The unit that suits the largest of some quantities, and its size in SI. */
function shownUnit(
  values: readonly (number | null | undefined)[],
  dimension: DimensionName,
): { readonly name: string; readonly size: number } {
  const names = SHOWN[dimension];
  if (names === undefined) return { name: DIMENSIONS[dimension].base, size: 1 };
  const largest = largestOf(values);
  const least = FEWEST[dimension] ?? 1;
  const sizes = names.map((name) => toNumber(BY_NAME.get(name)!.factor));
  // A hair of slack: 0.3 - 0.2 bar is still 0.1 bar.
  const fitting = sizes.findIndex((size) => largest >= size * least * (1 - 1e-9));
  const index = largest === 0 ? 0 : fitting < 0 ? sizes.length - 1 : fitting;
  return { name: names[index]!, size: sizes[index]! };
}

/** What an interval is shown in; a share is written in per cent. */
export type IntervalDimension = DimensionName | 'share';

/**
 * Both ends of an interval in one unit, `1.999 mm2 .. 2.007 mm2`, with as many decimals as show its width to two figures.
 * @param ends in the unit of a resolved rig: SI, microseconds for times
 */
export function formatInterval([low, high]: readonly [number, number], dimension: IntervalDimension): string {
  const { name, size } = intervalUnit(Math.max(Math.abs(low), Math.abs(high)), dimension);
  const width = Math.abs(high - low) / size;
  const decimals = width > 0 ? Math.min(12, Math.max(0, 1 - Math.floor(Math.log10(width)))) : 0;
  const text = (value: number): string => {
    const digits = width > 0 ? trimmed((value / size).toFixed(decimals)) : formatNumber(value / size);
    return `${digits === '-0' ? '0' : digits}${name === '' ? '' : ` ${name}`}`;
  };
  return `${text(low)} .. ${text(high)}`;
}

function intervalUnit(largest: number, dimension: IntervalDimension): { readonly name: string; readonly size: number } {
  if (dimension === 'none') return { name: '', size: 1 };
  if (dimension === 'share') return { name: '%', size: 0.01 };
  if (dimension !== 'time') return shownUnit([largest], dimension);
  if (largest < 1e3) return { name: 'us', size: 1 };
  return largest < 1e6 ? { name: 'ms', size: 1e3 } : { name: 's', size: 1e6 };
}

/** A count with its noun in agreement: `1 stroke`, `2 strokes`. Nouns that are shown in other languages stand in `COUNTED`. */
export const formatCount = (count: number, noun: string, ending = 's'): string =>
  said(count === 1 ? `1 ${noun}` : `{0} ${noun}${ending}`).replace('{0}', String(count));

/** What is counted in texts that are translated, in both its numbers (`tests/l10n` reads it). */
export const COUNTED: readonly string[] = [
  'stroke',
  'symbolic state',
  'wire',
  'state',
  'error',
  'warning',
  'door',
  'signal',
  'requirement',
  'sensor',
];
