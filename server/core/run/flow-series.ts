/**
 * Curves and marks of a filling or a scenario, as plain data for the store panel and for lanes under the timing diagram. Units are
 * those printed: bar, kg/m3, m, kJ; times in µs.
 */
import type { FlowModel } from '../flow/balance';
import { stateOf } from '../flow/states';
import type { ChamberState, FlowFacts } from '../flow/facts';
import type { Rig, Sensed } from '../model/rig';
import type { CoupledRun } from './coupled';
import { quickRun, scenarioRun } from './scenario-run';

export interface FlowSeries {
  readonly id: string;
  readonly name: string;
  readonly unit: string;
  readonly points: readonly { readonly t: number; readonly value: number }[];
  readonly shape: 'line' | 'step';
}

export interface FlowMark {
  readonly id: string;
  readonly kind: 'target' | 'limit' | 'ceiling' | 'moment';
  readonly unit: string;
  readonly value: number;
  readonly label: string;
}

export interface FlowCurves {
  readonly title: string;
  readonly series: readonly FlowSeries[];
  readonly marks: readonly FlowMark[];
  /** Where strokes start; thinned. */
  readonly strokes: readonly { readonly t: number; readonly number: number }[];
  readonly notes: readonly string[];
}

/** What a medium's chambers are drawn by. */
interface Shown {
  readonly word: 'pressure' | 'density' | 'level';
  readonly sensed: Sensed;
  readonly unit: string;
  readonly scale: number;
  readonly of: (state: ChamberState) => number | null;
}

const PRESSURE: Shown = { word: 'pressure', sensed: 'pressure', unit: 'bar', scale: 1e-5, of: (s) => s.pressure };
const DENSITY: Shown = { word: 'density', sensed: 'density', unit: 'kg/m3', scale: 1, of: (s) => s.density };
const LEVEL: Shown = { word: 'level', sensed: 'level', unit: 'm', scale: 1, of: (s) => s.level };

const shownBy = (model: FlowModel): Shown =>
  model.law.phase === 'gas' ? PRESSURE : model.law.phase === 'liquid' ? LEVEL : DENSITY;

interface Point {
  readonly t: number;
  readonly mass: readonly number[];
  readonly temperature: readonly number[];
  readonly strokes: number;
}

/** Curves of the rig running by itself; null where there is no stroke or no flow. */
export function fillingCurves(rig: Rig, flow: FlowFacts): FlowCurves | null {
  const model = quickRun(rig)?.model;
  const { filling } = flow;
  if (!model || !filling) return null;
  const notes = [...flow.doubts];
  if (filling.ended === 'overfull') notes.push('Followed until a chamber held twice its limit: nothing stops the rig.');
  if (filling.ended === 'budget') notes.push(`Followed for ${filling.strokes} strokes; it goes on.`);
  return curvesOf(rig, model, flow, filling.points, 'By itself, stroke by stroke', [], notes);
}

/** Curves of a scenario; null where it cannot be run. */
export function scenarioCurves(rig: Rig, flow: FlowFacts, index: number): FlowCurves | null {
  const model = quickRun(rig)?.model;
  const run = scenarioRun(rig, index);
  if (!model || !run) return null;
  const energy: FlowSeries = {
    id: 'energy',
    name: 'energy',
    unit: 'kJ',
    shape: 'line',
    points: run.points.map((p) => ({ t: p.t, value: p.energy / 1000 })),
  };
  const notes = run.trace.stopped ? ['The control network stopped before the end of the scenario.'] : [];
  return curvesOf(rig, model, flow, run.points, `Scenario ${rig.scenarios[index]!.name}`, [energy], notes);
}

function curvesOf(
  rig: Rig,
  model: FlowModel,
  flow: FlowFacts,
  points: readonly Point[],
  title: string,
  more: readonly FlowSeries[],
  notes: readonly string[],
): FlowCurves {
  const shown = shownBy(model);
  const drawn = rig.chambers.flatMap((_, k) => (model.vessels[k]!.volume > 0 ? [k] : []));
  const curve = (k: number, name: string, unit: string, of: (p: Point) => number | null): FlowSeries => ({
    id: `${name}:${rig.chambers[k]!.name}`,
    name: `${rig.chambers[k]!.name} ${name}`,
    unit,
    shape: 'line',
    points: points.flatMap((p) => {
      const value = of(p);
      return value === null ? [] : [{ t: p.t, value }];
    }),
  });
  const state = (p: Point, k: number): ChamberState => stateOf(model, k, p.mass[k]!, p.temperature[k]!);
  return {
    title,
    series: [
      ...drawn.map((k) => curve(k, shown.word, shown.unit, (p) => scaled(shown, state(p, k)))),
      ...drawn.map((k) => curve(k, 'mass', 'kg', (p) => p.mass[k]!)),
      ...more,
    ],
    marks: marksOf(rig, model, flow, shown),
    strokes: thinned(points),
    notes,
  };
}

const scaled = (shown: Shown, state: ChamberState): number | null => {
  const value = shown.of(state);
  return value === null ? null : value * shown.scale;
};

/** Limits, ceilings and the thresholds of sensors, in the unit they are drawn in. */
function marksOf(rig: Rig, model: FlowModel, flow: FlowFacts, shown: Shown): FlowMark[] {
  const marks: FlowMark[] = [];
  rig.chambers.forEach(({ limit, name }) => {
    if (!limit) return;
    const inKg = limit.kind === 'mass';
    if (!inKg && limit.kind !== shown.word) return;
    const value = limit.value.nominal * (inKg ? 1 : shown.scale);
    marks.push({
      id: `limit:${name}`,
      kind: 'limit',
      unit: inKg ? 'kg' : shown.unit,
      value,
      label: `limit of ${name}`,
    });
  });
  for (const { to, ceiling, ceilingNote } of flow.strokes[0]?.stacks ?? []) {
    const value = ceiling && !ceilingNote ? scaled(shown, ceiling) : null;
    const name = rig.chambers[to]!.name;
    if (value !== null)
      marks.push({ id: `ceiling:${name}`, kind: 'ceiling', unit: shown.unit, value, label: `ceiling of ${name}` });
  }
  for (const sensor of rig.sensors) {
    if (!sensor.on || (sensor.on.sensed !== shown.sensed && sensor.on.sensed !== 'mass')) continue;
    const inKg = sensor.on.sensed === 'mass';
    const value = sensor.on.value.nominal * (inKg ? 1 : shown.scale);
    marks.push({
      id: `sensor:${sensor.name}`,
      kind: 'target',
      unit: inKg ? 'kg' : shown.unit,
      value,
      label: `${sensor.name} ${sensor.on.side}`,
    });
  }
  return marks;
}

/** Most stroke numbers of a ruler. */
const RULER = 60;

function thinned(points: readonly Point[]): { t: number; number: number }[] {
  const all: { t: number; number: number }[] = [];
  let last = 0;
  for (const p of points) {
    if (p.strokes > last) all.push({ t: p.t, number: p.strokes });
    last = p.strokes;
  }
  const stride = Math.ceil(all.length / RULER);
  return all.filter((_, k) => k % stride === 0);
}

/** A scenario's trace, for lanes beneath its curves. */
export const scenarioTrace = (rig: Rig, index: number): CoupledRun['trace'] | null =>
  scenarioRun(rig, index)?.trace ?? null;
