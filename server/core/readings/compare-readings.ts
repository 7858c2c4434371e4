/**
 * Measured contents against those that the rig as written would have had: its doors move as they should, from the contents that the
 * readings show before the first of them does.
 */
import { modelFlow } from '../flow/flow-model';
import type { StrokePattern } from '../flow/pattern';
import type { Sensed } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { Trace } from '../timing/trace';
import type { Work } from '../work/work';
import { cutLog, cutStrokes } from './cut-log';
import { simulatorWork, startUnknowns } from './flow-forward';
import { fitLeastSquaresWork } from './least-squares';
import { lineTimes } from './line-times';
import type { LineOperation } from './line-tracks';
import type { RigLog } from './log';
import { movementsOf, quietStretches } from './movements';
import { sampledColumns, type SampledColumn } from './samples';
import { say } from '../words/say';

export interface ComparedReading {
  readonly chamber: number;
  readonly sensed: Sensed;
  /** As in the log. */
  readonly heading: string;
  readonly unit: string;
  /** SI; `t` in µs of the log's clock. Each is within where `low ≤ measured ≤ high`. */
  readonly points: readonly ReadingPoint[];
  readonly outside: number;
  /** The first of those outside; null where there is none. */
  readonly first: ReadingPoint | null;
  readonly within: boolean;
}

export interface ReadingPoint {
  readonly t: number;
  readonly measured: number;
  readonly expected: number;
  readonly low: number;
  readonly high: number;
}

export interface ComparedReadings {
  readonly readings: readonly ComparedReading[];
  /** What of the readings was not compared, and why. */
  readonly notes: readonly string[];
}

/** Beside three deviations of its noise, a reading may be off by this share of the range of its column (own choice: a sensor and the stated volumes are hardly known better). */
export const READING_SHARE = 0.03;
/** A column deviates where more than this share of its points is outside. */
const FEW = 0.01;

/** `trace`: what the doors should have done, its clock that of the log; `early`, `late`: how far an edge may be off, µs. */
export function* compareReadings(
  facts: RigFacts,
  log: RigLog,
  trace: Trace,
  room: { readonly early: number; readonly late: number },
  switched: readonly LineOperation[],
): Work<ComparedReadings> {
  const { rig } = facts;
  if (log.readings.length === 0) return { readings: [], notes: [] };
  const notes: string[] = [];
  const { model } = modelFlow(rig);
  if (!model)
    return {
      readings: [],
      notes: [
        say`The rig states too little about its contents to compute them: readings of chambers are not compared.`,
      ],
    };
  const whole = log;
  if (log.gaps.length > 0) log = cutLog(log, log.gaps[0]!.from);
  log = cutStrokes(rig, log);
  if (log.times.length < whole.times.length)
    notes.push(say`Readings of chambers are compared up to the first gap, or as many strokes as are worth computing.`);
  if (log.times.length < 3) return { readings: [], notes };
  const end = log.times.at(-1)! - log.times[0]!;
  const { doors } = movementsOf(rig, { ...log, doors: [] }, trace, new Set())!;
  const columns = sampledColumns(log, log.readings, quietStretches(doors, end), []);
  const unknowns = startUnknowns(model, rig, columns);
  const lines = lineTimes(facts, log, trace, switched);
  const pattern: StrokePattern = { doors, duration: end + 1, strokes: 1, repeats: false, lines };
  const along = (of: readonly SampledColumn[]) => simulatorWork(rig, model, pattern, of, unknowns);
  const starts = yield* fittedStarts(columns, unknowns, along, firstMove(doors, end));
  const found = yield* along(columns)(starts);
  return { readings: columns.map((c, k) => compared(c, found[k]!, log, room)), notes };
}

export const firstMove = (doors: StrokePattern['doors'], end: number): number =>
  Math.min(end, ...doors.map((d) => d.moves[0]?.t ?? Infinity));

/** Start contents by the readings before any door should move; where there are too few, by the first ones. */
export function* fittedStarts(
  columns: readonly SampledColumn[],
  unknowns: ReturnType<typeof startUnknowns>,
  along: (columns: readonly SampledColumn[]) => ReturnType<typeof simulatorWork>,
  before: number,
  iterations = 15,
): Work<readonly number[]> {
  const early = columns.map((c) => {
    const own = c.samples.filter((s) => s.t <= before);
    return { ...c, samples: own.length > 0 ? own : c.samples.slice(0, 1) };
  });
  const simulate = along(early);
  function* weighted(values: readonly number[]): Work<number[]> {
    const found = yield* simulate(values);
    return early.flatMap(({ samples, noise }, c) =>
      samples.map((s, k) => (Math.sqrt(s.count) * (found[c]![k]! - s.value)) / Math.max(noise, 1e-12)),
    );
  }
  const parameters = unknowns.map((u) => u.parameter);
  return (yield* fitLeastSquaresWork(weighted, parameters, iterations)).values;
}

function compared(
  { column, samples, noise }: SampledColumn,
  found: Float64Array,
  log: RigLog,
  { early, late }: { readonly early: number; readonly late: number },
): ComparedReading {
  const values = [...samples.map((s) => s.value), ...found];
  const range = values.reduce((a, b) => Math.max(a, b), -Infinity) - values.reduce((a, b) => Math.min(a, b), Infinity);
  const points = samples.map((s, k): ReadingPoint => {
    let [low, high] = [found[k]!, found[k]!];
    // A door that moves a little earlier or later: what is expected then is as good.
    const near = (i: number): void => {
      low = Math.min(low, found[i]!);
      high = Math.max(high, found[i]!);
    };
    for (let i = k; i > 0 && samples[i]!.t > s.t - late; i--) near(i - 1);
    for (let i = k; i + 1 < samples.length && samples[i]!.t < s.t + early; i++) near(i + 1);
    const allowed = (3 * noise) / Math.sqrt(s.count) + READING_SHARE * range;
    return { t: s.t + log.times[0]!, measured: s.value, expected: found[k]!, low: low - allowed, high: high + allowed };
  });
  const outside = points.filter((p) => p.measured < p.low || p.measured > p.high);
  const within = outside.length <= FEW * points.length;
  const { chamber, sensed, heading, unit } = column;
  return {
    chamber,
    sensed,
    heading,
    unit,
    points,
    outside: outside.length,
    first: within ? null : outside[0]!,
    within,
  };
}
