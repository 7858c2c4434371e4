/** Amounts with a unit in words of the command line: `10 ms`, `0.25 m3`. */
import { toNumber } from '../core/units/rational';
import { parseQuantity } from '../core/units/units';
import type { DimensionName } from '../core/units/dimensions';
import { UsageError } from './io';

const AMOUNT = /^\s*(-?\d+(?:\.\d+)?)\s*([^\s\d]\S*)?\s*$/u;

export interface Amount {
  /** Microseconds for times, SI units otherwise. */
  readonly value: number;
  readonly dimension: DimensionName;
}

/** An amount with its unit; a plain number has none. `option` names the word in the sentence about what is wrong. */
export function parseAmount(option: string, text: string): Amount {
  const match = AMOUNT.exec(text);
  if (!match) throw new UsageError(`${option} wants an amount with its unit, such as 10 ms, not ${text}.`);
  if (match[2] === undefined) return { value: Number(match[1]), dimension: 'none' };
  const read = parseQuantity(match[1]!, match[2]);
  if (!read.ok) throw new UsageError(`${option}: ${text} cannot be read as an amount with a unit.`);
  const value = toNumber(read.value);
  return { value: read.dimension === 'time' ? Math.round(value * 1e6) : value, dimension: read.dimension };
}

/** A time above zero in microseconds. */
export function parseTime(option: string, text: string): number {
  const { value, dimension } = parseAmount(option, text);
  if (dimension !== 'time' || value <= 0)
    throw new UsageError(`${option} wants a time above zero, such as 10 ms, not ${text}.`);
  return value;
}
