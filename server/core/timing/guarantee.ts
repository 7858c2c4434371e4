/**
 * Guaranteed ranges: for every value inside the tolerances, corners or not. The corners give the causes and a first range; the cells
 * of all orders of events give the guarantee. What could not be covered within the budget says so.
 *
 * Why both: corners are cheap, name the causes, and are exact where times only add up; but a number that turns round inside the ranges
 * (two timers that race, a door caught midway) has its worst value at no corner. The cells bound it there. The two ranges are merged
 * outwards, never inwards: each value seen anywhere inside the tolerances is a value that can happen, so the union is still attained or
 * bounded, and only `guaranteed` claims that nothing is beyond.
 */
import type { Rig } from '../model/rig';
import type { TimingOptions } from './analyse';
import { finish, type Work } from '../work/work';
import { coverWork } from './orders/cover-measure';
import type { Watch } from './orders/trace-orders';
import { looseTimes, seededRandom, worstCaseWork, type Measure, type MeasureRange } from './tolerance';
import { toleranceSpace } from './tolerance-space';

/** Fixed: the same text gives the same answer. */
const SEED = 11;

export interface GuaranteeOptions {
  /** Orders of events looked at before the search gives up. */
  readonly orders: number;
  /** Steps of the engine that the search of corners may cost; what it may cost while a text is written where nothing is stated. */
  readonly steps?: number;
  /** Also run the engine at each end found. */
  readonly verify: boolean;
}

/** Ranges of every number a measure gives; `watch`: doors and nets whose order the measure depends on. */
export const guaranteedRanges = (...asked: Parameters<typeof guaranteeWork>): Map<string, MeasureRange> =>
  finish(guaranteeWork(...asked));

/** The same in steps. */
export function* guaranteeWork(
  rig: Rig,
  measure: Measure,
  watch: Watch,
  options: GuaranteeOptions,
  timing: TimingOptions = {},
): Work<Map<string, MeasureRange>> {
  const corners = yield* worstCaseWork(rig, measure, timing, options.steps);
  const space = toleranceSpace(rig, looseTimes(rig), timing);
  const budget = { left: options.orders };
  const { ranges } = yield* coverWork(space, watch, measure, {
    budget,
    jitter: seededRandom(SEED),
    verify: options.verify,
  });
  const names = new Set([...corners.keys(), ...ranges.keys()]);
  return new Map(
    [...names].map((name) => {
      const corner = corners.get(name);
      const covered = ranges.get(name);
      return [
        name,
        {
          nominal: corner?.nominal ?? null,
          min: Math.min(corner?.min ?? Infinity, covered?.min ?? Infinity),
          max: Math.max(corner?.max ?? -Infinity, covered?.max ?? -Infinity),
          // One order over the whole box: every moment is one sum there, so its range is the exact stack-up.
          additive: covered?.oneOrder ?? false,
          // What either way did not meet may be absent.
          mayBeAbsent: (corner?.mayBeAbsent ?? true) || (covered?.absent ?? true),
          guaranteed: covered?.covered ?? false,
          cut: corner?.cut ?? false,
          causes: corner?.causes ?? [],
        },
      ];
    }),
  );
}
