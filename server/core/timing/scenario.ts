/** Traces for a stated course of operations, or for the trigger alone. */
import type { Rig, Scenario } from '../model/rig';
import { analyseTiming } from './analyse';
import { initialInputs } from './engine';
import { engineAtRest } from './rest';
import type { Trace } from './trace';

/** Edges of one scenario before it is cut short. */
const SCENARIO_BUDGET = 1_000_000;

/**
 * Follows a scenario up to and including time `until` (whole microseconds). Time zero is the rig at rest, long powered up; a rig that
 * does not come to rest begins at its power-up. With no scenario the first trigger (a sensor or switch) flips at time zero and is held;
 * where no flip moves a door, the first sensor. Feeds and draws of a scenario have no part in timing.
 */
export function traceScenario(rig: Rig, scenario: Scenario | null, until: number): Trace {
  return scenario ? traceSteps(rig, scenario, until) : traceTrigger(rig, until);
}

function traceSteps(rig: Rig, scenario: Scenario, until: number): Trace {
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
  engine.advanceTo(until);
  return engine.trace();
}

function traceTrigger(rig: Rig, until: number): Trace {
  const { strokes, turned } = analyseTiming(rig);
  const [stroke] = strokes;
  const byDefault = initialInputs(rig);
  const initially = (net: number) => byDefault(net) !== turned.includes(net);
  const trigger = stroke ? stroke.trigger.net : (rig.sensors[0]?.net ?? -1);
  const becomes = stroke?.becomes ?? !initially(trigger);
  const engine = engineAtRest(rig, (net) => (net === trigger ? !becomes : initially(net)), SCENARIO_BUDGET);
  if (trigger >= 0) engine.setInput(trigger, becomes, 0);
  engine.advanceTo(until);
  return engine.trace();
}
