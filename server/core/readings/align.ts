/** Laying measured edges beside expected ones: which belongs to which, and where the clock of the log has its zero. */
import { positionAt } from '../model/motion';
import type { Trace } from '../timing/trace';
import type { RigLog } from './log';
import { expectedEdges, measuredEdges, type HalfEdge } from './measured-edges';

export type ExpectedEdge = ReturnType<typeof expectedEdges>[number];

export interface EdgePair {
  readonly door: number;
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
  readonly edges: readonly (readonly HalfEdge[])[];
  /** How well an edge of this log is known, µs. */
  readonly sigma: number;
}

/** Standard deviation of an edge: half a usual step, never below this (switching and clock of a common logger; no source). */
const LEAST_SIGMA = 15_000;
/** Cost of an edge without a partner. A pair never costs more than two of them. */
const ALONE = 12;
const MOST_OFFSETS = 60;
/** Larger tables of edges are cut to their beginnings. */
const MOST_EDGES = 400;

export function measuredLog(log: RigLog): MeasuredLog {
  return {
    log,
    edges: measuredEdges(log).map((e) => e.slice(0, MOST_EDGES)),
    sigma: Math.max(LEAST_SIGMA, log.step / 2),
  };
}

/** The offset and the pairs under which the log is likeliest to come from the trace. `loose`: a shifted edge stays a pair. */
export function align(measured: MeasuredLog, trace: Trace, loose = false): Alignment {
  const { log, edges } = measured;
  const [from, to] = [log.times[0]!, log.times.at(-1)!];
  const tracks = log.doors.map(({ door }) => trace.doors[door]!);
  const all = tracks.map((track) => expectedEdges(track, trace.start, trace.end));
  const at = (offset: number): Alignment => {
    const pairs: EdgePair[] = [];
    let cost = 0;
    log.doors.forEach(({ door }, k) => {
      // An edge due within the first and the last moment of the log may lie just outside it.
      const margin = 3 * measured.sigma;
      const due = all[k]!.filter((e) => e.t + offset >= from + margin && e.t + offset <= to - margin).slice(
        0,
        MOST_EDGES,
      );
      const near = all[k]!.filter((e) => e.t + offset >= from - margin && e.t + offset <= to + margin).slice(
        0,
        MOST_EDGES,
      );
      const list =
        due.length === near.length
          ? due
          : near.filter((e) => due.includes(e) || edges[k]!.some((m) => Math.abs(m.t - e.t - offset) < margin));
      const laid = layBeside(edges[k]!, list, offset, measured.sigma, loose);
      // No edge tells a door that stands wrong all the time.
      const level = log.doors[k]!.openings.find((p) => !Number.isNaN(p)) ?? null;
      const stands = positionAt(tracks[k]!, from - offset);
      if (level !== null && Math.abs(level - stands) > 0.6) cost += 2 * ALONE;
      cost += laid.cost;
      pairs.push(...laid.pairs.map((p) => ({ door, ...p })));
    });
    return { offset, pairs, cost };
  };
  let best = at(0);
  for (const offset of offsetsOf(edges, all)) {
    const tried = at(offset);
    if (tried.cost < best.cost - 1e-9) best = tried;
  }
  const residuals = best.pairs.flatMap((p) =>
    p.measured && p.expected ? [p.measured.t - p.expected.t - best.offset] : [],
  );
  const close = residuals.filter((r) => Math.abs(r) < 4 * measured.sigma);
  if (close.length === 0) return best;
  const refined = at(best.offset + Math.round(close.reduce((a, b) => a + b, 0) / close.length));
  return refined.cost < best.cost ? refined : best;
}

function offsetsOf(
  measured: readonly (readonly HalfEdge[])[],
  expected: readonly (readonly ExpectedEdge[])[],
): number[] {
  const found = new Set<number>();
  measured.forEach((edges, k) => {
    for (const m of edges.slice(0, 3))
      for (const e of expected[k]!.slice(0, 4)) if (m.open === e.open) found.add(m.t - e.t);
  });
  return [...found].slice(0, MOST_OFFSETS);
}

type Pair = Omit<EdgePair, 'door'>;

/** The cheapest monotone assignment (dynamic programming over both lists). */
function layBeside(
  measured: readonly HalfEdge[],
  expected: readonly ExpectedEdge[],
  offset: number,
  sigma: number,
  loose: boolean,
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
  for (let i = n; i >= 0; i--) {
    for (let j = m; j >= 0; j--) {
      if (i === n && j === m) continue;
      const skipMeasured = i < n ? ALONE + cost[(i + 1) * width + j]! : Infinity;
      const skipExpected = j < m ? ALONE + cost[i * width + j + 1]! : Infinity;
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
    else pairs.push({ measured: null, expected: expected[j++]! });
  }
  return { cost: cost[0]!, pairs };
}
