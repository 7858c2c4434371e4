/** Conditions that turn the rate of an amount on and off within little: how a step of the integrator ends just before one of their ends. */

/**
 * An amount whose rate a condition turns on and off within so little of the unknowns that a step may pass over it unseen: where the rate at
 * its start and in all its stages is that beyond the condition, nothing shows when it was passed.
 */
export interface Switched {
  readonly unknown: number;
  /** The rate with the condition fully met; Infinity where it is not one value. */
  readonly most: number;
  /** How far the unknowns are beyond the threshold: the rate begins at 0 and is whole at 1. By it a step is made to end just before. */
  readonly beyond?: (t: number, y: Float64Array) => number;
}

/**
 * A step that would pass an end of a condition is made to end this far before it, as a part of the way from none of the rate to all; from
 * there it goes on by steps of `RESOLVED` of that way, in which the stages see the rate as it changes and nothing is missed.
 */
const BEFORE = 0.05;
const RESOLVED = 0.25;

/** Rates within this part of none or of all count as that: stages are solved to so much. */
const SAME_RATE = 1e-6;

/** On which side of its condition a rate is that goes from 0 to `most`: 0 off, 1 between, 2 on. */
export const stretchOf = (rate: number, most: number): 0 | 1 | 2 =>
  Math.abs(rate) <= SAME_RATE * Math.min(most, 1) ? 0 : rate < most * (1 - SAME_RATE) ? 1 : 2;

/** The part of `way` from `from` after which it is just before an end of a condition (0 or 1); Infinity where there is none ahead, or too near. */
function partBefore(from: number, way: number): number {
  const ends = way > 0 ? [0, 1] : [1, 0];
  const next = ends.map((end) => (end - from) / way).find((at) => at * Math.abs(way) > 2 * BEFORE);
  return next === undefined ? Infinity : next - BEFORE / Math.abs(way);
}

/**
 * The part of a step after which it ends just before an end of the condition, `from` being how far it is beyond it at its start, `fast` and `far`
 * the way that it sets out for and that it went; 1 where the whole step sees what happens.
 */
export function partResolved(from: number, fast: number, far: number): number {
  const most = Math.max(Math.abs(far), Math.abs(fast));
  if (most <= RESOLVED) return 1;
  const part = Math.min(...[fast, far].map((way) => partBefore(from, way)));
  return part < 1 ? part : (0.8 * RESOLVED) / most;
}
