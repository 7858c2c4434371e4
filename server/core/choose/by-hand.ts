/**
 * Which value puts an edge of the picture where a hand wants it. The moment of an edge is a sum of times along its chain of causes, so it
 * is linear in each of them as long as the order of events stays: the value is found by secants, and every answer is one that was
 * measured. Times in microseconds.
 */
import type { Work } from '../work/work';

/** When the edge happens with a value; null where it does not happen, or where the text does not stand with that value. */
export type MomentAt = (value: number) => number | null;

/** Where a value may go. */
export interface Bounds {
  readonly low: number;
  readonly high: number;
}

/**
 * Why an edge stands elsewhere than wanted: the range of the value ends; the edge does not happen beyond; the order of events changes and it
 * leaps over the moment; something else decides when it happens.
 */
export type HeldBack = 'range' | 'gone' | 'leap' | 'other';

export interface Put {
  readonly value: number;
  /** Where the edge stands with it. */
  readonly t: number;
  /** Null where it stands as wanted, to the least change that the value can make. */
  readonly held: HeldBack | null;
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

const MILLISECOND = 1_000;
/** Enough for every halving of a minute to a millisecond after some secants; ordinary edges take one or two. */
const MOST_ROUNDS = 40;

interface Point {
  readonly value: number;
  readonly t: number;
}

/** What a search has seen: the start's side of the wanted moment, the other side, and values at which the edge is gone. */
interface Search {
  readonly wanted: number;
  readonly momentAt: MomentAt;
  readonly slope: number;
  readonly bounds: Bounds;
  /** Points on the start's side, in the order they were seen; the last one is the furthest. */
  readonly own: Point[];
  other: Point | null;
  gone: number | null;
  best: Point;
}

/**
 * The value within its bounds that brings the edge to `wanted`, or as near as it can be brought. `start` is a value at which it happens; `step`
 * is the least change that the edge can make whatever the value (a scan), µs.
 */
export function putAt(
  momentAt: MomentAt,
  start: number,
  slope: number,
  wanted: number,
  bounds: Bounds,
  step: number,
): Put {
  const first = { value: start, t: momentAt(start)! };
  const search: Search = { wanted, momentAt, slope, bounds, own: [first], other: null, gone: null, best: first };
  const near = Math.max(step - 1, Math.floor(Math.abs(slope) / 2));
  const isThere = (): boolean => Math.abs(search.best.t - wanted) <= near;
  for (let round = 0; round < MOST_ROUNDS && !isThere(); round++) {
    const value = nextValue(search);
    if (value === null) break;
    look(search, value);
  }
  return isThere() ? { ...search.best, held: null } : heldBack(search);
}

function look(search: Search, value: number): void {
  const t = search.momentAt(value);
  if (t === null) {
    search.gone = value;
    return;
  }
  const { wanted, own, best } = search;
  const point = { value, t };
  if (Math.abs(t - wanted) < Math.abs(best.t - wanted)) search.best = point;
  if (Math.sign(wanted - t) === Math.sign(wanted - own[0]!.t)) own.push(point);
  else search.other = point;
}

/** Where to look next; null where no look can bring the edge nearer. */
function nextValue(search: Search): number | null {
  const { own, other, gone } = search;
  const last = own.at(-1)!;
  const far = other?.value ?? gone;
  if (far === null) return furtherOut(search, last);
  if (Math.abs(far - last.value) <= 1 || (other === null && Math.abs(far - last.value) <= MILLISECOND)) return null;
  const middle = roundedTo((last.value + far) / 2, Math.abs(far - last.value) > 2 * MILLISECOND ? MILLISECOND : 1);
  if (other === null) return between(middle, last.value, far) ? middle : null;
  const straight = Math.round(last.value + ((search.wanted - last.t) * (far - last.value)) / (other.t - last.t));
  const isSteep = Math.abs(other.t - last.t) > 3 * Math.abs(search.slope * (far - last.value)) + 2;
  if (!isSteep && between(straight, last.value, far)) return straight;
  // The edge leaps between the two: a millisecond of the value is as near as it need be known.
  if (isSteep && Math.abs(far - last.value) <= MILLISECOND) return null;
  return between(middle, last.value, far) ? middle : null;
}

/** Beyond the furthest value seen: along the slope as measured last, and where that leads nowhere by doubled steps. */
function furtherOut({ own, wanted, slope, bounds }: Search, last: Point): number | null {
  const inside = (v: number): number => Math.round(Math.min(bounds.high, Math.max(bounds.low, v)));
  const before = own.at(-2);
  const direction = Math.sign((wanted - own[0]!.t) / slope);
  const measured = before ? (last.t - before.t) / (last.value - before.value) : slope;
  const rate = measured * slope > 0 ? measured : slope;
  const along = inside(last.value + (wanted - last.t) / rate);
  const doubled = inside(
    last.value + 2 * direction * Math.max(10_000, Math.abs(last.value - (before?.value ?? last.value))),
  );
  const value = measured * slope > 0 || (along - doubled) * direction > 0 ? along : doubled;
  return (value - last.value) * direction > 0 ? value : null;
}

const roundedTo = (value: number, grain: number): number => Math.round(value / grain) * grain;
const between = (value: number, a: number, b: number): boolean => value > Math.min(a, b) && value < Math.max(a, b);

/** As near as it can be brought, and why no nearer. Where the edge no longer follows, no value is thrown after it. */
function heldBack(search: Search): Put {
  const { best, other, gone, bounds, momentAt } = search;
  const start = search.own[0]!.value;
  const back = best.value - MILLISECOND * Math.sign(best.value - start);
  if (best.value !== start && between(back, best.value, start) && momentAt(back) === best.t) {
    return { value: lastAlike(search, back), t: best.t, held: 'other' };
  }
  if (other) return { ...best, held: 'leap' };
  if (gone !== null) return { ...best, held: 'gone' };
  const atEnd = best.value === bounds.low || best.value === bounds.high;
  return { ...best, held: atEnd ? 'range' : 'other' };
}

/** The value nearest to the start at which the edge stands where it does at `from`, by halving to 1 ms. */
function lastAlike({ own, best, momentAt }: Search, from: number): number {
  let [bad, good] = [own[0]!.value, from];
  while (Math.abs(good - bad) > MILLISECOND) {
    const middle = roundedTo((good + bad) / 2, MILLISECOND);
    if (!between(middle, good, bad)) break;
    if (momentAt(middle) === best.t) good = middle;
    else bad = middle;
  }
  return good;
}

/** Whether each of some conditions holds with a value, in steps; null where there is nothing to judge with it. */
export type HoldsAt = (value: number) => Work<readonly (boolean | null)[]>;

export interface Stop {
  /** Index of what ends there. */
  readonly of: number;
  /** The last value with which it stands as it does now. */
  readonly value: number;
}

const SCANS = 10;

/**
 * The values nearest to `start`, below and above, up to which each result stays as it is at `start`, to 1 ms; every one is confirmed by
 * a look at either side of it. Yields between looks, so that a caller may pause.
 */
export function* stopsOf(holdsAt: HoldsAt, start: number, bounds: Bounds): Work<Stop[]> {
  const now = yield* holdsAt(start);
  const stops: Stop[] = [];
  for (const end of [bounds.low, bounds.high]) {
    const changed = new Map<number, readonly [number, number]>();
    let before = start;
    for (let k = 1; k <= SCANS; k++) {
      // Near the present value closer together: that is where a hand goes.
      const value = Math.round(start + (end - start) * (k / SCANS) ** 2);
      if (value === before) continue;
      yield;
      const holds = yield* holdsAt(value);
      for (const [of, was] of now.entries())
        if (was !== null && !changed.has(of) && holds[of] !== was) changed.set(of, [before, value]);
      before = value;
    }
    for (const [of, [near, far]] of changed)
      stops.push({ of, value: yield* endBetween(holdsAt, { of, stands: now[of]! }, near, far) });
  }
  return stops;
}

/** The last value from `near`, where it stands, towards `far`, where it does not; by halving. */
function* endBetween(
  holdsAt: HoldsAt,
  { of, stands }: { readonly of: number; readonly stands: boolean },
  near: number,
  far: number,
): Work<number> {
  let [good, bad] = [near, far];
  while (Math.abs(bad - good) > MILLISECOND) {
    yield;
    const probe = good + Math.ceil(Math.abs(bad - good) / 2 / MILLISECOND) * MILLISECOND * Math.sign(bad - good);
    if (probe === bad) break;
    if ((yield* holdsAt(probe))[of] === stands) good = probe;
    else bad = probe;
  }
  return good;
}
