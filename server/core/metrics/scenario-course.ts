/** The course of events of a scenario that operates switches, sensors and power. */
import type { Rig, Scenario } from '../model/rig';
import { traceScenario } from '../timing/scenario';
import type { Course } from './course';
import { courseOf } from './course';

/** Runs a scenario to its end at nominal times; null where the engine stopped before. */
export function scenarioCourse(rig: Rig, scenario: Scenario): Course | null {
  const last = scenario.steps.reduce((latest, step) => Math.max(latest, step.at.nominal), 0);
  const trace = traceScenario(rig, scenario, scenario.duration?.nominal ?? last);
  return trace.stopped ? null : courseOf(rig, trace, `in scenario ${scenario.name}`, null);
}
