/** Whether a rig fills a chamber in time: followed stroke by stroke, feeds and draws on and sensors as the contents give them. */
import type { ChamberState, Filling } from '../../flow/facts';
import { reading } from '../../flow/vessel';
import type { Rig, Sensed } from '../../model/rig';
import { flowRun, thrownSwitches } from '../../run/flow-run';
import { analysisOf } from '../../run/analyse';
import type { Work } from '../../work/work';

export interface SizeTarget {
  /** Index into `chambers`. */
  readonly chamber: number;
  readonly sensed: Sensed;
  /** SI */
  readonly value: number;
  /** s */
  readonly within: number;
}

export interface Reach {
  /** Seconds until the target is there; null where it is not within the time followed. */
  readonly seconds: number | null;
  readonly strokes: number;
  readonly ended: Filling['ended'];
  /** Seconds that were followed. */
  readonly followed: number;
  readonly left: string | null;
  /** The state of the chamber that came nearest to the target. */
  readonly nearest: ChamberState;
}

/** A miss by rounding is none. */
const ROUNDING = 1e-9;

/** Follows a rig for at most this multiple of the time allowed, so that a miss is a figure too. Null where it has no flow model. */
export function* reachOf(rig: Rig, target: SizeTarget, patience = 1): Work<Reach | null> {
  const { timing } = yield* analysisOf(rig);
  const run = flowRun(rig, thrownSwitches(timing));
  const vessel = run?.model.vessels[target.chamber];
  if (!run || !vessel) return null;
  const { law } = run.model;
  const value = (mass: number, temperature: number): number | null =>
    reading(law, vessel, target.sensed, mass, temperature);
  const start = value(run.model.start[target.chamber]!, vessel.temperature);
  if (start === null) return null;
  const hair = ROUNDING * Math.abs(target.value);
  const rises = start <= target.value;
  const there = (now: number): boolean => (rises ? now >= target.value - hair : now <= target.value + hair);
  const filling = yield* run.fillWork({
    seconds: target.within * patience,
    target: ({ high, low }) => {
      const { mass, temperature } = rises ? high : low;
      const now = value(mass[target.chamber]!, temperature[target.chamber]!);
      return now !== null && there(now);
    },
  });
  return {
    seconds: there(start) ? 0 : filling.ended === 'target' ? filling.seconds : null,
    strokes: filling.strokes,
    ended: filling.ended,
    followed: filling.seconds,
    left: filling.left,
    nearest: (rises ? filling.highest : filling.lowest)[target.chamber]!,
  };
}

/** The property of a state that a target names; null where the medium has none. */
export function sensedIn(state: ChamberState, sensed: Sensed): number | null {
  if (sensed === 'level') return state.level;
  return sensed === 'pressure' ? state.pressure : state[sensed];
}
