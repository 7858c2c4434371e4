/** Runs of a rig with its contents, each computed once per rig. */
import type { Rig, Scenario } from '../model/rig';
import { traceScenario } from '../timing/scenario';
import type { Trace } from '../timing/trace';
import type { CoupledRun } from './coupled';
import { runCoupled } from './coupled';
import type { FlowRun } from './flow-run';
import { flowRun } from './flow-run';

interface RunsOfRig {
  readonly flow: FlowRun | null;
  /** By scenario and the moment up to which it was followed. */
  readonly scenarios: Map<string, CoupledRun>;
}

const RUNS = new WeakMap<Rig, RunsOfRig>();

function runsOf(rig: Rig): RunsOfRig {
  let runs = RUNS.get(rig);
  if (!runs) RUNS.set(rig, (runs = { flow: flowRun(rig), scenarios: new Map() }));
  return runs;
}

/** Following the rig stroke by stroke; null where there is no flow model. */
export const quickRun = (rig: Rig): FlowRun | null => runsOf(rig).flow;

/**
 * Scenario `index` of the rig, coupled, up to `until` (µs; by default its own duration, or one hour after its last step); null where there is
 * no flow model or no such scenario.
 */
export function scenarioRun(rig: Rig, index: number, until?: number): CoupledRun | null {
  const { flow, scenarios } = runsOf(rig);
  const scenario = rig.scenarios[index];
  if (!flow || !scenario) return null;
  const end = until ?? scenario.duration?.nominal;
  const key = `${index} ${end ?? ''}`;
  let run = scenarios.get(key);
  if (!run)
    scenarios.set(key, (run = runCoupled(rig, flow.model, { scenario, ...(end === undefined ? {} : { until: end }) })));
  return run;
}

/** The course of a scenario as it is traced, drawn and judged. */
export interface ScenarioCourse {
  readonly trace: Trace;
  /** When and why it ends before its time because the contents leave what can be computed; null where they do not. */
  readonly left: CoupledRun['left'];
  /** Contents move the sensors; else only the operations of the scenario do. */
  readonly withContents: boolean;
  /** Units of work on the flow that it took. */
  readonly units: number;
}

/** Follows a scenario up to `until` (µs) with the contents of the chambers where the rig moves a medium, else with its operations alone. */
export function scenarioTrace(rig: Rig, scenario: Scenario, until: number): ScenarioCourse {
  const run = scenarioRun(rig, rig.scenarios.indexOf(scenario), until);
  if (run) return { trace: run.trace, left: run.left, withContents: true, units: run.units };
  return { trace: traceScenario(rig, scenario, until), left: null, withContents: false, units: 0 };
}
