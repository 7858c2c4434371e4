/** Traces for a stated course of operations, or for the trigger alone. */
import type { Rig, Scenario } from '../model/rig';
import { analyseTiming } from './analyse';
import { initialInputs, type Engine } from './engine';
import { engineAtRest } from './rest';
import { inputsBefore, shiftedTrace, type Trace } from './trace';

/** Edges of one scenario before it is cut short. */
const SCENARIO_BUDGET = 1_000_000;

/**
 * Follows a scenario up to and including time `until` (whole microseconds). Time zero is the rig at rest, long powered up; a rig that
 * does not come to rest begins at its power-up. With no scenario the first trigger (a sensor or switch) flips at time zero and is held;
 * where no flip moves a door, the first sensor. Feeds and draws of a scenario have no part in timing.
 */
export function traceScenario(rig: Rig, scenario: Scenario | null, until: number): Trace {
  const engine = engineFor(rig, scenario);
  engine.advanceTo(until);
  return engine.trace();
}

export interface PartOptions {
  /** Edges that a part holds before the next part begins. */
  readonly size?: number;
  /** Edges of all parts together; by default some 400 MB of text. */
  readonly most?: number;
}

/**
 * The same in parts, one after the other in time, so that what is done with a part need not hold the whole. A part ends with an
 * instant and the next begins there; a door on its way then begins the next part with a move of its own. Where the last part does not
 * reach `until`, its `stopped` says why.
 */
export function* tracedParts(
  rig: Rig,
  scenario: Scenario | null,
  until: number,
  { size = 10_000, most = 20_000_000 }: PartOptions = {},
): Generator<Trace, void, void> {
  const engine = engineFor(rig, scenario);
  let start = 0;
  let edges = 0;
  const part = (): Trace => shiftedTrace(engine.trace(), start);
  // `start` is the time of the engine's zero in the scenario: after each part the engine is given a new zero, so its record stays small.
  while (start + engine.nextTime() <= until) {
    engine.step();
    if (engine.edgeCount < size) continue;
    edges += engine.edgeCount;
    if (edges >= most) engine.giveUp();
    if (engine.stopped) break;
    yield part();
    start += engine.now;
    engine.rebase();
  }
  engine.advanceTo(until - start);
  yield part();
}

const engineFor = (rig: Rig, scenario: Scenario | null): Engine =>
  scenario ? engineOfSteps(rig, scenario) : engineOfTrigger(rig);

function engineOfSteps(rig: Rig, scenario: Scenario): Engine {
  const engine = engineAtRest(rig, initialInputs(rig), SCENARIO_BUDGET);
  for (const step of scenario.steps) {
    const at = step.at.nominal;
    const on = step.on;
    if (step.action === 'power') engine.setPower(on, at);
    else if (step.action === 'switch' && rig.switches[step.target])
      engine.setInput(rig.switches[step.target]!.net, on, at);
    else if (step.action === 'sensor' && rig.sensors[step.target])
      engine.setInput(rig.sensors[step.target]!.net, on, at);
  }
  return engine;
}

function engineOfTrigger(rig: Rig): Engine {
  // As in the facts: the same trigger, and the same inputs before it.
  const [stroke] = analyseTiming(rig).strokes;
  const initially = stroke ? inputsBefore(stroke) : initialInputs(rig);
  const trigger = stroke ? stroke.trigger.net : (rig.sensors[0]?.net ?? -1);
  const becomes = stroke?.becomes ?? !initially(trigger);
  const engine = engineAtRest(rig, (net) => (net === trigger ? !becomes : initially(net)), SCENARIO_BUDGET);
  if (trigger >= 0) engine.setInput(trigger, becomes, 0);
  return engine;
}
