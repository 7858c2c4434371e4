/**
 * Non-linear least squares by Levenberg and Marquardt (Marquardt, J. Soc. Ind. Appl. Math. 11, 431 (1963)) with a numerical Jacobian:
 * a hundred lines for at most a handful of parameters, so no package is asked for.
 */

export interface Parameter {
  readonly start: number;
  /** Kept inside these. */
  readonly low: number;
  readonly high: number;
}

export interface Fit {
  readonly values: readonly number[];
  /** Standard deviation of each value from the scatter of the residuals; null where the data do not determine it. */
  readonly deviations: readonly (number | null)[];
  readonly residuals: readonly number[];
  /** Root mean square of the residuals. */
  readonly rms: number;
  readonly iterations: number;
  readonly converged: boolean;
}

/** Minimises the sum of squares of `residuals(values)`. Deterministic. */
export function fitLeastSquares(
  residuals: (values: readonly number[]) => readonly number[],
  parameters: readonly Parameter[],
  iterations = 60,
): Fit {
  let values = parameters.map((p) => clamp(p.start, p));
  let r = residuals(values);
  let sum = squares(r);
  let damping = 1e-3;
  let converged = false;
  let k = 0;
  for (; k < iterations && !converged; k++) {
    const jacobian = jacobianAt(residuals, values, r, parameters);
    const { normal, gradient } = normalEquations(jacobian, r);
    let improved = false;
    for (let attempt = 0; attempt < 12 && !improved; attempt++) {
      const damped = normal.map((row, i) => row.map((v, j) => (i === j ? v * (1 + damping) + 1e-300 : v)));
      const step = solve(damped, gradient);
      const next = step ? values.map((v, i) => clamp(v - step[i]!, parameters[i]!)) : values;
      const nextR = residuals(next);
      const nextSum = squares(nextR);
      if (step && nextSum < sum) {
        const moved = Math.max(...next.map((v, i) => Math.abs(v - values[i]!) / (Math.abs(v) + 1e-12)));
        converged = moved < 1e-9 || sum - nextSum <= 1e-14 * sum;
        [values, r, sum] = [next, nextR, nextSum];
        damping = Math.max(damping / 9, 1e-12);
        improved = true;
      } else damping *= 8;
    }
    if (!improved) converged = true;
  }
  return {
    values,
    deviations: deviations(jacobianAt(residuals, values, r, parameters), sum, r.length),
    residuals: r,
    rms: Math.sqrt(sum / Math.max(1, r.length)),
    iterations: k,
    converged,
  };
}

const clamp = (v: number, { low, high }: Parameter): number => Math.min(high, Math.max(low, v));
const squares = (r: readonly number[]): number => r.reduce((sum, x) => sum + x * x, 0);

/** Columns: derivative of every residual by one parameter. */
function jacobianAt(
  residuals: (values: readonly number[]) => readonly number[],
  values: readonly number[],
  r: readonly number[],
  parameters: readonly Parameter[],
): number[][] {
  return values.map((v, i) => {
    const { low, high } = parameters[i]!;
    const size = 1e-6 * Math.max(Math.abs(v), 1e-3 * (high - low), 1e-12);
    const h = v + size <= high ? size : -size;
    const moved = residuals(values.map((w, j) => (j === i ? w + h : w)));
    return moved.map((x, k) => (Math.max(low, v + h) === v ? 0 : (x - r[k]!) / h));
  });
}

function normalEquations(jacobian: readonly number[][], r: readonly number[]) {
  const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, x, k) => sum + x * b[k]!, 0);
  return {
    normal: jacobian.map((a) => jacobian.map((b) => dot(a, b))),
    gradient: jacobian.map((a) => dot(a, r)),
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

/** √(σ² (JᵀJ)⁻¹ᵢᵢ) with σ² = Σr²/(m − n); null where a parameter does not move the residuals. */
function deviations(jacobian: readonly number[][], sum: number, count: number): (number | null)[] {
  const n = jacobian.length;
  const { normal } = normalEquations(jacobian, jacobian[0] ?? []);
  const variance = sum / Math.max(1, count - n);
  return jacobian.map((_, i) => {
    const unit = jacobian.map((__, j) => (i === j ? 1 : 0));
    const column = normal[i]![i]! > 0 ? solve(normal, unit) : null;
    return column && column[i]! >= 0 ? Math.sqrt(variance * column[i]!) : null;
  });
}
