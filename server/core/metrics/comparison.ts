/** Comparing a measured value with what is required. */
import type { Requirement } from '../model/rig';

type Comparison = NonNullable<Requirement['comparison']>;

/** The values that satisfy `in` and `=`; a tolerance on the value of `=` widens it, a range keeps its nominal ends. */
export function toleratedRange(comparison: Comparison): { readonly low: number; readonly high: number } {
  if (comparison.operator === 'in') return { low: comparison.low.nominal, high: comparison.high.nominal };
  return { low: comparison.low.min, high: comparison.high.max };
}

/**
 * By how much a value misses: 0 where it satisfies the comparison, negative where it is too small, positive where it is too
 * large. A strict comparison that is missed at equality, and `<>`, miss by the smallest step (1 us, or one part in 10^12).
 */
export function missBy(comparison: Comparison, value: number): number {
  const bound = comparison.low.nominal;
  const least = comparison.dimension === 'time' ? 1 : Math.abs(bound) * 1e-12 || Number.MIN_VALUE;
  switch (comparison.operator) {
    case '>=':
      return Math.min(0, value - bound);
    case '>':
      return value > bound ? 0 : Math.min(-least, value - bound);
    case '<=':
      return Math.max(0, value - bound);
    case '<':
      return value < bound ? 0 : Math.max(least, value - bound);
    case '<>':
      return value === bound ? least : 0;
    case '=':
    case 'in': {
      const { low, high } = toleratedRange(comparison);
      return value < low ? value - low : Math.max(0, value - high);
    }
  }
}

/** Whether a value is what a requirement asks for; one without a comparison asks for nothing. */
export function meets({ comparison }: Requirement, value: number): boolean {
  return comparison === null || missBy(comparison, value) === 0;
}
