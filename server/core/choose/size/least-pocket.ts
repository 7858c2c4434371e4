/** The smallest pockets that fill a chamber in time, at a given interval and feed. */
import type { Rig } from '../../model/rig';
import type { Work } from '../../work/work';
import type { IntervalScrew, SizeChoice } from './choice';
import { rigWithChoice } from './choice';
import { reachOf, type SizeTarget } from './reach';

/** Everything that stays the same while choices are tried. */
export interface Sizing {
  readonly rig: Rig;
  readonly target: SizeTarget;
  readonly screw: IntervalScrew | null;
}

/** Pockets from this part to this multiple of what they are. */
export const SMALLEST = 1 / 8;
export const LARGEST = 8;
/** Pockets are found to this ratio, then rounded up. */
const CLOSE = 1.015;
const TRIALS = 14;

/** Openings grow with the pockets, so that these fill and empty in the same time. */
export const withPocket = (pocket: number, interval: number | null, feed: number): SizeChoice => ({
  pocket,
  opening: pocket,
  interval,
  feed,
});

/** Seconds to the target with a choice, followed up to `patience` times the time allowed; Infinity where it is not reached then. */
export function* secondsWith({ rig, target, screw }: Sizing, choice: SizeChoice, patience = 1): Work<number> {
  const reach = yield* reachOf(rigWithChoice(rig, choice, screw), target, patience);
  return reach?.seconds ?? Infinity;
}

/**
 * The smallest factor of the pockets with which the target is there in time; null where it is not with the largest. Strokes needed fall
 * about as pockets grow, so the next trial is where the last one would have been in time; halving guards against anything else.
 */
export function* leastPocket(sizing: Sizing, interval: number | null, feed: number): Work<number | null> {
  const { within } = sizing.target;
  const seconds = (pocket: number): Work<number> => secondsWith(sizing, withPocket(pocket, interval, feed), 3);
  let [fails, does] = [SMALLEST, LARGEST];
  let [last, took] = [1, yield* seconds(1)];
  if (took <= within) does = 1;
  else fails = 1;
  if (does === LARGEST && !((yield* seconds(LARGEST)) <= within)) return null;
  if (fails === SMALLEST && (yield* seconds(SMALLEST)) <= within) return SMALLEST;
  for (let trial = 0; trial < TRIALS && does / fails > CLOSE; trial++) {
    const middle = Math.sqrt(fails * does);
    const hoped = Number.isFinite(took) ? (last * took) / within : middle;
    const width = does / fails;
    // Every second trial halves, so that steps of whole strokes cannot hold the search up.
    const next = trial % 2 === 0 ? Math.min(does / width ** 0.1, Math.max(fails * width ** 0.1, hoped)) : middle;
    [last, took] = [next, yield* seconds(next)];
    if (took <= within) does = next;
    else fails = next;
  }
  return does;
}
