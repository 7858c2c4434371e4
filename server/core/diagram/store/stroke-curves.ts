/** One repeating stroke as pressure against time: a run of the store panel that counts from the trigger, as the timing diagram does. */
import type { CoursePoint } from '../../flow/stroke-course';
import type { FlowModel } from '../../flow/rig-model';
import type { RigFacts } from '../../run/facts';
import { quickRun } from '../../run/scenario-run';
import { triggerText } from '../../timing/words';
import { formatNumber } from '../../units/units';
import type { Table } from '../kit/table';
import { timeText } from '../kit/time-text';
import { chamberMarks, type Series, type StoreModel } from './model';
import { say } from '../../words/say';

/** One for every stroke that has pressures; ids are those of the timing pictures. */
export const strokeStores = (facts: RigFacts): StoreModel[] =>
  facts.timing.strokes.flatMap((_, stroke) => strokeStore(facts, stroke) ?? []);

/** Pressures over one stroke; null where there are none: a packed medium, or a stroke that could not be followed. */
export function strokeStore(facts: RigFacts, stroke: number): StoreModel | null {
  const { rig, flow, timing } = facts;
  const model = quickRun(rig)?.model;
  const course = flow?.strokes.find((s) => s.stroke === stroke)?.course;
  if (!model || model.law.phase === 'packed' || !course) return null;
  const trigger = triggerText(timing.strokes[stroke]!);
  const { from, points, moments, strokes } = course;
  const series = [...chamberSeries(facts, points, from), ...pocketSeries(facts, model, points, from)];
  const times = moments.map((t) => t + from);
  return {
    id: `${rig.name}/${trigger}`,
    name: say`one stroke, ${trigger}`,
    title: rig.title || rig.name,
    subtitle: strokes > 1 ? say`Pressures over ${strokes} repeating strokes` : say`Pressures over one repeating stroke`,
    series,
    marks: chamberMarks(facts, model).filter((m) => m.unit === 'bar'),
    strokes: [],
    moments: times,
    notes: [say`Feeds and draws are off; the trigger’s chamber is at its threshold`, ...(flow?.doubts ?? [])],
    tables: [momentTable(series, times)],
  };
}

const seriesOf = (id: string, name: string, points: readonly CoursePoint[], cell: number, from: number): Series[] => {
  const breaks: number[] = [];
  const known: { t: number; value: number }[] = [];
  let isKnown = true;
  for (const { t, pressure } of points) {
    const value = pressure[cell] ?? Number.NaN;
    if (!Number.isFinite(value)) {
      isKnown = false;
      continue;
    }
    if (!isKnown && known.length > 0) breaks.push(known.length);
    isKnown = true;
    known.push({ t: t + from, value: value / 1e5 });
  }
  return known.length < 2 ? [] : [{ id, name, unit: 'bar', points: known, ...(breaks.length > 0 ? { breaks } : {}) }];
};

const chamberSeries = ({ rig }: RigFacts, points: readonly CoursePoint[], from: number): Series[] =>
  rig.chambers.flatMap(({ name, endless }, k) => (endless ? [] : seriesOf(`pressure:${name}`, name, points, k, from)));

const pocketSeries = (
  { rig }: RigFacts,
  { network }: FlowModel,
  points: readonly CoursePoint[],
  from: number,
): Series[] =>
  rig.doors.flatMap(({ name }, door) =>
    network.open[door]! > 0
      ? seriesOf(`pocket:${name}`, say`pocket of ${name}`, points, network.chambers + door, from)
      : [],
  );

/** What is read at each moment: the last point there, after everything that happens at once. */
function momentTable(series: readonly Series[], moments: readonly number[]): Table {
  const at = (s: Series, t: number): string => {
    const point = s.points.filter((p) => p.t === t).at(-1);
    return point ? formatNumber(point.value) : '–';
  };
  return {
    caption: say`Pressures at the moments of the stroke`,
    columns: [say`Time`, ...series.map((s) => `${s.name}, ${s.unit}`)],
    rows: moments.map((t) => ({
      id: `moment/${t}`,
      cells: [timeText(t), ...series.map((s) => at(s, t))],
      source: null,
    })),
  };
}
