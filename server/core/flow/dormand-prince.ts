/**
 * Dormand–Prince 5(4), an explicit Runge–Kutta pair with local extrapolation and first-same-as-last (Dormand & Prince, J. Comput.
 * Appl. Math. 6, 19 (1980); step control as in Hairer, Nørsett & Wanner, Solving Ordinary Differential Equations I, II.4).
 *
 * A kernel of our own rather than a package: flow is integrated in hundreds of short stretches between door events over two to ten
 * unknowns, where set-up and allocation cost more than the arithmetic. Figures of flow are
 * compared with those of scipy (DOP853) in tests/reference.
 */
import type { Work } from '../work/work';

/** Writes dy/dt at (t, y) into `into`. */
export type Derivative = (t: number, y: Float64Array, into: Float64Array) => void;

/** Error allowed in one step: absolute + relative · |y|, by unknown. */
export interface Tolerance {
  readonly relative: number;
  /** Per unknown. */
  readonly absolute: Float64Array;
}

export interface Outcome {
  /** Where it got: the end, or earlier where `stop` ended it or the budget ran out. */
  readonly t: number;
  readonly steps: number;
  readonly evaluations: number;
  readonly ended: 'end' | 'stopped' | 'budget';
}

const A = [
  [],
  [1 / 5],
  [3 / 40, 9 / 40],
  [44 / 45, -56 / 15, 32 / 9],
  [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729],
  [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656],
  [35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
] as const;
const C = [0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1, 1] as const;
/** Fifth minus fourth order. */
const E = [71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40] as const;

/** Steps of the method that are done at once: some hundred evaluations. */
const AT_ONCE = 32;

/** An integrator for `size` unknowns; its arrays are made once and used for every stretch. */
export class DormandPrince {
  private readonly k: Float64Array[];
  private readonly stage: Float64Array;
  private readonly next: Float64Array;
  /** Step to try first; carried over from one stretch to the next. */
  step = 0;

  constructor(readonly size: number) {
    this.k = Array.from({ length: 7 }, () => new Float64Array(size));
    this.stage = new Float64Array(size);
    this.next = new Float64Array(size);
  }

  /** Integrates `y` in place from `t` to `end`, in steps. `stop` is asked after each accepted step of the method. */
  *run(
    f: Derivative,
    y: Float64Array,
    t: number,
    end: number,
    tolerance: Tolerance,
    budget: number,
    stop: (t: number, y: Float64Array) => boolean = () => false,
  ): Work<Outcome> {
    const { k, next } = this;
    let steps = 0;
    let evaluations = 1;
    f(t, y, k[0]!);
    let h = Math.min(this.step > 0 ? this.step : (end - t) / 100, end - t);
    let shrunk = false;
    while (t < end) {
      if (evaluations >= budget) return { t, steps, evaluations, ended: 'budget' };
      // A remainder of rounding size joins the last step instead of becoming one.
      const last = t + h >= end || end - t - h < 1e-9 * h;
      if (last) h = end - t;
      this.stages(f, y, t, h);
      evaluations += 6;
      const error = this.error(y, h, tolerance);
      if (!(error <= 1)) {
        h *= Number.isFinite(error) ? Math.max(0.2, 0.9 * Math.pow(error, -0.2)) : 0.1;
        shrunk = true;
        // Below this t + h is t: the equations have no solution that can be followed.
        if (h < 1e-14 * Math.max(1, Math.abs(t))) return { t, steps, evaluations, ended: 'budget' };
        continue;
      }
      steps++;
      t = last ? end : t + h;
      y.set(next);
      // First same as last: the seventh slope is the first of the next step.
      [k[0], k[6]] = [k[6]!, k[0]!];
      // The error goes with h⁵, so the step that would just pass is h · error^(−1/5); 0.9 aims a little below. No growth after a refusal.
      const grow = Math.min(shrunk ? 1 : 5, 0.9 * Math.pow(Math.max(error, 1e-10), -0.2));
      shrunk = false;
      if (!last || h * grow > this.step) this.step = h * grow;
      h *= grow;
      if (stop(t, y)) return { t, steps, evaluations, ended: 'stopped' };
      if (steps % AT_ONCE === 0) yield;
    }
    return { t, steps, evaluations, ended: 'end' };
  }

  /** The seven slopes of a step, the last at the new value in `next`. */
  private stages(f: Derivative, y: Float64Array, t: number, h: number): void {
    const { k, stage, next, size } = this;
    for (let s = 1; s < 7; s++) {
      const row = A[s]!;
      const into = s === 6 ? next : stage;
      for (let i = 0; i < size; i++) {
        let sum = 0;
        for (let j = 0; j < s; j++) sum += row[j]! * k[j]![i]!;
        into[i] = y[i]! + h * sum;
      }
      f(t + C[s]! * h, into, k[s]!);
    }
  }

  /** Root mean square of the estimated errors, each in units of what is allowed: 1 is the limit. */
  private error(y: Float64Array, h: number, tolerance: Tolerance): number {
    const { k, next, size } = this;
    let sum = 0;
    for (let i = 0; i < size; i++) {
      let e = 0;
      for (let j = 0; j < 7; j++) e += E[j]! * k[j]![i]!;
      const scale = tolerance.absolute[i]! + tolerance.relative * Math.max(Math.abs(y[i]!), Math.abs(next[i]!));
      sum += ((h * e) / scale) ** 2;
    }
    return Math.sqrt(sum / size);
  }
}
