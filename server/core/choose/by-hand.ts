/**
 * Which value puts an edge of the picture where a hand wants it. The moment of an edge is a sum of times along its chain of causes, so it
 * is linear in each of them as long as the order of events stays: the value is found by secants, and every answer is one that was
 * measured. Times in microseconds.
 */

/** When the edge happens with a value; null where it does not happen, or where the text does not stand with that value. */
export type MomentAt = (value: number) => number | null;

/** Where a value may go. */
export interface Bounds {
  readonly low: number;
  readonly high: number;
}

export interface Put {
  readonly value: number;
  /** Where the edge stands with it. */
  readonly t: number;
  /** Why it stands elsewhere than wanted: the range of the value ends, or the edge does not happen beyond. */
  readonly held: 'range' | 'gone' | null;
}

/** How far the edge moves for each unit of the value, measured by a change of `by`; null where it stays or cannot be measured. */
export function slopeAt(momentAt: MomentAt, value: number, { low, high }: Bounds, by: number): number | null {
  const here = momentAt(value);
  if (here === null) return null;
  for (const change of [by, -by, by / 10, -by / 10]) {
    const probe = Math.round(Math.min(high, Math.max(low, value + change)));
    const there = probe === value ? null : momentAt(probe);
    if (there !== null && there !== here) return (there - here) / (probe - value);
  }
  return null;
}

const ROUNDS = 8;

/** The value within its bounds that brings the edge to `wanted`, or as near as it can be brought. `start` is a value at which it happens. */
export function putAt(momentAt: MomentAt, start: number, slope: number, wanted: number, bounds: Bounds): Put {
  const inside = (v: number): number => Math.round(Math.min(bounds.high, Math.max(bounds.low, v)));
  let from = { value: start, t: momentAt(start)! };
  let best = from;
  let rate = slope;
  let gone: number | null = null;
  for (let round = 0; round < ROUNDS && best.t !== wanted; round++) {
    const value = inside(from.value + (wanted - from.t) / rate);
    if (value === from.value) break;
    const t = momentAt(value);
    if (t === null) {
      gone = value;
      break;
    }
    if (Math.abs(t - wanted) < Math.abs(best.t - wanted)) best = { value, t };
    const measured = (t - from.t) / (value - from.value);
    if (measured === 0 || !Number.isFinite(measured)) break;
    rate = measured;
    from = { value, t };
  }
  if (gone !== null) best = lastBefore(momentAt, best, gone);
  const atEnd = best.value === bounds.low || best.value === bounds.high;
  return { ...best, held: best.t === wanted ? null : gone !== null ? 'gone' : atEnd ? 'range' : null };
}

/** The value nearest to one at which the edge is gone, found by halving to 1 ms. */
function lastBefore(
  momentAt: MomentAt,
  good: { readonly value: number; readonly t: number },
  gone: number,
): { value: number; t: number } {
  let [near, far] = [good, gone];
  while (Math.abs(far - near.value) > 1_000) {
    const middle = Math.round((near.value + far) / 2 / 1_000) * 1_000;
    if (middle === near.value || middle === far) break;
    const t = momentAt(middle);
    if (t === null) far = middle;
    else near = { value: middle, t };
  }
  return near;
}

/** Whether each of some things holds with a value; null where there is nothing to judge with it. */
export type HoldsAt = (value: number) => readonly (boolean | null)[];

export interface Stop {
  /** Index of what ends there. */
  readonly of: number;
  /** The last value with which it stands as it does now. */
  readonly value: number;
}

const SCANS = 10;
const MILLISECOND = 1_000;

/**
 * The values nearest to `start`, below and above, up to which each thing stands as it stands at `start`, to 1 ms; every one is confirmed by
 * a look at either side of it. Yields between looks, so that a caller may pause.
 */
export function* stopsOf(holdsAt: HoldsAt, start: number, bounds: Bounds): Generator<void, Stop[], void> {
  const now = holdsAt(start);
  const stops: Stop[] = [];
  for (const end of [bounds.low, bounds.high]) {
    const changed = new Map<number, readonly [number, number]>();
    let before = start;
    for (let k = 1; k <= SCANS; k++) {
      // Near the present value closer together: that is where a hand goes.
      const value = Math.round(start + (end - start) * (k / SCANS) ** 2);
      if (value === before) continue;
      yield;
      const holds = holdsAt(value);
      for (const [of, was] of now.entries())
        if (was !== null && !changed.has(of) && holds[of] !== was) changed.set(of, [before, value]);
      before = value;
    }
    for (const [of, [near, far]] of changed)
      stops.push({ of, value: yield* endBetween((v) => holdsAt(v)[of] === now[of], near, far) });
  }
  return stops;
}

/** The last value from `near`, where it stands, towards `far`, where it does not; by halving. */
function* endBetween(stands: (value: number) => boolean, near: number, far: number): Generator<void, number, void> {
  let [good, bad] = [near, far];
  while (Math.abs(bad - good) > MILLISECOND) {
    yield;
    const probe = good + Math.ceil(Math.abs(bad - good) / 2 / MILLISECOND) * MILLISECOND * Math.sign(bad - good);
    if (probe === bad) break;
    if (stands(probe)) good = probe;
    else bad = probe;
  }
  return good;
}
