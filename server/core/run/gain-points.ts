/** What a stroke moves into a chamber by what that chamber holds: the curve of which the figures at start, trigger, limit and ceiling are points. */
import type { ChamberState, GainPoints } from '../flow/facts';
import { levelOf } from '../flow/engine';
import type { FlowModel } from '../flow/rig-model';
import { stateAt } from '../flow/states';
import { gainCurve } from '../flow/stroke-roots';
import { fullMass, massAt } from '../flow/vessel';
import type { Rig } from '../model/rig';
import type { Work } from '../work/work';
import { FIGURE } from './flow-work';
import type { StrokeContext } from './stroke-context';
import { say } from '../words/say';

/** Points of a curve; a stroke through openings costs a hundred times one that equalises at once. */
const POINTS = { instant: 33, openings: 17 } as const;
/** So far beyond what the chamber holds at the start, where nothing ends the curve before: no limit, ceiling or threshold. */
const FAR = 4;

/** Mass of a chamber at its limit, kg; null where it has none. */
export function massAtLimit({ chambers }: Rig, model: FlowModel, chamber: number): number | null {
  const limit = chambers[chamber]?.limit ?? null;
  const vessel = model.vessels[chamber]!;
  return limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
}

/** @param ceiling where a stroke moves nothing more; null where there is no such state */
export function* gainPoints(context: StrokeContext, to: number, ceiling: ChamberState | null): Work<GainPoints> {
  const { rig, model, strokes, trigger, work, impossible } = context;
  const { name, endless } = rig.chambers[to]!;
  const none = (note: string): GainPoints => ({ points: [], note });
  if (model.network.measured.some((m) => m.to === to))
    return none(say`strokes move a measured fraction, whatever it holds`);
  if (endless) return none(say`${name} has no end: what it holds changes nothing`);
  if (strokes.floats(to)) return none(say`what one stage brings, the next one takes`);
  if (impossible !== null) return none(impossible);
  const { curve, withheld } = gainCurve(model, strokes, trigger, to, work.part(FIGURE.curve));
  const points: { state: ChamberState; gain: number }[] = [];
  for (const mass of massesFor(context, to, ceiling)) {
    const gain = yield* curve.at(mass);
    const why = withheld();
    if (why !== null) return { points, note: say`not computed further: ${why}` };
    points.push({ state: stateAt(model, to, mass), gain });
    yield;
  }
  return { points, note: '' };
}

/** From what it holds at the start to a little beyond its limit and its ceiling, the marked ones among them. */
function massesFor({ rig, model, trigger }: StrokeContext, to: number, ceiling: ChamberState | null): number[] {
  const start = model.start[to]!;
  const limit = massAtLimit(rig, model, to);
  const marked = [trigger[to]!, limit, ceiling && ceiling.mass, ...thresholds(rig, model, to)].filter(
    (mass): mass is number => mass !== null && mass > 0,
  );
  const brim = model.law.phase === 'liquid' ? fullMass(model.law, model.vessels[to]!) : Infinity;
  const far = Math.max(...marked, start);
  const most = Math.min(far > start ? far : start > 0 ? FAR * start : brim, brim);
  if (!Number.isFinite(most) || most <= start) return [];
  const count = POINTS[levelOf(model)];
  const even = Array.from({ length: count }, (_, k) => start + (k / (count - 1)) * (most - start));
  const shown = marked.filter((mass) => mass > start && mass < most);
  return [...new Set([...even, ...shown])].sort((a, b) => a - b);
}

function thresholds(rig: Rig, model: FlowModel, chamber: number): (number | null)[] {
  const vessel = model.vessels[chamber]!;
  return rig.sensors.flatMap(({ chamber: own, on }) =>
    own === chamber && on ? [massAt(model.law, vessel, on.sensed, on.value.nominal, vessel.temperature)] : [],
  );
}
