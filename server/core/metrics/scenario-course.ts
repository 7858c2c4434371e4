/** The course of events of a scenario: with the contents of the chambers where the rig states them, else with its operations alone. */
import type { Rig, Scenario } from '../model/rig';
import { scenarioRun, scenarioTrace } from '../run/scenario-run';
import type { Course } from '../timing/course';
import { courseOf } from '../timing/course';
import { say } from '../words/say';

/** Runs a scenario to its end at nominal times; null where the engine stopped before. */
export function scenarioCourse(rig: Rig, scenario: Scenario): Course | null {
  const last = scenario.steps.reduce((latest, step) => Math.max(latest, step.at.nominal), 0);
  // Without a duration a rig that moves a medium is followed for an hour after the last step, for its contents to come to rest.
  const trace =
    scenarioRun(rig, rig.scenarios.indexOf(scenario))?.trace ??
    scenarioTrace(rig, scenario, scenario.duration?.nominal ?? last).trace;
  return trace.stopped ? null : courseOf(rig, trace, say`in scenario ${scenario.name}`, null);
}
