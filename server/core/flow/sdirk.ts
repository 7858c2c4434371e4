/**
 * ESDIRK4(3)6L[2]SA, a diagonally implicit Runge–Kutta method of order 4 with an embedded one of order 3, stiffly accurate and L-stable, whose
 * first stage is explicit (Kennedy & Carpenter, Additive Runge–Kutta schemes for convection-diffusion-reaction equations, Appl. Numer. Math.
 * 44, 139 (2003), the implicit half of ARK4(3)6L[2]SA). For y' = f(t, y), t explicit. Its order conditions are in the tests.
 *
 * Why this kind: openings make stiff equations, because a pocket of no clearance behind a wide door reaches its neighbour's pressure within
 * microseconds while the stroke lasts seconds; and the flow is a square root of a small difference, which a method that solves its
 * stages only to first order (Rosenbrock's) overshoots. The explicit first stage gives the others order 2 each: volumes at one pressure that
 * a door pushes along follow that movement to the third power of the step, with implicit stages alone only to the second.
 *
 * Each stage is solved by Newton's method with one Jacobian, taken by differences, unknowns that share no equation at once (`colours`), and
 * kept over several steps as long as it serves. Corrections are mixed as Anderson does with a memory of one: a square root near its zero sends
 * Newton's method from one side to the other without end, and from two such steps the secant finds the middle.
 *
 * L-stable: a component that decays much faster than the step is damped to nothing in it, instead of ringing on as with the trapezoidal rule.
 * Stiffly accurate: the last stage is the new value, so it satisfies the equations of the stiff unknowns by itself, and its slope is the first
 * of the next step.
 *
 * Invariants of `run`: `slopes[0]` is the slope at the top of the loop; `isFresh` while the Jacobian serves; `y` changes only when a step is accepted.
 */
import type { Work } from '../work/work';
import { NewtonMatrix } from './newton-matrix';
import { partResolved, stretchOf, type Switched } from './sdirk-edges';
import { LEAST_ERROR, nextStep, shrinkOf } from './sdirk-steps';
import { A, C, E, GAMMA, GUESS } from './sdirk-tableau';

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

/** Newton's method: iterations at most, and the part of the error allowed that it may leave. */
const ITERATIONS = 10;
const LEFT = 0.1;
/**
 * The rate of one stage is trusted only so far in the next: where openings are choked in one and not in the other it is another, and a
 * smaller bound lets strokes differ by 30 times the tolerance, so that they never settle into repeating.
 */
const LEAST_LEFT = 0.3;
/** A change larger than that of the round before by this factor ends Newton's method; a Jacobian by which it shrinks to this part serves the next step too. */
const DIVERGES = 2;
const SERVES = 0.1;
/** Steps of the method that are done at once: some hundred evaluations. */
const AT_ONCE = 16;

/** An integrator for `size` unknowns. Its arrays are made once and used for every step; `y` is the caller's and changed in place. */
export class Sdirk {
  /** Slopes of the stages of the step being tried; the first is that at its beginning. */
  private readonly slopes: readonly Float64Array[];
  /** The stage being solved; after the last, the values at the end of the step. */
  private readonly stage: Float64Array;
  /** f where the Jacobian is taken, and with unknowns shifted. */
  private readonly value: Float64Array;
  private readonly shifted: Float64Array;
  /** The part of a stage that the stages before it fix. */
  private readonly base: Float64Array;
  /** Newton's correction in this round and in the one before, and by how much the stage was really changed then. */
  private readonly correction: Float64Array;
  private readonly before: Float64Array;
  private readonly taken: Float64Array;
  /** One over the error allowed of each unknown in this step. */
  private readonly measure: Float64Array;
  private readonly jacobian: Float64Array;
  /** Unknowns, the first ones, on which anything depends; the others are sums that Newton's method need not go round for. */
  private readonly states: number;
  private readonly matrix: NewtonMatrix;
  /** Error that Newton's method leaves, as a part of its last change: as seen in the stage before, until it has been seen in this one. */
  private left = 1;
  /** The slowest convergence in the step being tried. */
  private slowest = 0;
  /** What the step being tried may have missed of a condition, and the part of it after which it is made to end instead; 0 where it is not known. */
  private missed = { error: 0, part: 0 };
  /** Length and error of the last step. */
  private last = { h: 0, error: 0 };
  evaluations = 0;
  steps = 0;

  constructor(
    readonly size: number,
    /** Groups of unknowns with no equation in common, and the equations that each unknown stands in. */
    private readonly colours: readonly (readonly number[])[],
    private readonly rows: readonly (readonly number[])[],
  ) {
    const each = (): Float64Array => new Float64Array(size);
    this.slopes = C.map(each);
    this.stage = each();
    this.value = each();
    this.shifted = each();
    this.base = each();
    this.correction = each();
    this.before = each();
    this.taken = each();
    this.measure = each();
    this.jacobian = new Float64Array(size * size);
    this.states = rows.reduce((found, row, j) => (row.length > 0 ? j + 1 : found), 0);
    this.matrix = new NewtonMatrix(size, this.states, this.jacobian);
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
    const most = this.evaluations + budget;
    let t = 0;
    this.left = 1;
    this.last = { h: 0, error: 0 };
    f(0, y, this.slopes[0]!);
    this.evaluations++;
    let h = this.firstStep(y, end, scale);
    // Whether the Jacobian is that at the start of the step, and whether there is one that will do.
    let isFresh = false;
    let serves = false;
    let hasFailed = false;
    while (t < end) {
      if (this.evaluations > most) return false;
      // A remainder of rounding size would become a step of its own, and end below the least step.
      const isLast = t + h * (1 + 1e-9) >= end;
      if (isLast) h = end - t;
      if (!serves) {
        this.differentiate(f, t, y, scale);
        isFresh = true;
      }
      const error = this.matrix.factor(h * GAMMA) ? this.attempt(f, t, y, h, scale, isLast) : Infinity;
      // Written so that NaN counts as refused as well.
      if (!(error <= 1)) {
        this.left = 1;
        // With a Jacobian from an earlier step that is the first thing to mend.
        serves = isFresh && !isLast;
        if (isFresh || Number.isFinite(error)) {
          h *= shrinkOf(error, this.missed);
          hasFailed = true;
        }
        if (h < 1e-15 * end) return false;
        continue;
      }
      t = isLast ? end : t + h;
      y.set(this.stage);
      // The slope of the last stage is that at its end; f there would carry what Newton's method left, times how stiff it is.
      this.slopes[0]!.set(this.slopes[C.length - 1]!);
      this.steps++;
      if (each) each(t, y);
      if (this.steps % AT_ONCE === 0) yield;
      if (isLast) return true;
      serves = this.slowest < SERVES;
      isFresh = false;
      const next = nextStep(h, error, this.last, hasFailed);
      this.last = { h, error: Math.max(error, LEAST_ERROR) };
      h = next;
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
      fastest = Math.max(fastest, Math.abs(this.slopes[0]![i]!) / this.weight(y[i]!, i, scale));
    }
    return fastest > 0 ? Math.min(end, Math.max(30 / fastest, 1e-7 * end)) : end;
  }

  /** Jacobian at (t, y). */
  private differentiate(f: Derivative, t: number, y: Float64Array, scale: Scale): void {
    const { size, jacobian, shifted, before: moved, value } = this;
    f(t, y, value);
    jacobian.fill(0);
    for (const group of this.colours) {
      moved.set(y);
      for (const j of group) moved[j]! += this.delta(y[j]!, j, scale);
      f(t, moved, shifted);
      for (const j of group) {
        // The difference that was really made, after rounding, and not the one asked for.
        const delta = moved[j]! - y[j]!;
        for (const i of this.rows[j]!) jacobian[i * size + j] = (shifted[i]! - value[i]!) / delta;
      }
    }
    // One evaluation a colour, not one an unknown.
    this.evaluations += 1 + this.colours.length;
  }

  /** Step of the difference quotient: about the root of the rounding of a double, with a floor for unknowns near zero. */
  private delta(y: number, j: number, scale: Scale): number {
    return 1e-8 * Math.max(Math.abs(y), 1e-5 * scale.ceiling[j]!);
  }

  /** One step of `h`: the new values in `stage`; gives the error in units of what is allowed, Infinity where Newton does not converge. */
  private attempt(f: Derivative, t: number, y: Float64Array, h: number, scale: Scale, isLast: boolean): number {
    const { size, slopes, stage, correction, measure } = this;
    this.slowest = 0;
    for (let i = 0; i < size; i++) measure[i] = 1 / this.weight(y[i]!, i, scale);
    for (let s = 1; s < C.length; s++) {
      if (!this.solveStage(f, t, y, h, s)) return Infinity;
    }
    for (let i = 0; i < size; i++) {
      let sum = 0;
      for (let s = 0; s < C.length; s++) sum += E[s]! * slopes[s]![i]!;
      correction[i] = h * sum;
    }
    if (isLast) {
      // An opening that closes does so at the end, in a layer thinner than any step, and what was fast before is not there: the Jacobian of
      // the start would damp the error that this makes.
      this.differentiate(f, t + h, stage, scale);
      if (!this.matrix.factor(h * GAMMA)) return Infinity;
    }
    // Through the matrix of the step: without that, the estimate of a stiff unknown would be far too large and the steps tiny.
    this.matrix.solve(correction);
    let error = 0;
    for (let i = 0; i < size; i++) {
      const part = correction[i]! / this.weight(Math.max(Math.abs(y[i]!), Math.abs(stage[i]!)), i, scale);
      error += part * part;
    }
    return Math.max(Math.sqrt(error / size), this.unseen(t, y, h, scale));
  }

  /** What a step that passes over the end of a condition may have wrong of an amount, in units of what is allowed. */
  private unseen(t: number, y: Float64Array, h: number, scale: Scale): number {
    let error = 0;
    let part = 0;
    for (const one of scale.switched ?? []) {
      const { unknown: i, most } = one;
      const was = this.slopes[0]![i]!;
      let own = 0;
      for (let s = 1; s < C.length; s++) {
        const now = this.slopes[s]![i]!;
        if (stretchOf(now, most) !== stretchOf(was, most))
          own = Math.max(own, (h * Math.abs(now - was)) / this.weight(y[i]!, i, scale));
      }
      if (own <= error) continue;
      const ownPart = own > 1 ? this.upTo(one, t, y, h) : 0;
      if (ownPart >= 1) continue;
      error = own;
      part = ownPart;
    }
    this.missed = { error, part };
    return error;
  }

  /**
   * The part of a step after which it ends just before an end of the condition: straight to where the step ended, or as fast as it set out,
   * whichever comes first; 1 where the whole step sees what happens, 0 where nothing is known.
   */
  private upTo({ beyond }: Switched, t: number, y: Float64Array, h: number): number {
    if (!beyond) return 0;
    const { size, shifted, stage } = this;
    const from = beyond(t, y);
    const far = beyond(t + h, stage) - from;
    const little = 1e-4 * h;
    for (let i = 0; i < size; i++) shifted[i] = y[i]! + little * this.slopes[0]![i]!;
    const fast = (beyond(t + little, shifted) - from) * (h / little);
    return partResolved(from, fast, far);
  }

  /** Solves Y = base + hγ f(t + ch, Y) for stage `s`: Y in `stage`, its slope in `slopes[s]`. */
  private solveStage(f: Derivative, t: number, y: Float64Array, h: number, s: number): boolean {
    const { states, stage, base, shifted, correction } = this;
    const { scaled } = this.matrix;
    this.begin(y, h, s);
    let last = Infinity;
    // Carried over from the stage before, with some of its certainty taken back (Hairer & Wanner, IV.8).
    this.left = Math.min(1, Math.sqrt(this.left) * Math.sqrt(Math.sqrt(this.left)));
    for (let round = 0; round < ITERATIONS; round++) {
      f(t + C[s]! * h, stage, shifted);
      this.evaluations++;
      // Residual of the stage equation; one solve with the factored matrix gives the correction.
      for (let i = 0; i < states; i++) correction[i] = base[i]! + scaled * shifted[i]! - stage[i]!;
      this.matrix.solveStates(correction);
      const change = this.correct(round === 0);
      if (!Number.isFinite(change)) return false;
      // Newton with a fixed matrix converges linearly; at `rate` the error left after this round is change · rate / (1 − rate).
      const rate = change / last;
      if (round > 0) {
        this.left = rate < 1 ? Math.max(LEAST_LEFT, rate / (1 - rate)) : Infinity;
        this.slowest = Math.max(this.slowest, rate);
      }
      if (this.left * change <= LEFT || change < 1e-10) {
        this.concludeStage(s);
        return true;
      }
      if (rate > DIVERGES && round > 1) return false;
      last = change;
    }
    return false;
  }

  /** The slope of a stage that is solved, by which its values are what they are; sums follow the states to where the last correction took them. */
  private concludeStage(s: number): void {
    const { size, states, stage, base, shifted, taken } = this;
    const { scaled } = this.matrix;
    const slope = this.slopes[s]!;
    for (let i = 0; i < states; i++) slope[i] = (stage[i]! - base[i]!) / scaled;
    for (let i = states; i < size; i++) {
      slope[i] = shifted[i]! + this.matrix.change(i, taken);
      stage[i] = base[i]! + scaled * slope[i]!;
    }
  }

  /** The part of stage `s` that is fixed, and where Newton's method begins in it. */
  private begin(y: Float64Array, h: number, s: number): void {
    const { size, slopes, stage, base } = this;
    const { scaled } = this.matrix;
    const row: readonly number[] = A[s]!;
    const guess = GUESS[s]!;
    base.fill(0);
    stage.fill(0);
    for (let j = 0; j < s; j++) {
      const before = slopes[j]!;
      const [weight, extrapolates] = [row[j]!, guess[j]!];
      for (let i = 0; i < size; i++) {
        base[i]! += weight * before[i]!;
        stage[i]! += extrapolates * before[i]!;
      }
    }
    for (let i = 0; i < size; i++) {
      base[i] = y[i]! + h * base[i]!;
      stage[i] = base[i]! + scaled * stage[i]!;
    }
  }

  /** Changes the stage by the correction, mixed with the one before; gives its size in units of what is allowed. */
  private correct(isFirst: boolean): number {
    const { states, stage, correction, before, taken, measure } = this;
    let change = 0;
    let along = 0;
    let square = 0;
    for (let i = 0; i < states; i++) {
      const part = correction[i]! * measure[i]!;
      const turn = part - before[i]! * measure[i]!;
      change += part * part;
      along += part * turn;
      square += turn * turn;
    }
    const mix = isFirst || square === 0 ? 0 : along / square;
    for (let i = 0; i < states; i++) {
      const own = correction[i]!;
      const step = own - (mix === 0 ? 0 : mix * (taken[i]! + own - before[i]!));
      stage[i]! += step;
      taken[i] = step;
      before[i] = own;
    }
    return Math.sqrt(change / states);
  }
}
