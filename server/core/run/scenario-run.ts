/** Runs of a rig with its contents, each computed once per rig. */
import type { Rig, Scenario } from '../model/rig';
import { traceScenario } from '../timing/scenario';
import type { Trace } from '../timing/trace';
import { kept, type Kept, type Work } from '../work/work';
import type { CoupledRun } from './coupled';
import { coupledWork } from './coupled';
import type { FlowRun } from './flow-run';
import { flowRun } from './flow-run';

interface RunsOfRig {
  readonly flow: FlowRun | null;
  /** By scenario and the moment up to which it was followed. */
  readonly scenarios: Map<string, Kept<CoupledRun>>;
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
export const scenarioRun = (rig: Rig, index: number, until?: number): CoupledRun | null =>
  keptRun(rig, index, until)?.value() ?? null;

/** The runs of all scenarios in steps; reading them afterwards takes no time. */
export function* scenarioRuns(rig: Rig): Work<void> {
  for (let index = 0; index < rig.scenarios.length; index++) {
    const run = keptRun(rig, index);
    if (run) yield* run.work();
  }
}

function keptRun(rig: Rig, index: number, until?: number): Kept<CoupledRun> | null {
  const { flow, scenarios } = runsOf(rig);
  const scenario = rig.scenarios[index];
  if (!flow || !scenario) return null;
  const end = until ?? scenario.duration?.nominal;
  const key = `${index} ${end ?? ''}`;
  let run = scenarios.get(key);
  if (!run) {
    const options = { scenario, ...(end === undefined ? {} : { until: end }) };
    scenarios.set(key, (run = kept(() => coupledWork(rig, flow.model, options))));
  }
  return run;
}

/** The course of a scenario as it is traced, drawn and judged. */
export interface ScenarioCourse {
  readonly trace: Trace;
  /** When and why it ends before its time because the contents leave what can be computed; null where they do not. */
  readonly left: CoupledRun['left'];
  /** Contents move the sensors; else only the operations of the scenario do. */
  readonly withContents: boolean;
  /** Stretches of one period over and over, counted and not followed. */
  readonly closed: CoupledRun['closed'];
  /** Units of work on the flow that it took. */
  readonly units: number;
}

/** Follows a scenario up to `until` (µs) with the contents of the chambers where the rig moves a medium, else with its operations alone. */
export function scenarioTrace(rig: Rig, scenario: Scenario, until: number): ScenarioCourse {
  const run = scenarioRun(rig, rig.scenarios.indexOf(scenario), until);
  if (run) {
    const { trace, left, closed, units } = run;
    return { trace, left, closed, withContents: true, units };
  }
  return { trace: traceScenario(rig, scenario, until), left: null, closed: [], withContents: false, units: 0 };
}
