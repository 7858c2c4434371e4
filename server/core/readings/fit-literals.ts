/** Fitted figures as literals of the language, and half of their intervals as the tolerance behind them. Times have their own (fit.ts). */
import { toNumber } from '../units/rational';
import { formatSi, parseQuantity } from '../units/units';
import type { Estimate } from './statistics';

/** Of a figure as its statement gives it: a plain number, a share (in per cent), or the opening of a leak. */
export type FigureDimension = 'none' | 'share' | 'area' | 'flow_conductance';

/** The value as a literal; SI in, decimals down to a tenth of its deviation. */
export function figureLiteral({ value, deviation }: Estimate, dimension: FigureDimension): string {
  switch (dimension) {
    case 'none':
      return String(Number(value.toFixed(decimalsFor(deviation))));
    case 'share':
      return `${Number((value * 100).toFixed(Math.max(2, decimalsFor(deviation) - 2)))} %`;
    default:
      return formatSi(value, dimension);
  }
}

/**
 * Half of the interval as a literal, rounded up so that the literal of the value and it hold the interval. A tolerance in per cent is part
 * of its value: half a per cent of 25 % is 2 %.
 */
export function figureMargin({ interval }: Estimate, literal: string, dimension: FigureDimension): string {
  const [number, unit = null] = literal.split(' ') as [string, string?];
  const at = siOf(number, unit);
  const half = Math.max(interval[1] - at, at - interval[0]);
  if (dimension === 'share') return `${roundedUp((100 * half) / Math.abs(at))} %`;
  return unit === null ? roundedUp(half) : `${roundedUp(half / siOf('1', unit))} ${unit}`;
}

function siOf(number: string, unit: string | null): number {
  const read = parseQuantity(number, unit);
  if (!read.ok) throw new Error(`${number} ${unit ?? ''} is not a literal`);
  return toNumber(read.value);
}

/** Two figures, upward. */
function roundedUp(value: number): string {
  const step = 10 ** (Math.floor(Math.log10(Math.max(value, 1e-12))) - 1);
  // A hair of slack: what is a whole number of steps but for rounding stays one.
  return String(Number((Math.ceil(value / step - 1e-9) * step).toPrecision(2)));
}

/** Decimals down to a tenth of the deviation: three at least, six at most. */
const decimalsFor = (deviation: number): number =>
  Math.min(6, Math.max(3, deviation > 0 ? Math.ceil(1 - Math.log10(deviation)) : 6));
