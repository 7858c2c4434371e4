/** What chambers hold, in the dimension that a comparison asks for, and the runs that flow metrics are measured on. */
import type { ChamberState, Filling } from '../../flow/facts';
import { massAt } from '../../flow/vessel';
import type { MetricArgument, Requirement, Rig, Sensed } from '../../model/rig';
import type { CoupledRun } from '../../run/coupled';
import type { RigFacts } from '../../run/facts';
import { quickRun, scenarioRun } from '../../run/scenario-run';
import type { DimensionName } from '../../units/dimensions';
import type { Measured, Parameter, Withheld } from '../metric';
import { NOWHERE } from '../metric';
import { itemIndex } from '../metric';
import { say } from '../../words/say';

export const CHAMBER: Parameter = { name: 'chamber', kind: 'chamber' };
export const CONTENTS: readonly DimensionName[] = ['pressure', 'density', 'mass', 'length'];
export const TARGET: Parameter = { name: 'target', kind: 'quantity', dimensions: CONTENTS };

export const absent = (why: string): Measured => ({ kind: 'absent', why });

/** Nobody can say whether it happens: undecided, whatever the metric takes an absence for. */
export const open = (why: string): Withheld => ({ kind: 'withheld', why });

/** One sample without places of its own. */
export const sample = (value: number, why: string): Measured => ({
  kind: 'samples',
  samples: [{ value, why, places: NOWHERE }],
});

/** The property of a state that a dimension means; null where the medium has none. */
export function stateValue(state: ChamberState, dimension: string): number | null {
  if (dimension === 'mass') return state.mass;
  if (dimension === 'density') return state.density;
  return dimension === 'length' ? state.level : state.pressure;
}

export const sensedOf = (dimension: string): Sensed => (dimension === 'length' ? 'level' : (dimension as Sensed));

export const chamberName = (rig: Rig, args: readonly MetricArgument[]): string =>
  rig.chambers[itemIndex(args[0])]?.name ?? '?';

/** Why there is nothing to measure flow on; null where there is. */
export function noFlow({ rig, flow }: RigFacts): string | null {
  if (!flow) return rig.medium ? say`no stack moves anything` : say`no medium is stated`;
  return flow.medium === null ? say`what it needs for flow is not stated, or impossible` : null;
}

/** The scenario of a requirement, run with its contents; `default`: it has none; a sentence where it cannot be run. */
export function scenarioOf({ rig }: RigFacts, requirement: Requirement): CoupledRun | 'default' | { why: string } {
  if (requirement.during === null) return 'default';
  const run = scenarioRun(rig, requirement.during);
  if (!run) return { why: say`its scenario cannot be run` };
  return run.trace.stopped ? { why: say`the events of its scenario could not be computed to its end` } : run;
}

/** Mass of a chamber at which it reaches a target at its starting temperature; null where the medium has no such reading. */
export function targetMass(rig: Rig, chamber: number, dimension: string, value: number): number | null {
  const run = quickRun(rig);
  const vessel = run?.model.vessels[chamber];
  return run && vessel ? massAt(run.model.law, vessel, sensedOf(dimension), value, vessel.temperature) : null;
}

/** `1 stroke`, `3 strokes`. */
export const strokesText = (count: number): string => (count === 1 ? say`1 stroke` : say`${count} strokes`);

/** Why a run that was cut off says nothing of what comes after; null where it came to its own end or goes on as it is. */
export function cutOff({ ended, left, strokes }: Filling): string | null {
  if (ended === 'left')
    return say`the run was cut off after ${strokes} strokes: ${left ?? say`it leaves the range of the law`}`;
  return ended === 'overfull'
    ? say`the run was cut off after ${strokes} strokes, with a chamber at twice its limit or over its rim, and nothing stops the rig`
    : null;
}

/** Whether a filling came to its own end, so that its extremes are those of the rig (but for a chamber that is `rising`). */
export const isSettled = ({ ended }: Filling): boolean =>
  ended === 'steady' || ended === 'stopped' || ended === 'round';
