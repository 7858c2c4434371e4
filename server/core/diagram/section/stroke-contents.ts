/** What the chambers hold while a stroke or a scenario goes on, for the shading of the section. */
import { coupledWork, type CoupledRun } from '../../run/coupled';
import type { RigFacts } from '../../run/facts';
import type { FlowModel } from '../../flow/rig-model';
import type { RunPoint } from '../../flow/facts';
import type { Rig } from '../../model/rig';
import { triggerMasses } from '../../run/flow-run';
import { quickRun, scenarioRun } from '../../run/scenario-run';
import type { StrokeFacts } from '../../timing/facts';
import { chamberReading } from '../kit/chamber-readings';
import type { Contents } from './model';
import { kept, type Kept } from '../../work/work';

/** How long before the trigger's edge a reading may be known, microseconds. */
const LEAD = 1_000_000;

/**
 * Contents over the time of a stroke, from a coupled run that starts with the trigger's chamber at its threshold; counted from the
 * trigger's edge. Empty where there is no flow model, or where the coupled run goes another way than the stroke does (its sensors
 * see the chambers; those of the stroke are held).
 */
export function strokeContents(facts: RigFacts, stroke: StrokeFacts): Contents[] {
  const { rig } = facts;
  const model = quickRun(rig)?.model;
  const sensor = rig.sensors[stroke.sensor];
  if (!model || !sensor || stroke.strokeEnds === null) return [];
  const run = strokeRun(rig, model, stroke, stroke.strokeEnds + LEAD).value();
  const edge = run.trace.edges.find((e) => e.net === sensor.net && e.value === stroke.becomes);
  // Contents past the threshold from the start: the stroke then begins with the run.
  const zero = edge?.t ?? (run.trace.initial[sensor.net] === stroke.becomes ? run.trace.start : null);
  if (zero === null || !sameDoors(run, stroke, zero)) return [];
  return contentsAlong(rig, model, run.points, zero);
}

/** Coupled runs by their strokes: every drawing of the preview reads them. */
const RUNS = new WeakMap<StrokeFacts, Kept<CoupledRun>>();

function strokeRun(rig: Rig, model: FlowModel, stroke: StrokeFacts, until: number): Kept<CoupledRun> {
  let run = RUNS.get(stroke);
  if (!run)
    RUNS.set(stroke, (run = kept(() => coupledWork(rig, model, { start: triggerMasses(rig, model, stroke), until }))));
  return run;
}

/** Contents over the time of a scenario that was followed with them; empty where there is no flow model. */
export function scenarioContents(rig: Rig, scenario: number, until: number): Contents[] {
  const model = quickRun(rig)?.model;
  const run = model && scenarioRun(rig, scenario, until);
  return run ? contentsAlong(rig, model, run.points, 0) : [];
}

/** @param zero the moment of the run from which times are counted */
function contentsAlong(rig: Rig, model: FlowModel, run: readonly RunPoint[], zero: number): Contents[] {
  return rig.chambers.map((chamber, k) => {
    const reading = chamberReading(rig, model, k);
    const points = run.map((p) => ({ t: p.t - zero, value: reading.of(p.mass[k]!, p.temperature[k]!) }));
    const most = Math.max(...points.map((p) => p.value), 1e-9);
    const height = chamber.floorArea && chamber.volume ? chamber.volume.nominal / chamber.floorArea.nominal : null;
    const limit = chamber.limit?.kind === reading.kind ? chamber.limit.value.nominal / reading.size : null;
    const full = reading.kind === 'level' ? (height ?? most) : (limit ?? most * 1.5);
    return { chamber: `chamber:${chamber.name}`, kind: reading.kind, unit: reading.unit, full, points };
  });
}

/** Do all doors of the stroke move first at the same time in both? */
function sameDoors(run: CoupledRun, stroke: StrokeFacts, zero: number): boolean {
  return stroke.trace.doors.every((track, k) => {
    const [here, there] = [track.moves[0], run.trace.doors[k]?.moves[0]];
    if (!here || here.t > stroke.strokeEnds!) return true;
    return there !== undefined && there.t - zero === here.t && there.to === here.to;
  });
}
