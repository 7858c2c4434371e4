/**
 * Passages of a door that are read only a few times on the way. No single one shows how long it takes: a line through one reading on the way
 * and one at an end is too flat, and puts the half up to a tenth of a step off, always to the same side. All passages in one direction are
 * therefore fitted together, clamped ramps of one travel, each with its own half.
 */

export interface ReadPoint {
  /** µs */
  readonly t: number;
  /** 0 … 1 */
  readonly x: number;
}

export interface Passing {
  /** µs */
  readonly half: number;
  /** Its squared deviation for readings with a noise of one and a travel with a squared deviation of `spread`. */
  readonly shift: number;
}

export interface CommonTravel {
  /** µs */
  readonly takes: number;
  /** Its squared deviation for readings with a noise of one; infinite where the readings on the way do not show it. */
  readonly spread: number;
  /** Sum of squares about the ramps on the way, and its degrees of freedom. */
  readonly squares: number;
  readonly dof: number;
}

const ROUNDS = 10;
/** Passages that are fitted together at most. */
const MOST = 60;
/** Travels tried, each so much longer than the one before; then a section of the best. */
const RATIO = 1.04;
const SECTIONS = 20;

interface Laid {
  readonly half: number;
  readonly inside: readonly ReadPoint[];
  readonly square: number;
}

/**
 * The half of the clamped ramp of `takes` µs from 0 to 1 that lies nearest to the points (least squares); null where none lies on the way.
 * `margin`: readings this near to an end may be noise of the end.
 */
export function passingOf(points: readonly ReadPoint[], takes: number, spread: number, margin: number): Passing | null {
  const laid = layAlong(points, takes, margin);
  if (!laid) return null;
  const { half, inside } = laid;
  const level = inside.reduce((sum, { x }) => sum + x, 0) / inside.length;
  return { half, shift: takes ** 2 / inside.length + (0.5 - level) ** 2 * spread };
}

function layAlong(points: readonly ReadPoint[], takes: number, margin: number): Laid | null {
  const squares = (half: number): number =>
    points.reduce((sum, { t, x }) => sum + (x - Math.min(1, Math.max(0, 0.5 + (t - half) / takes))) ** 2, 0);
  const onTheWay = points.filter(({ x }) => x > margin && x < 1 - margin);
  let best: Laid | null = null;
  for (const first of onTheWay) {
    let half = first.t - (first.x - 0.5) * takes;
    for (let round = 0; round < ROUNDS; round++) {
      const inside = onTheWay.filter(({ t }) => Math.abs(t - half) < takes / 2);
      if (inside.length === 0) break;
      half = inside.reduce((sum, { t, x }) => sum + t - (x - 0.5) * takes, 0) / inside.length;
      const square = squares(half);
      if (best && square >= best.square - 1e-12) break;
      best = { half, inside, square };
    }
  }
  return best;
}

/**
 * The travel that all passages have together; null where none has a reading on the way. Points rise from 0 to 1. `noise`: standard deviation
 * of a reading, as far as it is known: over which change of the travel its curvature is taken.
 */
export function commonTravel(
  all: readonly (readonly ReadPoint[])[],
  margin: number,
  noise: number,
): CommonTravel | null {
  const passages = all.slice(0, MOST).filter((points) => points.some(({ x }) => x > margin && x < 1 - margin));
  if (passages.length === 0) return null;
  const squares = (takes: number): number =>
    passages.reduce((sum, points) => sum + (layAlong(points, takes, margin)?.square ?? points.length), 0);
  const takes = leastAt(squares, ...boundsOf(passages));
  let [width, square, inside, shown] = [0, 0, 0, 0];
  for (const points of passages) {
    const laid = layAlong(points, takes, margin);
    if (!laid) continue;
    const middle = laid.inside.reduce((sum, { t }) => sum + t, 0) / laid.inside.length;
    width += laid.inside.reduce((sum, { t }) => sum + (t - middle) ** 2, 0);
    square += laid.inside.reduce((sum, { t, x }) => sum + (x - 0.5 - (t - laid.half) / takes) ** 2, 0);
    inside += laid.inside.length;
    shown++;
  }
  const spread = takes ** 4 / width;
  return { takes, spread: curvedSpread(squares, takes, spread, noise), squares: square, dof: inside - shown - 1 };
}

/** Readings at the ends bound a travel, too: by how much the squares rise on both sides of the least, over a deviation as the way alone has it. */
function curvedSpread(squares: (takes: number) => number, takes: number, spread: number, noise: number): number {
  const by = noise * Math.sqrt(spread);
  if (!(by > 0) || by > 0.3 * takes) return spread;
  const rise = 0.5 * (squares(takes + by) + squares(takes - by)) - squares(takes);
  return Math.min(spread, by ** 2 / Math.max(rise, 1e-300));
}

/** From a tenth of the shortest step to the longest passage. */
function boundsOf(passages: readonly (readonly ReadPoint[])[]): [number, number] {
  const steps = passages.flatMap((points) => points.slice(1).map((p, k) => p.t - points[k]!.t));
  const spans = passages.map((points) => points.at(-1)!.t - points[0]!.t);
  return [Math.max(1, 0.1 * Math.min(...steps)), Math.max(...spans)];
}

/** Where a function of one number is least between two bounds: the best of a row of trials, then golden sections about it. */
function leastAt(of: (v: number) => number, low: number, high: number): number {
  let best = low;
  let least = Infinity;
  for (let v = low; v <= high; v *= RATIO) {
    const here = of(v);
    if (here < least) [best, least] = [v, here];
  }
  let [a, b] = [best / RATIO, best * RATIO];
  const golden = (Math.sqrt(5) - 1) / 2;
  for (let k = 0; k < SECTIONS; k++) {
    const [c, d] = [b - golden * (b - a), a + golden * (b - a)];
    if (of(c) <= of(d)) b = d;
    else a = c;
  }
  return 0.5 * (a + b);
}
