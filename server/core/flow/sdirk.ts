/**
 * SDIRK, a diagonally implicit Runge–Kutta method of order 4 with an embedded one of order 3: stiffly accurate and L-stable (Hairer &
 * Wanner, Solving Ordinary Differential Equations II, IV.6, table 6.5). For y' = f(t, y), t explicit.
 *
 * Why this kind: openings make stiff equations, because a pocket of no clearance behind a wide door reaches its neighbour's pressure within
 * microseconds while the stroke lasts seconds; and the flow is a square root of a small difference, which a method that solves its
 * stages only to first order (Rosenbrock's) overshoots. Each stage is solved by Newton's method with one Jacobian for the step, taken by
 * differences, unknowns that share no equation at once (`colours`).
 *
 * L-stable: a component that decays much faster than the step is damped to nothing in it, instead of ringing on as with the trapezoidal rule.
 * Stiffly accurate: the last stage is the new value, so it satisfies the equations of the stiff unknowns by itself.
 *
 * Invariants of `run`: `value` is f(t, y) at the top of the loop; `jacobian` belongs to that (t, y) while `isFresh`; `y` changes only when a
 * step is accepted.
 */
import type { Work } from '../work/work';

/** Writes dy/dt at (t, y) into `into`. */
export type Derivative = (t: number, y: Float64Array, into: Float64Array) => void;

/** Error allowed in one step, by unknown: absolute + relative · min(|y|, ceiling). */
export interface Scale {
  readonly relative: number;
  /** Error allowed per unknown whatever its size. */
  readonly absolute: Float64Array;
  /** The relative part is of the unknown, but of no more than this. */
  readonly ceiling: Float64Array;
  /** Unknowns that add up a rate which a condition turns on and off; left out: none. */
  readonly switched?: readonly Switched[];
}

/**
 * An amount whose rate a condition turns on and off within so little of the unknowns that a step may pass over it unseen: where the rate at
 * its start and in all its stages is that beyond the condition, nothing shows when it was passed.
 */
export interface Switched {
  readonly unknown: number;
  /** The rate with the condition fully met; Infinity where it is not one value. */
  readonly most: number;
}

// The tableau: every stage has the same diagonal γ, so that one factored matrix serves all five stages of a step. The last row of A
// is also the row of weights (stiffly accurate): the last stage is the new value.
const GAMMA = 0.25;
const A = [
  [],
  [1 / 2],
  [17 / 50, -1 / 25],
  [371 / 1360, -137 / 2720, 15 / 544],
  [25 / 24, -49 / 48, 125 / 16, -85 / 12],
] as const;
const C = [1 / 4, 3 / 4, 11 / 20, 1 / 2, 1] as const;
/** Fourth minus third order. */
const E = [-3 / 16, -27 / 32, 25 / 32, 0, 1 / 4] as const;
/**
 * Where Newton's method begins in each stage, as weights of the slopes so far (the first is that at the start of the step): on the line,
 * then the parabolas through them. The last stage begins at the embedded solution, which needs no slope of its own.
 */
const GUESS = [
  [1],
  [-2, 3],
  [-8 / 25, 22 / 25, 11 / 25],
  [-1 / 33, 1 / 6, -1 / 12, 125 / 132],
  [0, 3 / 4, 27 / 8, -25 / 8, 0],
] as const;
/** Newton's method: iterations at most, and the part of the error allowed that it may leave. */
const ITERATIONS = 7;
const LEFT = 0.02;
/**
 * The rate of one stage is trusted only so far in the next: where openings are choked in one and not in the other it is another, and a
 * smaller bound lets strokes differ by 30 times the tolerance, so that they never settle into repeating.
 */
const LEAST_LEFT = 0.3;
/** Steps of the method that are done at once: some hundred evaluations. */
const AT_ONCE = 16;

/** Rates within this part of none or of all count as that: stages are solved to so much. */
const SAME_RATE = 1e-6;

/** On which side of its condition a rate is that goes from 0 to `most`: 0 off, 1 between, 2 on. */
const stretchOf = (rate: number, most: number): 0 | 1 | 2 =>
  Math.abs(rate) <= SAME_RATE * Math.min(most, 1) ? 0 : rate < most * (1 - SAME_RATE) ? 1 : 2;

/** An integrator for `size` unknowns. Its arrays are made once and used for every step; `y` is the caller's and changed in place. */
export class Sdirk {
  /** Slopes of the five stages of the step being tried. */
  private readonly k: Float64Array[];
  /** The stage being solved; after the fifth, the values at the end of the step. */
  private readonly stage: Float64Array;
  /** f at the beginning of the step. */
  private readonly value: Float64Array;
  private readonly shifted: Float64Array;
  /** The part of a stage that the stages before it fix. */
  private readonly base: Float64Array;
  private readonly correction: Float64Array;
  private readonly jacobian: Float64Array;
  /** 1 − hγJ, factored in place: unit lower and upper triangle in one array, by rows. */
  private readonly matrix: Float64Array;
  private readonly pivot: Int32Array;
  /** Error that Newton's method leaves, as a part of its last change: as seen in the stage before, until it has been seen in this one. */
  private left = 1;
  evaluations = 0;
  steps = 0;

  constructor(
    readonly size: number,
    /** Groups of unknowns with no equation in common, and the equations that each unknown stands in. */
    private readonly colours: readonly (readonly number[])[],
    private readonly rows: readonly (readonly number[])[],
  ) {
    this.k = Array.from({ length: 5 }, () => new Float64Array(size));
    this.stage = new Float64Array(size);
    this.value = new Float64Array(size);
    this.shifted = new Float64Array(size);
    this.base = new Float64Array(size);
    this.correction = new Float64Array(size);
    this.jacobian = new Float64Array(size * size);
    this.matrix = new Float64Array(size * size);
    this.pivot = new Int32Array(size);
  }

  /**
   * Integrates `y` in place from 0 to `end`, in steps; `each` sees every accepted step of the method. False where `budget` evaluations
   * were not enough.
   */
  *run(
    f: Derivative,
    y: Float64Array,
    end: number,
    scale: Scale,
    budget: number,
    each?: (t: number, y: Float64Array) => void,
  ): Work<boolean> {
    const { value } = this;
    const last = this.evaluations + budget;
    let t = 0;
    this.left = 1;
    f(0, y, value);
    this.evaluations++;
    let h = this.firstStep(y, end, scale);
    // A Jacobian belongs to one (t, y): a step that is tried again with another `h` takes it as it is.
    let isFresh = false;
    let hasFailed = false;
    while (t < end) {
      if (this.evaluations > last) return false;
      // A remainder of rounding size would become a step of its own, and end below the least step.
      const isLast = t + h * (1 + 1e-9) >= end;
      if (isLast) h = end - t;
      if (!isFresh) this.differentiate(f, t, y, scale);
      isFresh = true;
      const error = this.factor(h) ? this.attempt(f, t, y, h, scale) : Infinity;
      // Written so that NaN counts as refused as well.
      if (!(error <= 1)) {
        h *= Number.isFinite(error) ? Math.max(0.15, 0.85 * Math.pow(error, -0.25)) : 0.25;
        hasFailed = true;
        this.left = 1;
        if (h < 1e-15 * end) return false;
        continue;
      }
      t = isLast ? end : t + h;
      y.set(this.stage);
      this.steps++;
      if (each) each(t, y);
      if (this.steps % AT_ONCE === 0) yield;
      if (isLast) return true;
      f(t, y, value);
      this.evaluations++;
      isFresh = false;
      // The embedded method has order 3, so its error goes with h⁴; 0.85 aims below what is allowed. No growth after a refusal.
      const grow = 0.85 * Math.pow(Math.max(error, 1e-8), -0.25);
      h *= Math.min(hasFailed ? 1 : 6, Math.max(0.2, grow));
      hasFailed = false;
    }
    return true;
  }

  /** The error allowed of unknown `i`: errors are compared as multiples of it, so that 1 is the limit for all. */
  private weight(y: number, i: number, { relative, absolute, ceiling }: Scale): number {
    return absolute[i]! + relative * Math.min(Math.abs(y), ceiling[i]!);
  }

  /** A first step in which the fastest unknown moves by some thirty times its allowed error; the control of steps does the rest. */
  private firstStep(y: Float64Array, end: number, scale: Scale): number {
    let fastest = 0;
    for (let i = 0; i < this.size; i++) {
      fastest = Math.max(fastest, Math.abs(this.value[i]!) / this.weight(y[i]!, i, scale));
    }
    return fastest > 0 ? Math.min(end, Math.max(30 / fastest, 1e-7 * end)) : end;
  }

  /** Jacobian at (t, y), where `value` is f. */
  private differentiate(f: Derivative, t: number, y: Float64Array, scale: Scale): void {
    const { size, jacobian, shifted, stage, value } = this;
    jacobian.fill(0);
    for (const group of this.colours) {
      stage.set(y);
      for (const j of group) stage[j]! += this.delta(y[j]!, j, scale);
      f(t, stage, shifted);
      for (const j of group) {
        // The difference that was really made, after rounding, and not the one asked for.
        const delta = stage[j]! - y[j]!;
        for (const i of this.rows[j]!) jacobian[i * size + j] = (shifted[i]! - value[i]!) / delta;
      }
    }
    // One evaluation a colour, not one an unknown.
    this.evaluations += this.colours.length;
  }

  /** Step of the difference quotient: about the root of the rounding of a double, with a floor for unknowns near zero. */
  private delta(y: number, j: number, scale: Scale): number {
    return 1e-8 * Math.max(Math.abs(y), 1e-5 * scale.ceiling[j]!);
  }

  /** LU of 1 − hγJ with row pivots; false where it is singular. */
  private factor(h: number): boolean {
    const { size: n, jacobian, matrix, pivot } = this;
    for (let i = 0; i < n * n; i++) matrix[i] = -h * GAMMA * jacobian[i]!;
    for (let i = 0; i < n; i++) matrix[i * n + i]! += 1;
    for (let k = 0; k < n; k++) {
      let best = k;
      for (let i = k + 1; i < n; i++) {
        if (Math.abs(matrix[i * n + k]!) > Math.abs(matrix[best * n + k]!)) best = i;
      }
      pivot[k] = best;
      if (best !== k) {
        for (let j = 0; j < n; j++) {
          const swap = matrix[k * n + j]!;
          matrix[k * n + j] = matrix[best * n + j]!;
          matrix[best * n + j] = swap;
        }
      }
      const head = matrix[k * n + k]!;
      if (!(Math.abs(head) > 0)) return false;
      for (let i = k + 1; i < n; i++) {
        const part = matrix[i * n + k]!;
        // The Jacobian of a chain of volumes is mostly zeros.
        if (part === 0) continue;
        const ratio = part / head;
        matrix[i * n + k] = ratio;
        for (let j = k + 1; j < n; j++) matrix[i * n + j]! -= ratio * matrix[k * n + j]!;
      }
    }
    return true;
  }

  /** Solves the factored system for `x` in place: rows exchanged as recorded, then forward and back substitution. */
  private solve(x: Float64Array): void {
    const { size: n, matrix, pivot } = this;
    for (let k = 0; k < n; k++) {
      const p = pivot[k]!;
      if (p === k) continue;
      const swap = x[k]!;
      x[k] = x[p]!;
      x[p] = swap;
    }
    for (let i = 1; i < n; i++) {
      let sum = x[i]!;
      for (let j = 0; j < i; j++) sum -= matrix[i * n + j]! * x[j]!;
      x[i] = sum;
    }
    for (let i = n - 1; i >= 0; i--) {
      let sum = x[i]!;
      for (let j = i + 1; j < n; j++) sum -= matrix[i * n + j]! * x[j]!;
      x[i] = sum / matrix[i * n + i]!;
    }
  }

  /** One step of `h`: the new values in `stage`; gives the error in units of what is allowed, Infinity where Newton does not converge. */
  private attempt(f: Derivative, t: number, y: Float64Array, h: number, scale: Scale): number {
    const { size, k, stage, correction } = this;
    for (let s = 0; s < 5; s++) {
      if (!this.solveStage(f, t, y, h, s, scale)) return Infinity;
    }
    for (let i = 0; i < size; i++) {
      let sum = 0;
      for (let s = 0; s < 5; s++) sum += E[s]! * k[s]![i]!;
      correction[i] = h * sum;
    }
    // Through the matrix of the step: without that, the estimate of a stiff unknown would be far too large and the steps tiny.
    this.solve(correction);
    let error = 0;
    for (let i = 0; i < size; i++) {
      const part = correction[i]! / this.weight(Math.max(Math.abs(y[i]!), Math.abs(stage[i]!)), i, scale);
      error += part * part;
    }
    return Math.max(Math.sqrt(error / size), this.unseen(y, h, scale));
  }

  /** What a step that passes over the end of a condition may have wrong of an amount, in units of what is allowed. */
  private unseen(y: Float64Array, h: number, scale: Scale): number {
    let error = 0;
    for (const { unknown: i, most } of scale.switched ?? []) {
      const was = this.value[i]!;
      for (const { [i]: now } of this.k) {
        if (stretchOf(now!, most) !== stretchOf(was, most))
          error = Math.max(error, (h * Math.abs(now! - was)) / this.weight(y[i]!, i, scale));
      }
    }
    return error;
  }

  /** Solves Y = base + hγ f(t + ch, Y) for stage `s`: Y in `stage`, its slope in `k[s]`. */
  private solveStage(f: Derivative, t: number, y: Float64Array, h: number, s: number, scale: Scale): boolean {
    const { size, k, stage, base, shifted, correction } = this;
    const row = A[s]! as readonly number[];
    const guess = GUESS[s]! as readonly number[];
    for (let i = 0; i < size; i++) {
      let sum = 0;
      let slope = guess[0]! * this.value[i]!;
      for (let j = 0; j < s; j++) {
        const kj = k[j]![i]!;
        sum += row[j]! * kj;
        slope += guess[j + 1]! * kj;
      }
      base[i] = y[i]! + h * sum;
      stage[i] = base[i]! + h * GAMMA * slope;
    }
    let last = Infinity;
    // Carried over from the stage before, with some of its certainty taken back (Hairer & Wanner, IV.8).
    this.left = Math.min(1, Math.pow(this.left, 0.8));
    for (let round = 0; round < ITERATIONS; round++) {
      f(t + C[s]! * h, stage, shifted);
      this.evaluations++;
      // Residual of the stage equation; one solve with the factored matrix gives the correction.
      for (let i = 0; i < size; i++) correction[i] = base[i]! + h * GAMMA * shifted[i]! - stage[i]!;
      this.solve(correction);
      let change = 0;
      for (let i = 0; i < size; i++) {
        stage[i]! += correction[i]!;
        const part = correction[i]! / this.weight(y[i]!, i, scale);
        change += part * part;
      }
      change = Math.sqrt(change / size);
      if (!Number.isFinite(change)) return false;
      // Newton with a fixed matrix converges linearly; at `rate` the error left after this round is change · rate / (1 − rate).
      const rate = change / last;
      if (round > 0) this.left = rate < 1 ? Math.max(LEAST_LEFT, rate / (1 - rate)) : Infinity;
      if (this.left * change <= LEFT || change < 1e-10) {
        for (let i = 0; i < size; i++) k[s]![i] = (stage[i]! - base[i]!) / (h * GAMMA);
        return true;
      }
      // Slower than that, seven rounds do not suffice: better a smaller step, whose matrix fits better.
      if (rate > 0.9 && round > 1) return false;
      last = change;
    }
    return false;
  }
}
