/** How much a measured value has to spare before a comparison fails. */
import type { Requirement } from '../model/rig';
import { missBy, toleratedRange } from './comparison';

type Comparison = NonNullable<Requirement['comparison']>;

/**
 * Distance from the value to the nearest bound that it keeps, in the unit of the comparison; below 0 by how much it misses. `=` without a
 * tolerance and `in` at an end have 0 to spare; `Infinity` where the value has no end and nothing bounds it from above.
 */
export function slackOf(comparison: Comparison, value: number): number {
  const miss = missBy(comparison, value);
  if (miss !== 0) return -Math.abs(miss);
  const bound = comparison.low.nominal;
  switch (comparison.operator) {
    case '>=':
    case '>':
      return value - bound;
    case '<=':
    case '<':
      return bound - value;
    case '<>':
      return Math.abs(value - bound);
    case '=':
    case 'in': {
      const { low, high } = toleratedRange(comparison);
      return Math.min(value - low, high - value);
    }
  }
}

/**
 * The slack in proportion to what is required: to the bound, or to half the width of a range; what has one unit can so be compared with
 * what has another. A bound of 0 counts as 1 s, or as 1 of its SI unit.
 */
export function relativeSlack(comparison: Comparison, value: number): number {
  return slackOf(comparison, value) / scaleOf(comparison);
}

/** What a slack is measured against in `relativeSlack`. */
export function scaleOf(comparison: Comparison): number {
  const { low, high } = toleratedRange(comparison);
  if (high > low) return (high - low) / 2;
  return Math.abs(comparison.low.nominal) || (comparison.dimension === 'time' ? 1_000_000 : 1);
}
