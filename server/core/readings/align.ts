/** Laying measured edges beside expected ones: which belongs to which, and where the clock of the log has its zero. */
import type { Trace } from '../timing/trace';
import type { RigLog } from './log';
import type { HalfEdge } from './measured-edges';
import { finish, type Work } from '../work/work';
import { medianOf } from './statistics';
import { expectedOf, measuredTracks, standsAt, type ExpectedEdge, type MeasuredTrack } from './tracks';

export interface EdgePair {
  readonly of: 'door' | 'signal';
  /** Of the door, or of the net. */
  readonly index: number;
  /** Null: expected and not seen. Times of the log. */
  readonly measured: HalfEdge | null;
  /** Null: seen and not due. Times of the trace. */
  readonly expected: ExpectedEdge | null;
}

export interface Alignment {
  /** Time of the log minus time of the trace, µs. */
  readonly offset: number;
  readonly pairs: readonly EdgePair[];
  /** Negative logarithm of the likelihood, up to a constant. */
  readonly cost: number;
}

export interface MeasuredLog {
  readonly log: RigLog;
  readonly tracks: readonly MeasuredTrack[];
  /** How well an edge of this log is known, µs. */
  readonly sigma: number;
  /** Time of the log minus time of the trace where it is known: a rig driven by its logged inputs. */
  readonly offset: number | null;
}

/** Standard deviation of an edge: half a usual step, never below this (switching and clock of a common logger; no source). */
const LEAST_SIGMA = 15_000;
/** Cost of an edge without a partner. A pair never costs more than two of them. */
const ALONE = 12;
const MOST_OFFSETS = 120;
/** Larger tables of edges are cut to their beginnings. */
const MOST_EDGES = 400;

/** `given`: nets that drive the rig as they were logged; then the clock of the trace is that of the log. */
export function measuredLog(log: RigLog, given: ReadonlySet<number> = new Set()): MeasuredLog {
  return {
    log,
    tracks: measuredTracks(log, given, MOST_EDGES),
    sigma: Math.max(LEAST_SIGMA, log.step / 2),
    offset: given.size > 0 ? log.times[0]! : null,
  };
}

/** The offset and the pairs under which the log is likeliest to come from the trace. `loose`: a shifted edge stays a pair. */
export const align = (...asked: Parameters<typeof alignWork>): Alignment => finish(alignWork(...asked));

/** The same in steps of one offset each. */
export function* alignWork(measured: MeasuredLog, trace: Trace, loose = false): Work<Alignment> {
  const all = measured.tracks.map((track) => expectedOf(track, trace));
  const at = (offset: number): Alignment => alignedAt(measured, trace, all, offset, loose);
  if (measured.offset !== null) {
    const laid = at(measured.offset);
    yield;
    const shift = loose ? 0 : sharedShift(laid, measured);
    const shifted = shift === 0 ? laid : at(measured.offset + shift);
    return shifted.cost < laid.cost ? shifted : laid;
  }
  const [from, to] = [measured.log.times[0]!, measured.log.times.at(-1)!];
  const score = (a: Alignment): number => (loose ? a.cost - ALONE * goodBeginning(a, measured.sigma) : a.cost);
  let best = at(from <= 0 && to >= 0 ? 0 : from);
  for (const offset of offsetsOf(measured.tracks, all)) {
    const tried = at(offset);
    if (score(tried) < score(best) - 1e-9) best = tried;
    yield;
  }
  const residuals = best.pairs.flatMap((p) =>
    p.measured && p.expected ? [p.measured.t - p.expected.t - best.offset] : [],
  );
  const close = residuals.filter((r) => Math.abs(r) < 4 * measured.sigma);
  if (close.length === 0) return best;
  const refined = at(best.offset + Math.round(close.reduce((a, b) => a + b, 0) / close.length));
  return score(refined) < score(best) ? refined : best;
}

/** By what all edges of a rig driven as logged are off together, µs: its inputs are known to half a step. */
export function sharedShift({ pairs, offset }: Alignment, { log, sigma }: MeasuredLog): number {
  const off = pairs.flatMap((p) => (p.measured && p.expected ? [p.measured.t - p.expected.t - offset] : []));
  const close = off.filter((r) => Math.abs(r) < 4 * sigma);
  const most = Math.round(log.step / 2);
  return close.length === 0 ? 0 : Math.max(-most, Math.min(most, Math.round(medianOf(close))));
}

/** Edges on time before the first that is not: a deviation is to be found where it begins. */
function goodBeginning({ pairs, offset }: Alignment, sigma: number): number {
  const times = pairs.map((p) => ({
    t: p.expected ? p.expected.t + offset : p.measured!.t,
    good: p.measured !== null && p.expected !== null && Math.abs(p.measured.t - p.expected.t - offset) < 4 * sigma,
  }));
  times.sort((a, b) => a.t - b.t);
  const first = times.findIndex((e) => !e.good);
  return first < 0 ? times.length : first;
}

function alignedAt(
  { log, tracks, sigma }: MeasuredLog,
  trace: Trace,
  all: readonly (readonly ExpectedEdge[])[],
  offset: number,
  loose: boolean,
): Alignment {
  const [from, to] = [log.times[0]!, log.times.at(-1)!];
  // An edge due within the first and the last moment of the log may lie just outside it.
  const margin = 3 * sigma;
  const pairs: EdgePair[] = [];
  let cost = 0;
  tracks.forEach((track, k) => {
    const { of, index, edges, level } = track;
    // The rig waits at time zero: a log that begins later has missed what came before it.
    cost += ALONE * all[k]!.filter((e) => e.t >= 0 && e.t + offset < from - margin).length;
    const within = (e: ExpectedEdge, room: number): boolean => e.t + offset >= from - room && e.t + offset <= to + room;
    const due = all[k]!.filter((e) => within(e, -margin)).slice(0, MOST_EDGES);
    const near = all[k]!.filter((e) => within(e, margin)).slice(0, MOST_EDGES);
    const list =
      due.length === near.length
        ? due
        : near.filter((e) => due.includes(e) || edges.some((m) => Math.abs(m.t - e.t - offset) < margin));
    const laid = layBeside(edges, list, offset, { sigma, loose, unseen: 1.5 * log.step });
    // No edge shows a door that stands wrong all the time.
    if (level !== null && Math.abs(level - standsAt(track, trace, from - offset)) > 0.6) cost += 2 * ALONE;
    cost += laid.cost;
    pairs.push(...laid.pairs.map((p) => ({ of, index, ...p })));
  });
  return { offset, pairs, cost };
}

/** Offsets that lay one of the first measured edges beside an expected one about time zero: a faulty rig may have moved before it. */
function offsetsOf(tracks: readonly MeasuredTrack[], expected: readonly (readonly ExpectedEdge[])[]): number[] {
  const found = new Set<number>();
  tracks.forEach(({ edges }, k) => {
    const [before, after] = [expected[k]!.filter((e) => e.t < 0), expected[k]!.filter((e) => e.t >= 0)];
    for (const m of edges.slice(0, 3))
      for (const e of [...before.slice(-4), ...after.slice(0, 4)]) if (m.open === e.open) found.add(m.t - e.t);
  });
  return [...found].slice(0, MOST_OFFSETS);
}

type Pair = Pick<EdgePair, 'measured' | 'expected'>;

/** The cheapest monotone assignment (dynamic programming over both lists). */
function layBeside(
  measured: readonly HalfEdge[],
  expected: readonly ExpectedEdge[],
  offset: number,
  { sigma, loose, unseen }: { readonly sigma: number; readonly loose: boolean; readonly unseen: number },
): { cost: number; pairs: Pair[] } {
  const [n, m] = [measured.length, expected.length];
  const width = m + 1;
  const cost = new Float64Array((n + 1) * width);
  const pairCost = (i: number, j: number): number => {
    if (measured[i]!.open !== expected[j]!.open) return Infinity;
    const off = Math.abs(measured[i]!.t - expected[j]!.t - offset) / sigma;
    if (loose) return ALONE * 2 * (1 - 1 / (1 + off / 100));
    return (off * off) / 2;
  };
  // Pulses shorter than the steps of the log may fall between two readings.
  const missing = expected.map((e) => (e.lasts < unseen ? 0 : ALONE));
  for (let i = n; i >= 0; i--) {
    for (let j = m; j >= 0; j--) {
      if (i === n && j === m) continue;
      const skipMeasured = i < n ? ALONE + cost[(i + 1) * width + j]! : Infinity;
      const skipExpected = j < m ? missing[j]! + cost[i * width + j + 1]! : Infinity;
      const both = i < n && j < m ? pairCost(i, j) + cost[(i + 1) * width + j + 1]! : Infinity;
      cost[i * width + j] = Math.min(skipMeasured, skipExpected, both);
    }
  }
  const pairs: Pair[] = [];
  for (let i = 0, j = 0; i < n || j < m;) {
    const here = cost[i * width + j]!;
    if (i < n && j < m && here === pairCost(i, j) + cost[(i + 1) * width + j + 1]!)
      pairs.push({ measured: measured[i++]!, expected: expected[j++]! });
    else if (i < n && here === ALONE + cost[(i + 1) * width + j]!)
      pairs.push({ measured: measured[i++]!, expected: null });
    else if (missing[j]! > 0) pairs.push({ measured: null, expected: expected[j++]! });
    else j++;
  }
  return { cost: cost[0]!, pairs };
}
