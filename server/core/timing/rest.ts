/**
 * A rig at rest: powered up and run until it is quiet or repeats, at a moment when a trigger may come. "Rest" is a claim about doors: a
 * lamp that blinks without end does not keep a rig from its rest, a door that moves without end does. In scan style the moment is a scan,
 * so that the trigger's edge is seen at time zero; at another phase of the scan everything comes up to one scan later.
 */
import type { Rig } from '../model/rig';
import { createEngine } from './engine';
import type { Engine } from './engine';
import { finish, type Work } from '../work/work';
import { doorsThatMove, patternWork, settleWhole } from './pattern';
import type { Pattern } from './pattern';
import { compileProgram } from './program';
import type { Program, TimeChoice } from './program';
import type { Trace } from './trace';

export interface AtRest {
  readonly engine: Engine;
  readonly pattern: Pattern;
  /** From power-up on. */
  readonly trace: Trace;
}

/** Edges of one run before its answer is given up. */
export const EDGE_BUDGET = 20_000;

/** Edges that lamps and other signals without a drive are given to settle. */
const LAMP_PATIENCE = 1000;

/** Powers up with the given inputs and runs until quiet or repeating, in steps; in scan style up to the next scan. */
export function* bringToRest(
  rig: Rig,
  program: Program,
  inputs: (net: number) => boolean,
  budget: number,
): Work<AtRest> {
  const engine = createEngine(rig, { program, inputs, budget });
  const pattern = yield* patternWork(engine);
  // The pattern covers what drives; signals beside it (start-up pulses of lamps) are given a while to reach their own course.
  if (!pattern.quiet && engine.covers !== null) yield* settleWhole(engine, LAMP_PATIENCE);
  if (!engine.stopped) engine.alignToScan();
  return { engine, pattern, trace: engine.trace() };
}

/** Doors that go on moving although nothing is operated, ascending. */
export const doorsMovingForEver = ({ engine, pattern }: AtRest): number[] => doorsThatMove(engine, pattern);

/** Whether any does. */
export const movesForEver = (rest: AtRest): boolean => doorsMovingForEver(rest).length > 0;

/** How long after power-up the rig is at rest, long powered up; null for one that does not come to rest. */
export function restMoment(rig: Rig, inputs: (net: number) => boolean, program: Program): number | null {
  return finish(restMomentWork(rig, inputs, program));
}

/** The same in steps. */
export function* restMomentWork(rig: Rig, inputs: (net: number) => boolean, program: Program): Work<number | null> {
  const rest = yield* bringToRest(rig, program, inputs, EDGE_BUDGET);
  return rest.trace.stopped || movesForEver(rest) ? null : rest.engine.now;
}

/** An engine whose time zero is the rig at rest, long powered up; a rig that does not come to rest begins at its power-up. */
export function engineAtRest(rig: Rig, inputs: (net: number) => boolean, budget: number, times?: TimeChoice): Engine {
  const program = compileProgram(rig, times);
  return engineFrom(createEngine(rig, { program, inputs, budget }), restMoment(rig, inputs, program));
}

/** An engine just made, gone on to a moment that becomes its time zero; as it is where there is none. */
export function engineFrom(engine: Engine, moment: number | null): Engine {
  if (moment === null) return engine;
  engine.advanceTo(moment);
  engine.rebase();
  return engine;
}
