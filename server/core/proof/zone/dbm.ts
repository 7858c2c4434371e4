/**
 * Zones: sets of clock values given by bounds on clocks and on their differences, kept as difference-bound matrices
 * (D. L. Dill, 1989; J. Bengtsson and W. Yi, "Timed Automata: Semantics, Algorithms and Tools", 2004).
 *
 * Time here is whole microseconds, as in the event engine, so every bound is an integer and of the form x − y ≤ b; a strict
 * bound x − y < b is x − y ≤ b − 1. A zone has clocks 1 … n−1; clock 0 is the constant zero. Entry `d[i*n + j]` bounds xᵢ − xⱼ.
 * All functions but `constrain` keep the matrix closed (every bound the tightest one implied); `constrain` closes as it goes.
 *
 * The closed matrix is canonical: two non-empty zones are equal exactly if their entries are, and one lies in the other exactly if no entry
 * is larger (`includes`). That is why it is kept closed throughout, and what the search compares by. Invariants of a zone that is handed out:
 * closed, not empty, `d[i*n + i] = 0`, `d[j] ≤ 0` (clocks are never negative). Sums stay exact: bounds are whole and far below 2^53.
 */
import { finish, type Work } from '../../work/work';

/** Clock values by their bounds. */
export interface Zone {
  /** Clocks including the constant zero. */
  readonly n: number;
  /** n × n upper bounds, row by row; `Infinity` where there is none. */
  readonly d: Float64Array;
}

/** Clocks of a zone beyond which what is done with its whole matrix takes a step by itself. */
const LARGE = 300;
/** Entries looked at in one step. */
const BATCH = 2_000_000;

/** Whether a look at the whole matrix takes so long that others must have a turn between two of them. */
export const isLarge = ({ n }: Zone): boolean => n > LARGE;

/** The zone with no clocks but the constant zero. */
export function emptyClocks(): Zone {
  return { n: 1, d: new Float64Array(1) };
}

export function copyZone(zone: Zone): Zone {
  return { n: zone.n, d: zone.d.slice() };
}

/**
 * Rebuilds a zone over other clocks. `from[k]` is the clock of `zone` that clock `k` of the result continues, or −1 for a clock
 * that starts now at zero. `from[0]` is 0. Clocks not named are forgotten.
 */
export function remapClocks(zone: Zone, from: readonly number[]): Zone {
  const n = from.length;
  const d = new Float64Array(n * n);
  // A clock that starts now equals the constant zero, so it has the bounds of clock 0.
  const old = Int32Array.from(from, (clock) => Math.max(0, clock));
  for (let i = 0; i < n; i++) {
    const row = old[i]! * zone.n;
    // Where both are one clock of before, its distance from itself is zero, as in every row.
    for (let j = 0; j < n; j++) d[i * n + j] = zone.d[row + old[j]!]!;
  }
  return { n, d };
}

/** Lets any time pass: drops the upper bounds of all clocks. In place. */
export function up(zone: Zone): void {
  // Still closed: only entries of column 0 have grown, and every path to clock 0 from another ends with one of them.
  for (let i = 1; i < zone.n; i++) zone.d[i * zone.n] = Infinity;
}

/** Adds xᵢ − xⱼ ≤ bound and closes the matrix again, O(n²). In place. False where nothing is left. */
export function constrain(zone: Zone, i: number, j: number, bound: number): boolean {
  const { n, d } = zone;
  if (bound >= d[i * n + j]!) return true;
  // A negative cycle i → j → i: no values satisfy both. In a closed matrix it is the only cycle that has to be looked at.
  if (d[j * n + i]! + bound < 0) return false;
  d[i * n + j] = bound;
  for (let a = 0; a < n; a++) {
    const viaI = d[a * n + i]!;
    if (viaI === Infinity) continue;
    // A new shortest path can use the new bound once at most: a → i → j → b.
    const toJ = viaI + bound;
    for (let b = 0; b < n; b++) {
      const sum = toJ + d[j * n + b]!;
      if (sum < d[a * n + b]!) d[a * n + b] = sum;
    }
  }
  return true;
}

/** xᵢ ≤ bound. */
export function atMost(zone: Zone, i: number, bound: number): boolean {
  return constrain(zone, i, 0, bound);
}

/** xᵢ ≥ bound. */
export function atLeast(zone: Zone, i: number, bound: number): boolean {
  return constrain(zone, 0, i, -bound);
}

/** Forgets a clock's value: any value from zero. In place. */
export function forget(zone: Zone, clock: number): void {
  const { n, d } = zone;
  for (let i = 0; i < n; i++) {
    if (i === clock) continue;
    d[clock * n + i] = Infinity;
    // The clock may be anything from zero, so xᵢ − x is at most what xᵢ − 0 is.
    d[i * n + clock] = d[i * n]!;
  }
}

/** Least value of a clock in the zone. */
export function lowest(zone: Zone, i: number): number {
  // Row 0: 0 − xᵢ ≤ d[i], so xᵢ ≥ −d[i]. The test keeps −0 out of keys and labels.
  const bound = zone.d[i]!;
  return bound === 0 ? 0 : -bound;
}

/** Greatest value of a clock in the zone, `Infinity` where unbounded. */
export function highest(zone: Zone, i: number): number {
  return zone.d[i * zone.n]!;
}

/** True where every point of `inner` lies in `outer`; both closed, same clocks. */
export function includes(outer: Zone, inner: Zone): boolean {
  for (let k = 0; k < outer.d.length; k++) if (inner.d[k]! > outer.d[k]!) return false;
  return true;
}

/** The smallest zone that holds both; same clocks. Closed as they are: in each a bound is at most the sum of two that imply it, so the larger of both is. */
export function hullOf(a: Zone, b: Zone): Zone {
  return { n: a.n, d: a.d.map((bound, k) => Math.max(bound, b.d[k]!)) };
}

/** No guard of that kind: see `extrapolate`. */
export const UNCOMPARED = -1;

/**
 * Forgets what no guard can tell apart. `lower[i]` is the greatest constant that clock i is ever required to have reached (xᵢ ≥ c), `upper[i]`
 * the greatest that it is required not to have passed (xᵢ ≤ c), `UNCOMPARED` where there is none, `Infinity` where everything counts. A clock past
 * `lower` may as well be later, one past `upper` as well be earlier: a state that can do more stands for those that can do less
 * ("Extra⁺_LU" of G. Behrmann, P. Bouyer, K. G. Larsen and R. Pelánek, "Lower and upper bounds in zone-based abstractions of timed automata",
 * 2006). It only ever makes a zone larger, so what is proved with it holds whatever the constants. In place; the result is closed.
 */
export function extrapolate(zone: Zone, lower: readonly number[], upper: readonly number[]): void {
  finish(extrapolating(zone, lower, upper));
}

/** The same in steps, of which a zone of up to `LARGE` clocks takes none. */
export function* extrapolating(zone: Zone, lower: readonly number[], upper: readonly number[]): Work<void> {
  const { n, d } = zone;
  const least = Array.from({ length: n }, (_, j) => -d[j]!);
  let changed = false;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      if (i === j) continue;
      const bound = d[i * n + j]!;
      // The four cases of the definition, with strict bounds as integers: x0 − xj < −U is xj ≥ U + 1.
      const far = j > 0 && least[j]! > upper[j]!;
      if (i === 0) {
        if (!far || bound === -upper[j]! - 1) continue;
        d[j] = -upper[j]! - 1;
        changed = true;
      } else if (bound !== Infinity && (bound > lower[i]! || least[i]! > lower[i]! || far)) {
        d[i * n + j] = Infinity;
        changed = true;
      }
    }
  }
  // Larger bounds in a closed matrix may no longer be the tightest implied by the others.
  if (changed) yield* closing(zone);
}

/** Whether any value of the clock, however late, is in the zone for each value of the others. */
export function isUnbounded(zone: Zone, clock: number): boolean {
  const { n, d } = zone;
  for (let j = 0; j < n; j++) if (j !== clock && d[clock * n + j] !== Infinity) return false;
  return true;
}

/** All-pairs shortest paths (Floyd and Warshall), O(n³). */
function* closing(zone: Zone): Work<void> {
  const { n, d } = zone;
  for (let k = 0; k < n; k++) {
    if (isLarge(zone) && k % Math.ceil(BATCH / (n * n)) === 0) yield;
    for (let i = 0; i < n; i++) {
      const viaK = d[i * n + k]!;
      if (viaK === Infinity) continue;
      for (let j = 0; j < n; j++) {
        const sum = viaK + d[k * n + j]!;
        if (sum < d[i * n + j]!) d[i * n + j] = sum;
      }
    }
  }
}
