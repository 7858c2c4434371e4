/** Pictures of a stroke that are not over time: mass per stroke against what the store holds, and pressure against volume. Plain data. */
import type { GainPoints, StackStroke, StrokeFlow } from '../../flow/facts';
import type { RigFacts } from '../../run/facts';
import { quickRun } from '../../run/scenario-run';
import { triggerText } from '../../timing/words';
import { formatNumber } from '../../units/units';
import { chamberReading, type ChamberReading } from '../kit/chamber-readings';
import type { Table } from '../kit/table';
import { chamberMarks, type SeriesMark } from './model';
import { say } from '../../words/say';

export interface PlotAxis {
  /** `pressure of store` */
  readonly name: string;
  readonly unit: string;
}

export interface PlotCurve {
  readonly id: string;
  readonly name: string;
  /** In the units of the axes, in the order in which they are run through. */
  readonly points: readonly { readonly x: number; readonly y: number }[];
}

export interface PlotModel {
  /** `RIG/mass per stroke, ready on` */
  readonly id: string;
  readonly name: string;
  readonly title: string;
  readonly subtitle: string;
  readonly x: PlotAxis;
  readonly y: PlotAxis;
  readonly curves: readonly PlotCurve[];
  /** Values of x that mean something. */
  readonly marks: readonly SeriesMark[];
  /** What it shows, in one sentence with its numbers; why it is empty where it is. */
  readonly sentence: string;
  readonly notes: readonly string[];
  readonly tables: readonly Table[];
}

/** Of every stroke: what it moves by what the store holds, then pressure against volume. Empty where nothing is known of flow. */
export function plotModels(facts: RigFacts): PlotModel[] {
  if (!facts.flow?.medium) return [];
  return facts.timing.strokes.flatMap((_, stroke) => [gainPlot(facts, stroke), volumePlot(facts, stroke)]);
}

const named = ({ rig, timing }: RigFacts, stroke: number, what: string) => {
  const name = `${what}, ${triggerText(timing.strokes[stroke]!)}`;
  return { id: `${rig.name}/${name}`, name, title: rig.title || rig.name };
};

/** Why there are no figures of a stroke; null where there are. */
export function whyNoStroke({ flow }: RigFacts, stroke: number): string | null {
  if (flow?.strokes.some((s) => s.stroke === stroke)) return null;
  const why = flow?.notComputed.find((s) => s.stroke === stroke)?.why;
  return say`Nothing to draw: ${why ?? say`the stroke could not be followed to its end`}.`;
}

const strokeFlowOf = ({ flow }: RigFacts, stroke: number): StrokeFlow | null =>
  flow?.strokes.find((s) => s.stroke === stroke) ?? null;

// ---------------------------------------------------------------- mass per stroke

interface Gain {
  readonly chamber: string;
  readonly reading: ChamberReading;
  readonly curve: GainPoints;
}

/** What one stroke moves into each chamber, by what that holds. The rig has a flow model. */
export function gainPlot(facts: RigFacts, stroke: number): PlotModel {
  const { rig } = facts;
  const { model } = quickRun(rig)!;
  const stacks = strokeFlowOf(facts, stroke)?.stacks ?? [];
  const moved = stacks.map((stack): Gain & { readonly stack: StackStroke } => ({
    stack,
    chamber: rig.chambers[stack.to]!.name,
    reading: chamberReading(rig, model, stack.to),
    curve: stack.curve,
  }));
  const drawn = moved.filter((gain) => gain.curve.points.length > 1);
  const reading = (drawn[0] ?? moved[0])?.reading;
  // One axis has one unit: a level and a pressure are not drawn over each other.
  const shown = drawn.filter((gain) => gain.reading.unit === reading?.unit);
  const most = Math.max(0, ...shown.flatMap(({ curve }) => curve.points.map((p) => Math.abs(p.gain))));
  const [unit, size] = most >= 0.1 ? ['kg', 1] : ['g', 1e-3];
  const curves = shown.map((gain): PlotCurve => ({
    id: `gain:${gain.chamber}/${gain.stack.stack}`,
    name: gain.chamber,
    points: gain.curve.points.map(({ state, gain: kg }) => ({
      x: gain.reading.of(state.mass, state.temperature),
      y: kg / size,
    })),
  }));
  const names = [...new Set(shown.map((gain) => gain.chamber))];
  const x = {
    name: say`${reading?.kind ?? say`pressure`} of ${names.join(', ') || say`the store`}`,
    unit: reading?.unit ?? 'bar',
  };
  const y = { name: say`mass per stroke`, unit };
  const notes = moved.flatMap(({ chamber, curve }) =>
    curve.note === '' ? [] : [say`Into ${chamber}: ${curve.note}.`],
  );
  return {
    ...named(facts, stroke, say`mass per stroke`),
    subtitle: say`Mass per repeating stroke by what the store holds, the other chambers as the trigger comes`,
    x,
    y,
    curves,
    marks: chamberMarks(facts, model).filter((m) => m.unit === x.unit && names.includes(m.chamber)),
    sentence:
      curves.length === 0
        ? (whyNoStroke(facts, stroke) ?? say`Nothing to draw. ${notes.join(' ')}`.trim())
        : curves.map((c) => gainSentence(c, x, y)).join(' '),
    notes,
    tables: curves.map((curve) => plotTable(curve, x, y)),
  };
}

function gainSentence({ name, points }: PlotCurve, x: PlotAxis, y: PlotAxis): string {
  const [first, last] = [points[0]!, points.at(-1)!];
  const at = (p: { x: number; y: number }): string =>
    `${formatNumber(p.y)} ${y.unit} at ${formatNumber(p.x)} ${x.unit}`;
  return say`A stroke moves ${at(first)} into ${name} and ${at(last)}.`;
}

// ---------------------------------------------------------------- pressure against volume

/** The pockets of one stroke. The rig has a flow model. */
export function volumePlot(facts: RigFacts, stroke: number): PlotModel {
  const { rig } = facts;
  const { model } = quickRun(rig)!;
  const course = strokeFlowOf(facts, stroke)?.course ?? null;
  const { chambers } = model.network;
  const isPacked = model.law.phase === 'packed';
  const [unit, size] = Math.max(...model.network.open) >= 1 ? ['m3', 1] : ['L', 1e-3];
  const curves = (isPacked ? [] : rig.doors).flatMap(({ name }, door): PlotCurve[] => {
    const cell = chambers + door;
    const points = (course?.points ?? []).flatMap(({ pressure, volume }) =>
      pressure[cell] === null || !Number.isFinite(pressure[cell])
        ? []
        : [{ x: volume[cell]! / size, y: pressure[cell]! / 1e5 }],
    );
    const turns = points.some((p) => p.x !== points[0]!.x);
    return turns ? [{ id: `pocket:${name}`, name, points: thinned(points) }] : [];
  });
  const [x, y] = [
    { name: say`volume of the pocket`, unit },
    { name: 'pressure', unit: 'bar' },
  ];
  return {
    ...named(facts, stroke, say`pressure against volume`),
    subtitle: say`Pockets over one repeating stroke; what a loop encloses is the work of its door`,
    x,
    y,
    curves,
    marks: [],
    sentence: volumeSentence(curves) ?? whyNoVolume(facts, stroke, isPacked),
    notes: curves.length === 0 ? [] : [say`Feeds and draws are off; the trigger’s chamber is at its threshold`],
    tables: curves.map((curve) => plotTable(curve, x, y)),
  };
}

function volumeSentence(curves: readonly PlotCurve[]): string | null {
  if (curves.length === 0) return null;
  const values = curves.flatMap((c) => c.points.map((p) => p.y));
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const names = curves.map((c) => c.name).join(', ');
  return say`Over one repeating stroke the pockets of ${names} go from ${formatNumber(low)} to ${formatNumber(high)} bar.`;
}

/** Why a stroke has no pressures over time or volume. */
export function whyNoPressures(facts: RigFacts, stroke: number, isPacked: boolean): string {
  if (isPacked) return say`Nothing to draw: a packed medium has no pressure.`;
  return whyNoStroke(facts, stroke) ?? say`Nothing to draw: following the stroke in small steps costs too much.`;
}

function whyNoVolume(facts: RigFacts, stroke: number, isPacked: boolean): string {
  const course = strokeFlowOf(facts, stroke)?.course;
  return course && !isPacked
    ? say`Nothing to draw: no door has a pocket whose volume changes.`
    : whyNoPressures(facts, stroke, isPacked);
}

/** Without points at which the pocket stands still between two moments at which it does the same. */
function thinned<T extends { readonly x: number; readonly y: number }>(points: readonly T[]): T[] {
  return points.filter((p, k) => {
    const [before, next] = [points[k - 1], points[k + 1]];
    return !before || !next || p.x !== before.x || p.y !== before.y || p.x !== next.x || p.y !== next.y;
  });
}

/** Rows of a table, at most. */
const MOST_ROWS = 40;

function plotTable({ id, name, points }: PlotCurve, x: PlotAxis, y: PlotAxis): Table {
  const step = Math.max(1, Math.ceil(points.length / MOST_ROWS));
  const rows = points.flatMap((p, k) =>
    k % step === 0 || k === points.length - 1
      ? [{ id: `${id}/${k}`, cells: [formatNumber(p.x), formatNumber(p.y)], source: null }]
      : [],
  );
  return { caption: name, columns: [`${x.name}, ${x.unit}`, `${y.name}, ${y.unit}`], rows };
}
