/** Runs of a rig with its contents, each computed once per rig. */
import type { Rig } from '../model/rig';
import type { CoupledRun } from './coupled';
import { runCoupled } from './coupled';
import type { FlowRun } from './flow-run';
import { flowRun } from './flow-run';

const RUNS = new WeakMap<Rig, { readonly flow: FlowRun | null; readonly scenarios: Map<number, CoupledRun> }>();

function runsOf(rig: Rig) {
  let runs = RUNS.get(rig);
  if (!runs) RUNS.set(rig, (runs = { flow: flowRun(rig), scenarios: new Map() }));
  return runs;
}

/** Following the rig stroke by stroke; null where there is no flow model. */
export const quickRun = (rig: Rig): FlowRun | null => runsOf(rig).flow;

/** Scenario `index` of the rig, coupled; null where there is no flow model or no such scenario. */
export function scenarioRun(rig: Rig, index: number): CoupledRun | null {
  const { flow, scenarios } = runsOf(rig);
  const scenario = rig.scenarios[index];
  if (!flow || !scenario) return null;
  let run = scenarios.get(index);
  if (!run) scenarios.set(index, (run = runCoupled(rig, flow.model, { scenario })));
  return run;
}
