/**
 * States at which a repeating stroke moves a given mass: the ceiling of a store, and where a chamber settles that is fed. Both are roots of
 * one curve, the gain of a chamber by what it holds, which falls: the fuller a store, the less a pocket can push into it. A range that
 * encloses the root is found by going up in steps of four, since nobody knows beforehand how full a store can get.
 */
import type { WorkBudget } from '../model/budget';
import { levelOf } from './engine';
import { FallingCurve } from './falling-root';
import type { FlowModel, Level } from './rig-model';
import type { RepeatingStroke } from './strokes';
import type { Work } from '../work/work';

/** How far a ceiling is looked for: times the mass that fills the chamber at the start, or at 1 bar. */
const FAR = 1e5;
/** Relative error of a root: strokes through openings agree to a millionth. */
const TOLERANCE: Readonly<Record<Level, number>> = { instant: 1e-11, openings: 1e-7 };

/** What a repeating stroke brings into one chamber, as a function of what that chamber holds, the others held at `masses`. */
export interface GainCurve {
  readonly chamber: number;
  readonly masses: readonly number[];
  readonly curve: FallingCurve;
  /** Why a value of it is withheld; null as long as none is. */
  readonly withheld: () => string | null;
}

/** The gain of `chamber` over its own mass. Once a value is withheld all later ones are, with the same reason. */
export function gainCurve(
  model: FlowModel,
  strokes: RepeatingStroke,
  masses: readonly number[],
  chamber: number,
  budget?: WorkBudget,
): GainCurve {
  let withheld: string | null = null;
  let last: Float64Array | undefined;
  function* gain(m: number): Work<number> {
    if (withheld !== null) return Number.NaN;
    const result = yield* strokes.work(
      masses.map((mass, k) => (k === chamber ? m : mass)),
      budget,
      last,
    );
    withheld = result.doubt;
    // The pockets as the last state left them: near by, the next stroke settles at once.
    last = result.between;
    return withheld === null ? result.gains[chamber]! : Number.NaN;
  }
  const curve = new FallingCurve(gain, TOLERANCE[levelOf(model)]);
  return { chamber, masses, curve, withheld: () => withheld };
}

/** The next mass to be tried for a ceiling: a little beyond where a straight line through the last two points ends, at least and at most these multiples of the last. */
const BEYOND = 1.05;
const STRIDE = { least: 1.5, most: 64 } as const;

/**
 * Mass in the chamber at which a stroke moves nothing into it; null where strokes always move something (no clearance), or nothing even
 * at the start, or where a value is withheld. `known`: a larger mass whose gain is wanted anyway.
 */
export function* ceilingMass(
  model: FlowModel,
  { chamber, masses, curve }: GainCurve,
  known: number | null = null,
): Work<number | null> {
  const low = masses[chamber]!;
  const { volume } = model.vessels[chamber]!;
  const scale = Math.max(low, ...masses.map((m, k) => (m * volume) / (model.vessels[k]!.volume || 1)), 1e-9);
  if (!((yield* curve.at(low)) > 1e-12 * scale)) return null;
  let last = low;
  for (let high = known !== null && known > low ? known : scale * 2; high <= scale * FAR;) {
    const gain = yield* curve.at(high);
    if (Number.isNaN(gain)) return null;
    if (gain <= 0) return yield* curve.where(0, low, high);
    // The curve is next to straight as long as the pockets are small against the chamber.
    const fall = (yield* curve.at(last)) - gain;
    const zero = fall > 0 ? high + (gain * (high - last)) / fall : Infinity;
    last = high;
    high = Math.max(STRIDE.least * high, Math.min(STRIDE.most * high, BEYOND * zero));
  }
  return null;
}

/**
 * Mass in the chamber at which strokes take out as much as flows in within one interval (`inflow` kg): where the rig settles. Null where
 * it never does, or where a value is withheld.
 */
export function* balanceMass({ chamber, masses, curve }: GainCurve, inflow: number): Work<number | null> {
  const start = masses[chamber]!;
  const scale = Math.max(start, inflow, 1e-9);
  if (start > 0 && !((yield* curve.at(start)) + inflow > 0)) {
    for (const low of [start / 4, start / 16, 0]) {
      if ((yield* curve.at(low)) + inflow >= 0) return yield* curve.where(-inflow, low, start);
    }
    return Number.isNaN(yield* curve.at(0)) ? null : 0;
  }
  if (start <= 0 && (yield* curve.at(0)) + inflow < 0) return 0;
  for (let high = scale * 2; high <= scale * 1e4; high *= 4) {
    const gain = yield* curve.at(high);
    if (Number.isNaN(gain)) return null;
    if (gain + inflow <= 0) return yield* curve.where(-inflow, start, high);
  }
  return null;
}
