/** Questions about single strokes at a given state: what one moves, where it moves nothing, where it keeps pace with a feed. */
import type { FlowModel, Trapped } from './balance';
import { Balance, startContents } from './balance';
import type { Program } from './program';

/** What one stroke of a program does to the chambers when they hold `masses` at its start. */
export interface StrokeResult {
  /** kg gained per chamber and stroke (negative: lost). */
  readonly gains: Float64Array;
  /** Work of the doors on the contents per stroke, J. */
  readonly work: number;
  readonly trapped: readonly Trapped[];
}

/** Strokes run first with the chambers put back each time, so that the pockets hold what they hold in a running rig. */
const WARM = 2;

/** One stroke with all feeds and draws off. `masses` in kg, one per chamber. */
export function strokeFrom(model: FlowModel, program: Program, masses: readonly number[]): StrokeResult {
  const { chambers } = model.network;
  const balance = new Balance(
    { ...model, lines: [], start: masses },
    startContents({ ...model, start: masses }, program.startVolumes),
  );
  const { mass, temperature } = balance.contents;
  const reset = (): void => {
    for (let k = 0; k < chambers; k++) {
      mass[k] = masses[k]!;
      temperature[k] = model.vessels[k]!.temperature;
    }
  };
  for (let k = 0; k < WARM; k++) {
    balance.stroke(program);
    reset();
  }
  const work = new Float64Array(1);
  const trapped: Trapped[] = [];
  balance.stroke(program, { work, trapped });
  const gains = new Float64Array(chambers);
  for (let k = 0; k < chambers; k++) gains[k] = beyondRounding(mass[k]! - masses[k]!, masses[k]!) / program.strokes;
  return { gains, work: work[0]! / program.strokes, trapped };
}

/** What is only the rounding of a sum of masses is nothing. */
const beyondRounding = (change: number, of: number): number => (Math.abs(change) <= 1e-13 * of ? 0 : change);

/** Mass where a function that falls through zero is zero; null where it never does within `[low, high]`. */
export function fallingRoot(f: (x: number) => number, low: number, high: number): number | null {
  let [a, b] = [low, high];
  let [fa, fb] = [f(a), f(b)];
  if (fa < 0 || fb > 0 || !Number.isFinite(fa) || !Number.isFinite(fb)) return null;
  for (let k = 0; k < 60 && b - a > 1e-11 * b; k++) {
    // Illinois: the secant of a straight line is exact at once, and the bracket never opens.
    const x = fa === fb ? 0.5 * (a + b) : (a * fb - b * fa) / (fb - fa);
    const y = f(x);
    if (y === 0) return x;
    if (y > 0) {
      a = x;
      fa = y;
      fb /= 2;
    } else {
      b = x;
      fb = y;
      fa /= 2;
    }
    if (Math.abs(y) <= 1e-13 * Math.max(1, b)) return x;
  }
  return 0.5 * (a + b);
}

/** How far a ceiling is looked for: times the mass that fills the chamber at the start, or at 1 bar. */
const FAR = 1e5;

/**
 * Mass in chamber `to` at which a stroke moves nothing into it, the other chambers held at `masses`; null where strokes always move
 * something (no clearance) or nothing even at the start.
 */
export function ceilingMass(model: FlowModel, program: Program, masses: readonly number[], to: number): number | null {
  const gain = (m: number): number => {
    const state = masses.slice();
    state[to] = m;
    return strokeFrom(model, program, state).gains[to]!;
  };
  const scale = Math.max(
    masses[to]!,
    ...masses.map((m, k) => (m * model.vessels[to]!.volume) / (model.vessels[k]!.volume || 1)),
    1e-9,
  );
  const low = masses[to]!;
  if (!(gain(low) > 1e-12 * scale)) return null;
  for (let high = scale * 2; high <= scale * FAR; high *= 4) {
    if (gain(high) <= 0) return fallingRoot(gain, low, high);
  }
  return null;
}

/**
 * Mass in chamber `from` at which strokes take out as much as flows in within one interval (`inflow` kg), the others held at
 * `masses`: where the rig settles. Null where it never does.
 */
export function balanceMass(
  model: FlowModel,
  program: Program,
  masses: readonly number[],
  from: number,
  inflow: number,
): number | null {
  const surplus = (m: number): number => {
    const state = masses.slice();
    state[from] = m;
    return inflow + strokeFrom(model, program, state).gains[from]!;
  };
  if (surplus(0) < 0) return 0;
  const scale = Math.max(masses[from]!, inflow, 1e-9);
  for (let high = scale * 2; high <= scale * 1e4; high *= 4) {
    if (surplus(high) <= 0) return fallingRoot(surplus, 0, high);
  }
  return null;
}
