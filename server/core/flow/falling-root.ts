/**
 * Where an expensive function that only falls has given values. Every point that was ever evaluated is kept, so that one curve answers several
 * questions: each begins from the nearest points, and after two or three evaluations inverse interpolation is as good as the function.
 *
 * An evaluation may be hundreds of strokes, so the number of them is all that counts. Invariants: `points` are ascending in x, all finite,
 * each x once; a search keeps a ≤ root ≤ b with values on both sides of what is wanted, whatever the interpolation proposes.
 */
import type { Work } from '../work/work';

interface Point {
  readonly x: number;
  readonly y: number;
}

/** Points that an interpolation goes through at most. */
const THROUGH = 4;
const ROUNDS = 60;

/** An expensive falling function with every value of it that is known. */
export class FallingCurve {
  private readonly points: Point[] = [];

  constructor(
    private readonly f: (x: number) => Work<number>,
    /** Relative error of x that is good enough. */
    private readonly tolerance: number,
  ) {}

  /** The value at `x`, evaluated once. */
  *at(x: number): Work<number> {
    const known = this.points.find((point) => point.x === x);
    if (known) return known.y;
    const y = yield* this.f(x);
    const place = this.points.findIndex((point) => point.x > x);
    // A withheld value (NaN) is not kept: it would spoil the order.
    if (Number.isFinite(y)) this.points.splice(place < 0 ? this.points.length : place, 0, { x, y });
    return y;
  }

  /** x at which the function is `wanted`; null where it is not between its values at `low` and `high`, or has no value. */
  *where(wanted: number, low: number, high: number): Work<number | null> {
    if (!((yield* this.at(low)) >= wanted) || !((yield* this.at(high)) <= wanted)) return null;
    let last = Number.NaN;
    let width = Infinity;
    for (let round = 0; round < ROUNDS; round++) {
      const [a, b] = this.around(wanted, low, high);
      if (a.y === wanted) return a.x;
      if (b.x - a.x <= this.tolerance * b.x) return 0.5 * (a.x + b.x);
      // A bracket that hardly closes is halved: the curve bends more than the interpolation takes.
      const isSlow = round % 3 === 2 && b.x - a.x > 0.25 * width;
      if (round % 3 === 2) width = b.x - a.x;
      const guess = this.interpolated(wanted, a, b);
      const x = isSlow || !(guess > a.x && guess < b.x) ? 0.5 * (a.x + b.x) : guess;
      if (!isSlow && Math.abs(x - last) <= this.tolerance * b.x) return x;
      const y = yield* this.at(x);
      if (!Number.isFinite(y)) return null;
      if (y === wanted) return x;
      last = x;
    }
    return last;
  }

  /** The nearest known points on both sides. */
  private around(wanted: number, low: number, high: number): [Point, Point] {
    const inside = this.points.filter(({ x }) => x >= low && x <= high);
    const after = inside.findIndex(({ y }) => y < wanted);
    const b = after < 0 ? inside.length - 1 : Math.max(1, after);
    return [inside[b - 1]!, inside[b]!];
  }

  /** Inverse interpolation through the points nearest to the bracket, x as a function of y; the secant where they do not fall. */
  private interpolated(wanted: number, a: Point, b: Point): number {
    const secant = a.y === b.y ? 0.5 * (a.x + b.x) : a.x + ((a.y - wanted) / (a.y - b.y)) * (b.x - a.x);
    const first = this.points.indexOf(a);
    // Lagrange's polynomial for x by y through up to four points around the bracket.
    const near = this.points.slice(Math.max(0, first - 1), first - 1 < 0 ? THROUGH - 1 : first - 1 + THROUGH);
    // Not falling strictly (rounding near a flat end): x is not a function of y there, and the interpolation would divide by nothing.
    if (near.length < 3 || near.some((point, k) => k > 0 && !(point.y < near[k - 1]!.y))) return secant;
    return near.reduce((sum, point, k) => {
      const weight = near.reduce((w, other, j) => (j === k ? w : (w * (wanted - other.y)) / (point.y - other.y)), 1);
      return sum + weight * point.x;
    }, 0);
  }
}
