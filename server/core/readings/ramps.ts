/**
 * Passages of a door in its logged positions. Each passage is a straight ramp between the two ends of the travel; the clamped ramp that
 * lies nearest to the readings (least squares) gives when it begins and how long it takes, and the scatter about it how well both are known.
 */
import { medianOf } from './statistics';
import type { Column, DoorColumn, RigLog } from './log';
import { hasTwoStates, inGap } from './log';
import { doorEdges } from './measured-edges';
import { commonTravel, passingOf, type ReadPoint } from './passage-half';

export interface Ramp {
  readonly opens: boolean;
  /** µs at which it passes the half. */
  readonly half: number;
  /** µs; NaN where the readings on the way do not show it. */
  readonly takes: number;
  /** Squared deviations of `takes` and of `half` for a noise of one. */
  readonly spread: number;
  readonly shift: number;
  /** Sum of squares about it, and readings on the way. */
  readonly squares: number;
  readonly inside: number;
  /** Readings on the way that noise cannot have taken from an end: fewer than two leave the travel open. */
  readonly firm: number;
  /** Bounds of `takes` that hold for sure, µs, where a reading only tells whether the door moves. */
  readonly least: number;
  readonly most: number;
  /** Readings about it, rising from 0 to 1. */
  readonly points: readonly ReadPoint[];
}

/** Readings at an end of the travel lie within this. */
const END = 0.12;

/** All passages of a door that no gap cuts. */
export function rampsOf(log: RigLog, column: DoorColumn): Ramp[] {
  const { times } = log;
  const { openings } = column;
  const points = pointsOf(times, openings);
  const edges = doorEdges(log, column);
  // Once a column: it reads all of it.
  const noise = noiseOf(column);
  const cut = inGap(log);
  const isTwoState = hasTwoStates(column);
  let at = 0;
  const passages = edges.flatMap((edge, i) => {
    while (at < points.length && points.t(at) < edge.t) at++;
    const from = 0.5 * ((edges[i - 1]?.t ?? -Infinity) + edge.t);
    const to = 0.5 * ((edges[i + 1]?.t ?? Infinity) + edge.t);
    const window = windowAround(points, at, from, to);
    if (!window || cut(window[0]!.t, window.at(-1)!.t)) return [];
    const rising = edge.open ? window : window.map(({ t, x }) => ({ t, x: 1 - x }));
    const ramp = column.isStates ? stateRamp(rising, edge, isTwoState) : positionRamp(rising, edge.open, noise);
    return [{ ...ramp, points: rising }];
  });
  return column.isStates ? passages : located(passages, noise);
}

/** Passages with fewer readings on the way are fitted together. */
const FEW_ON_THE_WAY = 4;

export const areFew = (ramps: readonly Ramp[]): boolean => medianOf(ramps.map((r) => r.firm)) < FEW_ON_THE_WAY;

/** Passages that show little of their travel, placed by the travel that all in their direction have. */
function located(passages: readonly Ramp[], noise: Noise): Ramp[] {
  const margin = marginOf(noise);
  const [opening, closing] = [true, false].map((opens) => {
    const own = passages.filter((r) => r.opens === opens);
    return areFew(own)
      ? commonTravel(
          own.map((r) => r.points),
          margin,
          noise.end,
        )
      : null;
  });
  return passages.map((ramp) => {
    const known = ramp.opens ? opening : closing;
    if (!known || !Number.isFinite(known.spread)) return ramp;
    return { ...ramp, ...passingOf(ramp.points, known.takes, known.spread, margin) };
  });
}

/** Readings that were taken, in order; objects are made only of those in a window: a log may have millions. */
interface Points {
  readonly length: number;
  readonly t: (k: number) => number;
  readonly x: (k: number) => number;
}

function pointsOf(times: Column, openings: Column): Points {
  const length = openings.reduce((n, x) => (Number.isNaN(x) ? n : n + 1), 0);
  if (length === openings.length) return { length, t: (k) => times[k]!, x: (k) => openings[k]! };
  const taken = new Int32Array(length);
  let n = 0;
  openings.forEach((x, k) => !Number.isNaN(x) && (taken[n++] = k));
  return { length, t: (k) => times[taken[k]!]!, x: (k) => openings[taken[k]!]! };
}

/** From a few readings at one end to a few at the other; null where an end is not reached. */
function windowAround(points: Points, at: number, from: number, to: number): ReadPoint[] | null {
  const isEnd = (k: number): boolean => Math.min(points.x(k), 1 - points.x(k)) < END;
  let [low, high] = [at - 1, at];
  let rest = 0;
  while (low >= 0 && points.t(low) >= from && rest < 6) {
    rest = isEnd(low) ? rest + 1 : 0;
    low--;
  }
  const before = rest;
  rest = 0;
  while (high < points.length && points.t(high) <= to && rest < 6) {
    rest = isEnd(high) ? rest + 1 : 0;
    high++;
  }
  if (before === 0 || rest === 0) return null;
  return Array.from({ length: high - low - 1 }, (_, k) => ({ t: points.t(low + 1 + k), x: points.x(low + 1 + k) }));
}

/** A column of states shows when a door moves, and not how far it is; one of two states not even that. */
function stateRamp(
  points: readonly ReadPoint[],
  edge: { readonly t: number; readonly open: boolean },
  isTwoState: boolean,
): Omit<Ramp, 'points'> {
  const way = points.filter((p) => p.x > 0 && p.x < 1);
  const before = points.filter((p) => p.x === 0).at(-1);
  const after = points.find((p) => p.x === 1);
  const [first, last] = [way[0], way.at(-1)];
  const least = first && last ? last.t - first.t : 0;
  const most = !isTwoState && before && after ? after.t - before.t : Infinity;
  const half = first && last ? 0.5 * (first.t + last.t) : edge.t;
  return {
    opens: edge.open,
    half,
    takes: NaN,
    spread: NaN,
    shift: NaN,
    squares: 0,
    inside: way.length,
    firm: way.length,
    least,
    most,
  };
}

export function noiseOf({ openings, resolution }: DoorColumn): {
  readonly floor: number;
  readonly clipped: boolean;
  readonly end: number;
} {
  let [square, near, exact] = [0, 0, 0];
  let beyond = false;
  // A log may have millions of readings: none is copied.
  for (const x of openings) {
    const off = Math.min(Math.abs(x), Math.abs(1 - x));
    if (!(off < END)) continue;
    square += off * off;
    near++;
    if (off === 0) exact++;
    if (x < 0 || x > 1) beyond = true;
  }
  // Noise that never leaves 0 … 1 has been cut there: half of the readings at an end then stand at it exactly.
  const clipped = !beyond && exact > 0.2 * near && exact < 0.8 * near;
  return {
    floor: resolution / Math.sqrt(12),
    clipped,
    end: Math.sqrt((square / Math.max(1, near)) * (clipped ? 2 : 1)),
  };
}

export type Noise = ReturnType<typeof noiseOf>;

/** The clamped ramp from 0 to 1 that lies nearest to the points. */
function positionRamp(points: readonly ReadPoint[], opens: boolean, noise: Noise): Omit<Ramp, 'points'> {
  const origin = points[0]!.t;
  const sums = prefixSums(points, origin);
  let best: Line | null = null;
  let loose: Line | null = null;
  for (const [i, j] of insides(points)) {
    const line = lineThrough(sums, i, j);
    if (!line) continue;
    if (line.count >= 3 && isNear(line, points, origin, i, j) && (!loose || line.squares < loose.squares - 1e-15))
      loose = line;
    if (fits(line, points, origin, i, j) && (!best || line.squares < best.squares - 1e-15)) best = line;
  }
  // With noise no run may be just the one that its own line passes; then the nearest counts.
  best ??= loose;
  const none = { opens, takes: NaN, spread: NaN, shift: NaN, squares: 0, inside: 0, firm: 0, least: 0, most: Infinity };
  if (!best) return { ...none, half: crossing(points) };
  if (noise.clipped) best = withoutEnds(best, points, origin, sums, noise) ?? best;
  const takes = 1 / best.slope;
  return {
    opens,
    half: origin + best.middle + (0.5 - best.level) * takes,
    takes,
    spread: takes ** 4 / best.width,
    shift: takes ** 2 * (1 / best.count + ((0.5 - best.level) * takes) ** 2 / best.width),
    squares: best.inside,
    inside: best.count,
    firm: firmReadings(points, noise),
    least: 0,
    most: Infinity,
  };
}

/** Readings this near to an end may be noise of the end. */
export const marginOf = ({ floor, end }: Noise): number => Math.max(3 * end, 2 * floor, 1e-9);

function firmReadings(points: readonly ReadPoint[], noise: Noise): number {
  const margin = marginOf(noise);
  return points.filter(({ x }) => x > margin && x < 1 - margin).length;
}

interface Line {
  /** x = level + slope (t − middle); t counted from the origin. */
  readonly middle: number;
  readonly level: number;
  readonly slope: number;
  /** Σ (t − middle)². */
  readonly width: number;
  readonly count: number;
  /** Sum of squares on the way, and with the ends. */
  readonly inside: number;
  readonly squares: number;
}

interface Sums {
  readonly t: Float64Array;
  readonly tt: Float64Array;
  readonly x: Float64Array;
  readonly tx: Float64Array;
  readonly xx: Float64Array;
  /** Squares about 1. */
  readonly far: Float64Array;
}

function prefixSums(points: readonly ReadPoint[], origin: number): Sums {
  const make = (f: (p: ReadPoint) => number): Float64Array => {
    const sums = new Float64Array(points.length + 1);
    points.forEach((p, k) => (sums[k + 1] = sums[k]! + f(p)));
    return sums;
  };
  // Milliseconds keep the squares small.
  const t = (p: ReadPoint): number => (p.t - origin) / 1000;
  return {
    t: make(t),
    tt: make((p) => t(p) ** 2),
    x: make((p) => p.x),
    tx: make((p) => t(p) * p.x),
    xx: make((p) => p.x ** 2),
    far: make((p) => (1 - p.x) ** 2),
  };
}

/** Runs of readings that may be those on the way: all of them where they are few, the likeliest where they are many. */
function* insides(points: readonly ReadPoint[]): Generator<readonly [number, number]> {
  const first = points.findIndex((p) => p.x > 0.3);
  let last = points.length - 1;
  while (last > 0 && points[last]!.x > 0.7) last--;
  const reach = Math.max(12, Math.ceil(0.35 * (last - first)));
  const stride = Math.max(1, Math.floor(reach / 60));
  for (let i = Math.max(0, first - reach); i <= Math.min(points.length - 1, first + 4); i += stride)
    for (let j = Math.max(i + 1, last - 4); j <= Math.min(points.length - 1, last + reach); j += stride) yield [i, j];
}

function lineThrough(sums: Sums, i: number, j: number): Line | null {
  const of = (s: Float64Array): number => s[j + 1]! - s[i]!;
  const n = j - i + 1;
  const middle = of(sums.t) / n;
  const level = of(sums.x) / n;
  const width = of(sums.tt) - n * middle * middle;
  const product = of(sums.tx) - n * middle * level;
  const slope = product / width;
  if (!(width > 0) || !(slope > 0)) return null;
  const inside = Math.max(0, of(sums.xx) - n * level * level - slope * product);
  const total = sums.xx.length - 1;
  const squares = inside + sums.xx[i]! + (sums.far[total]! - sums.far[j + 1]!);
  return { middle: middle * 1000, level, slope: slope / 1000, width: width * 1e6, count: n, inside, squares };
}

/** Where the line has the door at reading k, 0 shut to 1 open. */
function positionOf({ middle, level, slope }: Line, points: readonly ReadPoint[], origin: number) {
  return (k: number): number => level + slope * (points[k]!.t - origin - middle);
}

/** Whether just the readings i … j lie on the way by the line through them. */
function fits(line: Line, points: readonly ReadPoint[], origin: number, i: number, j: number): boolean {
  const at = positionOf(line, points, origin);
  const near = 1e-9;
  return (
    at(i) >= -near &&
    at(j) <= 1 + near &&
    (i === 0 || at(i - 1) <= near) &&
    (j + 1 >= points.length || at(j + 1) >= 1 - near)
  );
}

/** The same with room for noise. */
function isNear(line: Line, points: readonly ReadPoint[], origin: number, i: number, j: number): boolean {
  const at = positionOf(line, points, origin);
  return (i === 0 || at(i - 1) < 0.3) && (j + 1 >= points.length || at(j + 1) > 0.7);
}

/** Where noise is cut off at the ends, readings near them are shifted: they are left out. */
function withoutEnds(
  line: Line,
  points: readonly ReadPoint[],
  origin: number,
  sums: Sums,
  { end }: Noise,
): Line | null {
  const margin = Math.min(0.3, 2.5 * end);
  const at = (k: number): number => line.level + line.slope * (points[k]!.t - origin - line.middle);
  const inside = points.flatMap((_, k) => (at(k) > margin && at(k) < 1 - margin ? [k] : []));
  return inside.length < 3 ? null : lineThrough(sums, inside[0]!, inside.at(-1)!);
}

function crossing(points: readonly ReadPoint[]): number {
  const k = points.findIndex((p) => p.x >= 0.5);
  const [a, b] = [points[k - 1] ?? points[0]!, points[k] ?? points.at(-1)!];
  return b.x === a.x ? b.t : a.t + ((0.5 - a.x) / (b.x - a.x)) * (b.t - a.t);
}
