/**
 * Non-linear least squares by Levenberg and Marquardt (Marquardt, J. Soc. Ind. Appl. Math. 11, 431 (1963)) with a numerical Jacobian, and
 * Huber's weights against outliers (Huber, Ann. Math. Statist. 35, 73 (1964)). A kept package was looked at (ml-levenberg-marquardt): it
 * fits curves y(x) and gives no covariance, which is what the intervals come from.
 */

import { finish, type Work } from '../work/work';

export interface Parameter {
  readonly start: number;
  /** Kept inside these. */
  readonly low: number;
  readonly high: number;
  /** By how much it is moved to see what it changes: well above the error of what is simulated. */
  readonly step: number;
}

export interface Fit {
  readonly values: readonly number[];
  /** (JᵀJ)⁻¹ of the residuals as given, null where some combination of the parameters does not move them. */
  readonly inverse: readonly (readonly number[])[] | null;
  /** Columns: derivative of every residual by one parameter, at `values`. */
  readonly jacobian: readonly (readonly number[])[];
  readonly residuals: readonly number[];
  readonly iterations: number;
  readonly converged: boolean;
}

type Residuals = (values: readonly number[]) => Work<readonly number[]>;

/** Residuals beyond this many standard deviations count by their size and no longer by their square. */
const HUBER = 2.5;
/** A step that would lower the sum of squares by no more than this is none: a hundredth of a standard deviation of what is fitted. */
const NOTHING_LEFT = 1e-4;

/** Minimises the sum of squares of `residuals(values)`, which are in standard deviations; outliers count less. Deterministic. */
export const fitLeastSquares = (
  residuals: (values: readonly number[]) => readonly number[],
  parameters: readonly Parameter[],
  iterations?: number,
): Fit =>
  finish(
    fitLeastSquaresWork(
      function* (values) {
        yield;
        return residuals(values);
      },
      parameters,
      iterations,
    ),
  );

/** The same in the steps in which residuals are computed. */
export function* fitLeastSquaresWork(
  residuals: Residuals,
  parameters: readonly Parameter[],
  iterations = 40,
): Work<Fit> {
  let values = parameters.map((p) => clamp(p.start, p));
  let r = yield* residuals(values);
  let damping = 1e-3;
  let converged = false;
  let k = 0;
  let jacobian = yield* jacobianAt(residuals, values, r, parameters);
  for (; k < iterations && !converged; k++) {
    const weights = r.map((x) => (Math.abs(x) <= HUBER ? 1 : HUBER / Math.abs(x)));
    const { normal, gradient } = normalEquations(jacobian, r, weights);
    const whole = solve(normal, gradient);
    const sum = loss(r);
    if (whole && isInside(values, whole, parameters) && dot(whole, gradient) <= NOTHING_LEFT) {
      // The last step: over so little, the derivatives stay what they are.
      const next = values.map((v, i) => v - whole[i]!);
      const nextR = yield* residuals(next);
      if (loss(nextR) <= sum) [values, r] = [next, nextR];
      converged = true;
      break;
    }
    let improved = false;
    for (let attempt = 0; attempt < 10 && !improved; attempt++) {
      const damped = normal.map((row, i) => row.map((v, j) => (i === j ? v * (1 + damping) + 1e-300 : v)));
      const step = solve(damped, gradient);
      const next = step ? values.map((v, i) => clamp(v - step[i]!, parameters[i]!)) : values;
      const nextR = yield* residuals(next);
      const nextSum = loss(nextR);
      if (step && nextSum <= sum) {
        const moved = Math.max(...next.map((v, i) => Math.abs(v - values[i]!) / parameters[i]!.step));
        converged = moved < 1e-3 || sum - nextSum <= 1e-9 * sum;
        [values, r] = [next, nextR];
        damping = Math.max(damping / 9, 1e-12);
        improved = true;
      } else damping *= 8;
    }
    if (!improved) converged = true;
    else jacobian = yield* jacobianAt(residuals, values, r, parameters);
  }
  return {
    values,
    inverse: inverseOf(normalEquations(jacobian, r).normal),
    jacobian,
    residuals: r,
    iterations: k,
    converged,
  };
}

const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, v, k) => sum + v * b[k]!, 0);

/** Whether a step (to be taken off) stays within the bounds. */
const isInside = (values: readonly number[], step: readonly number[], parameters: readonly Parameter[]): boolean =>
  values.every((v, i) => v - step[i]! >= parameters[i]!.low && v - step[i]! <= parameters[i]!.high);

const clamp = (v: number, { low, high }: Parameter): number => Math.min(high, Math.max(low, v));

const loss = (r: readonly number[]): number =>
  r.reduce((sum, x) => sum + (Math.abs(x) <= HUBER ? x * x : HUBER * (2 * Math.abs(x) - HUBER)), 0);

function* jacobianAt(
  residuals: Residuals,
  values: readonly number[],
  r: readonly number[],
  parameters: readonly Parameter[],
): Work<number[][]> {
  const columns: number[][] = [];
  for (const [i, v] of values.entries()) {
    const { high, step } = parameters[i]!;
    const h = v + step <= high ? step : -step;
    const moved = yield* residuals(values.map((w, j) => (j === i ? w + h : w)));
    columns.push(moved.map((x, k) => (x - r[k]!) / h));
  }
  return columns;
}

function normalEquations(jacobian: readonly (readonly number[])[], r: readonly number[], weights?: readonly number[]) {
  const weighted = (a: readonly number[], b: readonly number[]): number => {
    let sum = 0;
    for (let k = 0; k < a.length; k++) sum += (weights ? weights[k]! : 1) * a[k]! * b[k]!;
    return sum;
  };
  return {
    normal: jacobian.map((a) => jacobian.map((b) => weighted(a, b))),
    gradient: jacobian.map((a) => weighted(a, r)),
  };
}

/** Gaussian elimination with row exchange; null where the system is singular. */
export function solve(matrix: readonly (readonly number[])[], right: readonly number[]): number[] | null {
  const n = right.length;
  const a = matrix.map((row, i) => [...row, right[i]!]);
  for (let col = 0; col < n; col++) {
    let pivot = col;
    for (let row = col + 1; row < n; row++) if (Math.abs(a[row]![col]!) > Math.abs(a[pivot]![col]!)) pivot = row;
    if (!(Math.abs(a[pivot]![col]!) > 1e-280)) return null;
    [a[col], a[pivot]] = [a[pivot]!, a[col]!];
    for (let row = col + 1; row < n; row++) {
      const factor = a[row]![col]! / a[col]![col]!;
      for (let k = col; k <= n; k++) a[row]![k]! -= factor * a[col]![k]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let row = n - 1; row >= 0; row--) {
    let sum = a[row]![n]!;
    for (let k = row + 1; k < n; k++) sum -= a[row]![k]! * x[k]!;
    x[row] = sum / a[row]![row]!;
  }
  return x;
}

/** Null where it is singular to rounding, after scaling to ones on the diagonal. */
export function inverseOf(matrix: readonly (readonly number[])[]): number[][] | null {
  const scale = matrix.map((row, i) => Math.sqrt(row[i]!));
  if (scale.some((s) => !(s > 0))) return null;
  const scaled = matrix.map((row, i) => row.map((v, j) => v / scale[i]! / scale[j]!));
  const columns = scaled.map((_, i) =>
    solve(
      scaled,
      scaled.map((__, j) => (i === j ? 1 : 0)),
    ),
  );
  // The diagonal of the scaled inverse is by how much correlation spreads a value.
  if (columns.some((c, i) => c === null || !(c[i]! > 0) || c[i]! > 1e9)) return null;
  return columns.map((c, i) => c!.map((v, j) => v / scale[i]! / scale[j]!));
}
