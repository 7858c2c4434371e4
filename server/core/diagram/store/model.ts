/** Curves over time and strokes as plain data: pressure, level, density, mass and energy, with target, limit and ceiling marks. */
import type { FlowModel } from '../../flow/rig-model';
import type { RigFacts } from '../../run/facts';
import { quickRun, scenarioRun } from '../../run/scenario-run';
import type { Rig } from '../../model/rig';
import { formatCount, formatNumber } from '../../units/units';
import { chamberReading } from '../kit/chamber-readings';
import type { Table } from '../kit/table';
import { FOLLOWED, momentText, timeText } from '../kit/time-text';
import { say } from '../../words/say';
import { scenarioText } from '../../timing/words';
import { noStroke } from '../../timing/no-stroke';

export interface Series {
  readonly id: string;
  readonly name: string;
  /** As printed: `bar`, `kg`, `kJ`, … Series with one unit share an axis. */
  readonly unit: string;
  /** Rising in `t` (microseconds); values already in `unit`. */
  readonly points: readonly { readonly t: number; readonly value: number }[];
  /** Places of points before which nothing is known since the point before: the line begins anew. Absent: nowhere. */
  readonly breaks?: readonly number[];
}

export interface SeriesMark {
  readonly id: string;
  /** `ceiling`: where a stroke moves nothing any more. */
  readonly kind: 'target' | 'limit' | 'ceiling';
  /** Unit of its axis, and value in it. */
  readonly unit: string;
  readonly value: number;
  readonly label: string;
  /** Name of its chamber. */
  readonly chamber: string;
}

export interface StoreModel {
  /** `RIG/filling` or `RIG/scenario NAME` */
  readonly id: string;
  /** `By itself`, `scenario morning` */
  readonly name: string;
  readonly title: string;
  readonly subtitle: string;
  readonly series: readonly Series[];
  readonly marks: readonly SeriesMark[];
  /** Times of strokes with their numbers, thinned. */
  readonly strokes: readonly { readonly t: number; readonly number: number }[];
  /** Moments that the cursor goes to; absent: those of `strokes`. */
  readonly moments?: readonly number[];
  readonly notes: readonly string[];
  readonly tables: readonly Table[];
}

/** A moment of some run: what filling and coupled runs have in common. */
interface Moment {
  readonly t: number;
  readonly strokes: number;
  readonly mass: readonly number[];
  readonly temperature: readonly number[];
  /** J since the start, where it is known. */
  readonly energy?: number;
}

/** More points than this are thinned: no screen shows them apart. */
const MOST_POINTS = 800;

/** The rig by itself, and each of its scenarios; empty where there is no flow to speak of. Runs the flow engine: ask only when shown. */
export function storeModels(facts: RigFacts): StoreModel[] {
  const { rig, flow } = facts;
  const model = quickRun(rig)?.model;
  if (!flow || !model) return [];
  const filling = flow.filling;
  // A run of no length has no curve.
  const own =
    filling &&
    filling.seconds > 0 &&
    storeModel(
      facts,
      model,
      say`By itself`,
      fillingWords(filling.ended, filling.strokes, filling.seconds),
      filling.points,
    );
  const scenarios = rig.scenarios.flatMap((scenario, k) => {
    const run = scenarioRun(rig, k);
    const words = say`Scenario ${scenario.name}, sensors and contents together`;
    return run ? [storeModel(facts, model, scenarioText(scenario), words, run.points)] : [];
  });
  return own ? [own, ...scenarios] : scenarios;
}

/** Why a rig has no curves, and what would give some. */
export function whyNoStores({ rig, timing, flow }: RigFacts): string {
  if (!rig.medium)
    return say`No curves: the rig names no medium, so nothing is known of what its chambers hold. Write one, such as medium air.`;
  if (rig.stacks.length === 0) return say`No curves: no stack says which doors lead from chamber to chamber.`;
  const first = flow?.medium ? undefined : flow?.problems.find((p) => p.severity !== 'warning');
  if (first) return say`No curves: ${first.message}`;
  if (flow?.filling?.ended === 'never')
    return say`No curves: with feeds and draws on, no stroke ever starts. Feed a chamber up to what its sensor waits for, or state a scenario.`;
  const none = say`No curves: no change of a sensor or switch moves a door, and there is no scenario to follow.`;
  return noStroke(rig.name, timing, none);
}

const ENDINGS: Record<string, () => string> = {
  stopped: () => say`until no further stroke starts`,
  steady: () => say`until nothing changes from stroke to stroke`,
  target: () => say`until the target`,
  budget: () => say`as far as was computed`,
  round: () => say`until the same states come round again`,
  never: () => say`no stroke ever starts`,
  overfull: () => say`until a chamber is far over its limit or overflows`,
};

function fillingWords(ended: string, strokes: number, seconds: number): string {
  const length = timeText(Math.round(seconds) * 1_000_000);
  return say`Feeds and draws on, ${formatCount(strokes, 'stroke')} in ${length}, ${ENDINGS[ended]?.() ?? say`until it ends`}`;
}

function storeModel(
  facts: RigFacts,
  model: FlowModel,
  name: string,
  subtitle: string,
  all: readonly Moment[],
): StoreModel {
  const { rig } = facts;
  const moments = thinned(all);
  const series = [...readingSeries(rig, model, moments), ...massSeries(rig, moments), ...energySeries(moments)];
  const marks = chamberMarks(facts, model);
  const units = new Set(series.map((s) => s.unit));
  return {
    id: `${rig.name}/${name}`,
    name,
    title: rig.title || rig.name,
    subtitle,
    series,
    marks: marks.filter((m) => units.has(m.unit)),
    strokes: moments.map((m) => ({ t: m.t, number: m.strokes })),
    notes: facts.flow?.doubts ?? [],
    tables: [curveTable(series, moments)],
  };
}

/** Evenly chosen moments, the first and the last among them. */
function thinned(moments: readonly Moment[]): readonly Moment[] {
  if (moments.length <= MOST_POINTS) return moments;
  const step = (moments.length - 1) / (MOST_POINTS - 1);
  return Array.from({ length: MOST_POINTS }, (_, k) => moments[Math.round(k * step)]!);
}

function readingSeries(rig: Rig, model: FlowModel, moments: readonly Moment[]): Series[] {
  return rig.chambers.flatMap((chamber, k) => {
    if (chamber.endless) return [];
    const reading = chamberReading(rig, model, k);
    const points = moments.map((m) => ({ t: m.t, value: reading.of(m.mass[k]!, m.temperature[k]!) }));
    return [{ id: `${reading.kind}:${chamber.name}`, name: chamber.name, unit: reading.unit, points }];
  });
}

function massSeries(rig: Rig, moments: readonly Moment[]): Series[] {
  return rig.chambers.flatMap((chamber, k) => {
    if (chamber.endless) return [];
    const points = moments.map((m) => ({ t: m.t, value: m.mass[k]! }));
    return [{ id: `mass:${chamber.name}`, name: chamber.name, unit: 'kg', points }];
  });
}

function energySeries(moments: readonly Moment[]): Series[] {
  if (!moments.some((m) => m.energy !== undefined && m.energy > 0)) return [];
  const most = Math.max(...moments.map((m) => m.energy ?? 0));
  const [unit, size] = most >= 1e7 ? (['MJ', 1e6] as const) : (['kJ', 1e3] as const);
  const points = moments.map((m) => ({ t: m.t, value: (m.energy ?? 0) / size }));
  return [{ id: 'energy', name: say`energy put in`, unit, points }];
}

// ---------------------------------------------------------------- marks

const UNITS = {
  pressure: { unit: 'bar', size: 1e5 },
  density: { unit: 'kg/m3', size: 1 },
  mass: { unit: 'kg', size: 1 },
} as const;

/** Limits, ceilings and targets of all chambers. */
export const chamberMarks = (facts: RigFacts, model: FlowModel): SeriesMark[] => [
  ...limitMarks(facts.rig),
  ...ceilingMarks(facts, model),
  ...targetMarks(facts.rig),
];

function limitMarks(rig: Rig): SeriesMark[] {
  return rig.chambers.flatMap((chamber) => {
    if (!chamber.limit) return [];
    const { unit, size } = UNITS[chamber.limit.kind];
    const value = chamber.limit.value.nominal / size;
    return [
      {
        id: `limit:${chamber.name}`,
        kind: 'limit' as const,
        unit,
        value,
        label: say`${chamber.name}: limit ${formatNumber(value)} ${unit}`,
        chamber: chamber.name,
      },
    ];
  });
}

/** Where a stroke moves nothing, for the last chamber of each stack. */
function ceilingMarks(facts: RigFacts, model: FlowModel): SeriesMark[] {
  const found = new Map<string, SeriesMark>();
  for (const { ceiling, ceilingNote, to } of facts.flow?.strokes.flatMap((s) => s.stacks) ?? []) {
    const chamber = facts.rig.chambers[to];
    // What the table withholds, with its reason, is not drawn either.
    if (!ceiling || ceilingNote !== '' || !chamber) continue;
    const reading = chamberReading(facts.rig, model, to);
    const value = reading.of(ceiling.mass, ceiling.temperature);
    const label = say`${chamber.name}: ceiling ${formatNumber(value)} ${reading.unit}`;
    const { name } = chamber;
    found.set(name, { id: `ceiling:${name}`, kind: 'ceiling', unit: reading.unit, value, label, chamber: name });
  }
  return [...found.values()];
}

const TARGETS: Record<string, { unit: string; size: number } | undefined> = {
  ...UNITS,
  length: { unit: 'm', size: 1 },
};

/** Targets named in requirements such as `time_to(store, 6 bar)`. */
function targetMarks(rig: Rig): SeriesMark[] {
  const found = new Map<string, SeriesMark>();
  for (const requirement of rig.requirements) {
    const chamber = requirement.args.find((a) => a.kind === 'item' && a.of === 'chamber');
    const target = requirement.args.find((a) => a.kind === 'quantity');
    if (chamber?.kind !== 'item' || target?.kind !== 'quantity') continue;
    const scale = TARGETS[target.dimension];
    if (!scale) continue;
    const value = target.value.nominal / scale.size;
    const id = `target:${chamber.name}/${value}`;
    found.set(id, {
      id,
      kind: 'target',
      unit: scale.unit,
      value,
      label: say`${chamber.name}: target ${formatNumber(value)} ${scale.unit}`,
      chamber: chamber.name,
    });
  }
  return [...found.values()];
}

// ---------------------------------------------------------------- table

/** Rows of the table: a few dozen moments say what the curves say. */
const MOST_ROWS = 40;

function curveTable(series: readonly Series[], moments: readonly Moment[]): Table {
  const step = Math.max(1, Math.ceil(moments.length / MOST_ROWS));
  const rows = moments.flatMap((moment, k) => {
    if (k % step !== 0 && k !== moments.length - 1) return [];
    const cells = [
      momentText(moment.t, FOLLOWED),
      String(moment.strokes),
      ...series.map((s) => formatNumber(s.points[k]!.value)),
    ];
    return [{ id: `moment/${moment.t}`, cells, source: null }];
  });
  return {
    caption: say`Curves`,
    columns: [say`Time`, say`Strokes`, ...series.map((s) => `${s.name}, ${s.unit}`)],
    rows,
  };
}
