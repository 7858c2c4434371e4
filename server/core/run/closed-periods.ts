/**
 * Periods of a followed run that are counted, not followed. A rig left to itself comes to do the same again and again: once the whole state
 * (control network, doors, sensors, contents of chambers and pockets) has come back to where it was, and a further period, followed to be
 * sure, has brought it there again, what follows is that period over and over until the scenario intervenes.
 *
 * Contents come back nearly, not exactly. What two periods in a row changed says how fast the changes die away (as a geometric row), and
 * with it how far the contents and the moments of all that is left out can still go from the period repeated. Where that is more
 * than `ERROR` or `DRIFT` the run is followed on (`LONG`: up to where it has cost much). Both bounds are estimates: changes that die away
 * more slowly than the two periods show, because a faster one covers them, are not seen.
 */
import type { Contents } from '../flow/contents';
import type { RunPoint } from '../flow/facts';
import type { Engine, RecordRows } from '../timing/engine';
import type { Mark, Recorder } from './record';

/** Contents (kg, K) that agree to this part may be the same again. */
const SAME = 1e-6;
/** The same of a run that has taken long. */
const SAME_OF_LONG = 1e-4;
/** Relative error of contents that is allowed in what is left out. */
const ERROR = 1e-5;
/**
 * A run that has taken this many units and still changes from period to period, less each time, is counted too where what is still to come is
 * at most this part of what is held (twice the estimate): said as its error, and better than a run that ends before its time.
 */
export const LONG = 2_000_000;
const ERROR_OF_LONG = 2e-3;
const SAFETY = 2;
/** µs by which moments may be off at its end, and as part of a period. */
const DRIFT = 50_000;
const DRIFT_PART = 1e-3;
/** µs by which two equal periods may differ: each end is a whole microsecond. */
const ROUNDING = 2;
/** Periods that are worth it. */
const LEAST = 2;
/** States kept to be compared with, of one state of the control network. */
const KEPT = 2_000;
/** Edges of a run beyond which no period is repeated any more: they are all kept. */
const EDGES = 1_500_000;

/** A stretch of a run made of one period, over and over. Times in µs. */
export interface ClosedPeriod {
  /** The last period followed began at `from`; from its end until `until` it is repeated `times` times. */
  readonly from: number;
  readonly period: number;
  readonly until: number;
  readonly times: number;
  /** How far contents can be off, as a part of what is held (an estimate), and moments at its end, µs. */
  readonly error: number;
  readonly drift: number;
}

/** The run as it stands. `others`: what else decides the future, as a text. */
export interface RunNow {
  readonly t: number;
  readonly engine: Engine;
  readonly contents: Contents;
  readonly record: Recorder;
  readonly strokes: number[];
  readonly others: string;
  /** Units of work so far. */
  readonly units: number;
}

interface Sample {
  readonly t: number;
  readonly rows: RecordRows;
  readonly strokes: number;
  readonly state: Float64Array;
  readonly mark: Mark;
  /** kg in all chambers and pockets. */
  readonly mass: number;
  /** J since the start of the run. */
  readonly energy: number;
}

/** A state that has come back, as it was when the period began that is followed now. */
interface Candidate {
  readonly key: string;
  /** The period before. */
  readonly before: Sample;
  readonly begin: Sample;
  /** Samples of that key in a period, and those still to come. */
  readonly samples: number;
  left: number;
  readonly points: { readonly point: RunPoint; readonly always: boolean }[];
}

export class ClosedPeriods {
  readonly all: ClosedPeriod[] = [];
  private readonly seen = new Map<string, Sample[]>();
  private candidate: Candidate | null = null;

  /** @param long units of work after which a run has taken long */
  constructor(
    private readonly spacing: number,
    private readonly long: number,
  ) {}

  /** Something came from outside: what was seen before comes back no more by itself. */
  forget(): void {
    this.seen.clear();
    this.candidate = null;
  }

  /** Takes a moment of the run, so that a period can be laid down again point by point. `always`: it is kept however close to the last. */
  follow({ record, t, strokes }: RunNow, always: boolean): void {
    this.candidate?.points.push({ point: record.point(t, strokes.length), always });
  }

  /**
   * Looks whether the state has come back, and repeats the last period as often as it fits before `until`. Returns by how many µs the run
   * has gone on, 0 where it has not.
   */
  look(now: RunNow, until: number): number {
    const key = `${now.engine.key()} ${now.others}`;
    const sample = sampleOf(now);
    const seen = this.seen.get(key) ?? [];
    this.seen.set(key, seen);
    const closed = this.candidate?.key === key ? this.again(now, sample, until) : 0;
    if (closed > 0) return closed;
    if (this.candidate === null) {
      const before = lastLike(seen, sample.state, now.units > this.long ? SAME_OF_LONG : SAME);
      if (before >= 0) this.begin(key, seen[before]!, sample, seen.length - before);
    }
    seen.push(sample);
    if (seen.length >= 2 * KEPT) seen.splice(0, KEPT);
    return 0;
  }

  private begin(key: string, before: Sample, begin: Sample, samples: number): void {
    this.candidate = { key, before, begin, samples, left: samples, points: [] };
  }

  /** The state of the candidate's key once more. */
  private again(now: RunNow, end: Sample, until: number): number {
    const candidate = this.candidate!;
    if (--candidate.left > 0) return 0;
    const { key, before, begin, samples } = candidate;
    this.candidate = null;
    if (
      !(distance(begin.state, end.state) <= (now.units > this.long ? SAME_OF_LONG : SAME)) ||
      !sameEdges(now.engine, before, begin, end)
    )
      return 0;
    const closed = closing(candidate, end, until, now.units > this.long);
    if (closed) return this.repeat(now, candidate, end, closed);
    this.begin(key, begin, end, samples);
    return 0;
  }

  private repeat({ engine, record, strokes }: RunNow, candidate: Candidate, end: Sample, closed: ClosedPeriod): number {
    const { begin, points } = candidate;
    const { period } = closed;
    const perPeriod = end.rows.edges - begin.rows.edges;
    const times = Math.min(closed.times, Math.floor((EDGES - end.rows.edges) / Math.max(1, perPeriod)));
    if (times < LEAST || !engine.repeat(begin.rows, period, times)) return 0;
    const own = strokes.slice(begin.strokes, end.strokes);
    for (let n = 1; n <= times; n++) for (const t of own) strokes.push(t + n * period);
    const joules = end.energy - begin.energy;
    record.repeat(begin.mark, times, end.mass - begin.mass);
    for (let n = 1; n <= times; n++) {
      for (const { point, always } of points) {
        const last = record.points[record.points.length - 1];
        const t = point.t + n * period;
        if (last && (last.t >= t || (!always && t - last.t < this.spacing))) continue;
        const energy = point.energy + n * joules;
        record.points.push({ ...point, t, strokes: point.strokes + n * own.length, energy });
      }
    }
    this.all.push({ ...closed, times, until: end.t + times * period });
    this.forget();
    return times * period;
  }
}

function sampleOf({ t, engine, contents: { mass, temperature }, record, strokes }: RunNow): Sample {
  const state = new Float64Array(mass.length + temperature.length);
  state.set(mass);
  state.set(temperature, mass.length);
  const mark = record.now(t, strokes.length);
  const held = mass.reduce((sum, m) => sum + m, 0);
  return { t, rows: engine.rows, strokes: strokes.length, state, mark, mass: held, energy: record.energy().total };
}

/** How often the period from `begin` to `end` fits before `until`, and how far from the truth that can be; null where it is not to be repeated. */
function closing({ before, begin }: Candidate, end: Sample, until: number, isLong: boolean): ClosedPeriod | null {
  const period = end.t - begin.t;
  const times = Math.floor((until - end.t) / period);
  if (times < LEAST) return null;
  const [first, second] = [distance(before.state, begin.state), distance(begin.state, end.state)];
  // What one period stores for good is counted with every one of them, so the error of the sums is that many times what it changed.
  const ratio = second / first;
  const further = ratio < 1 ? Math.min(times, ratio / (1 - ratio)) : times;
  const strict = second * times;
  const isStrict = strict <= ERROR;
  const error = isStrict ? strict : SAFETY * second * further;
  const change = Math.abs(period - (begin.t - before.t));
  const drift = times * (change <= ROUNDING ? change : change * further);
  if (!(isStrict || (isLong && ratio < 1 && error <= ERROR_OF_LONG)) || drift > Math.min(DRIFT, DRIFT_PART * period))
    return null;
  return { from: begin.t, period, until: end.t + times * period, times, error, drift };
}

/** Greatest difference of two states, as a part of what is held. */
function distance(a: Float64Array, b: Float64Array): number {
  let most = 0;
  for (let k = 0; k < a.length; k++) {
    const difference = Math.abs(a[k]! - b[k]!);
    if (difference > 0) most = Math.max(most, difference / Math.max(Math.abs(a[k]!), Math.abs(b[k]!)));
  }
  return most;
}

/** The last of these states that is like `state`, as an index; -1 where none is. */
function lastLike(seen: readonly Sample[], state: Float64Array, part: number): number {
  for (let k = seen.length - 1; k >= Math.max(0, seen.length - KEPT); k--) {
    const other = seen[k]!.state;
    let same = true;
    for (let i = 0; same && i < state.length; i++) {
      same = Math.abs(state[i]! - other[i]!) <= part * Math.abs(state[i]!);
    }
    if (same) return k;
  }
  return -1;
}

/** Whether the same happens in the same order from `begin` to `end` as from `before` to `begin`. */
function sameEdges(engine: Engine, before: Sample, begin: Sample, end: Sample): boolean {
  const count = end.rows.edges - begin.rows.edges;
  if (begin.rows.edges - before.rows.edges !== count) return false;
  if (begin.rows.moves - before.rows.moves !== end.rows.moves - begin.rows.moves) return false;
  for (let k = 0; k < count; k++) {
    if (engine.edgeChange(before.rows.edges + k) !== engine.edgeChange(begin.rows.edges + k)) return false;
  }
  return true;
}
