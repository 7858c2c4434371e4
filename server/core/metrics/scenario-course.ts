/** The course of events of a scenario: with the contents of the chambers where the rig states them, else with its operations alone. */
import type { Rig, Scenario } from '../model/rig';
import { scenarioRun, scenarioTrace } from '../run/scenario-run';
import type { Course } from '../timing/course';
import { courseOf } from '../timing/course';
import { formatFollowed } from '../units/units';
import { say } from '../words/say';

/** Runs a scenario to its end at nominal times; why not, as a clause, where it could not be followed that far. */
export function scenarioCourse(rig: Rig, scenario: Scenario): Course | string {
  const last = scenario.steps.reduce((latest, step) => Math.max(latest, step.at.nominal), 0);
  // Without a duration a rig that moves a medium is followed for an hour after the last step, for its contents to come to rest.
  const run = scenarioRun(rig, rig.scenarios.indexOf(scenario));
  const trace = run?.trace ?? scenarioTrace(rig, scenario, scenario.duration?.nominal ?? last).trace;
  if (trace.stopped) return say`the events of scenario ${scenario.name} could not be computed to its end`;
  if (run?.left) return say`its scenario was cut off at ${formatFollowed(run.left.t)}: ${run.left.why}`;
  return courseOf(rig, trace, say`in scenario ${scenario.name}`, null);
}
