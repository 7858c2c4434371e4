/** The course of events of a scenario: with the contents of the chambers where the rig states them, else with its operations alone. */
import type { Rig, Scenario } from '../model/rig';
import { scenarioRun } from '../run/scenario-run';
import { traceScenario } from '../timing/scenario';
import type { Trace } from '../timing/trace';
import type { Course } from '../timing/course';
import { courseOf } from '../timing/course';

/** Runs a scenario to its end at nominal times; null where the engine stopped before. */
export function scenarioCourse(rig: Rig, scenario: Scenario): Course | null {
  const trace = scenarioRun(rig, rig.scenarios.indexOf(scenario))?.trace ?? operationsOnly(rig, scenario);
  return trace.stopped ? null : courseOf(rig, trace, `in scenario ${scenario.name}`, null);
}

function operationsOnly(rig: Rig, scenario: Scenario): Trace {
  const last = scenario.steps.reduce((latest, step) => Math.max(latest, step.at.nominal), 0);
  return traceScenario(rig, scenario, scenario.duration?.nominal ?? last);
}
