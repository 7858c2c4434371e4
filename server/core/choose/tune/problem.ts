/** What is to be tuned: the values that may be chosen, and the rig for any choice of them. */
import type { Rig } from '../../model/rig';

export interface Variable {
  /** Name of the constant, or of the timer whose preset it is. */
  readonly name: string;
  readonly dimension: string;
  /** Microseconds for times, SI units otherwise; `low` ≤ `now` ≤ `high`. */
  readonly low: number;
  readonly high: number;
  readonly now: number;
  /** Values come out as multiples of it. */
  readonly step: number;
}

export interface TuneProblem {
  readonly variables: readonly Variable[];
  /** The rig with these values, in the order of the variables; null where the text does not resolve with them. */
  readonly rigAt: (values: readonly number[]) => Rig | null;
}

/** Elements and doors of a rig of everyday size, one run or reading of which counts as one. */
const EVERYDAY = 50;

/** What one run or one reading of a rig counts: one for a rig of everyday size, more for larger ones. */
export const weightOf = ({ network, doors }: Rig): number =>
  Math.max(1, (network.elements.length + doors.length) / EVERYDAY);

/** The value as a multiple of the variable's step within its range. */
export function stepped({ low, high, step }: Variable, value: number): number {
  const inside = Math.min(high, Math.max(low, value));
  const near = Math.round(inside / step) * step;
  if (near < low) return Math.min(high, Math.ceil(low / step) * step);
  return near > high ? Math.max(low, Math.floor(high / step) * step) : near;
}
