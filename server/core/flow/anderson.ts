/**
 * Anderson's acceleration of x ← G(x) (Anderson, J. ACM 12, 547 (1965); Walker & Ni, SIAM J. Numer. Anal. 49, 1715 (2011)): the next
 * guess is where the last few changes, mixed, would cancel out. For a map whose own iteration converges slowly, as the contents of
 * a buffer between two stages do from stroke to stroke.
 *
 * With residuals r = G(x) − x of the last m + 1 guesses, weights γ are chosen so that ‖r − Σ γ Δr‖ is least, and the next guess is
 * G(x) − Σ γ ΔG: exact for a linear map of m unknowns after m + 1 evaluations, like a secant method in m directions. An evaluation is a whole
 * stroke, so its own cost counts for nothing. It is safeguarded by the caller (`strokes.ts`): a guess far from the last value is dropped.
 */

/**
 * Guesses mixed at most. Deeper memory spans changes from when the map was still elsewhere; five cover the few slow directions that a rig
 * has (one or two a buffer: mass, and mass times temperature).
 */
const DEPTH = 5;

/** Remembers the last guesses and what the map gave for them: `changes[k]` is `values[k]` less its guess. Oldest first. */
export class Anderson {
  private readonly values: Float64Array[] = [];
  private readonly changes: Float64Array[] = [];

  /** The next guess after `x` gave `value`. */
  next(x: Float64Array, value: Float64Array): Float64Array {
    const change = value.map((v, k) => v - x[k]!);
    this.values.push(value.slice());
    this.changes.push(change);
    if (this.values.length > DEPTH + 1) {
      this.values.shift();
      this.changes.shift();
    }
    const last = this.values.length - 1;
    // The first guess is the plain iteration: there is no change to extrapolate from.
    if (last === 0) return value.slice();
    const columns = this.changes.slice(0, last).map((c, k) => difference(this.changes[k + 1]!, c));
    const mix = leastSquares(columns, change);
    const guess = value.slice();
    for (let k = 0; k < last; k++) {
      const moved = difference(this.values[k + 1]!, this.values[k]!);
      for (let i = 0; i < guess.length; i++) guess[i]! -= mix[k]! * moved[i]!;
    }
    return guess;
  }

  /** Forgets what went before: the map has changed, or a guess was useless. */
  reset(): void {
    this.values.length = 0;
    this.changes.length = 0;
  }
}

const difference = (a: Float64Array, b: Float64Array): Float64Array => a.map((v, k) => v - b[k]!);
const dot = (a: Float64Array, b: Float64Array): number => a.reduce((sum, v, k) => sum + v * b[k]!, 0);

/** Weights of the columns whose sum comes nearest to `target`, by modified Gram and Schmidt; columns that add nothing weigh nothing. */
function leastSquares(columns: readonly Float64Array[], target: Float64Array): Float64Array {
  const size = columns.length;
  const basis: Float64Array[] = [];
  const upper = Array.from({ length: size }, () => new Float64Array(size));
  const kept: number[] = [];
  // Newest first, so that what is dropped as dependent is the oldest. Orthogonalising avoids the normal equations, whose condition is squared.
  for (let k = size - 1; k >= 0; k--) {
    const rest = columns[k]!.slice();
    const before = Math.sqrt(dot(rest, rest));
    basis.forEach((q, j) => {
      upper[j]![kept.length] = dot(q, rest);
      for (let i = 0; i < rest.length; i++) rest[i]! -= upper[j]![kept.length]! * q[i]!;
    });
    const length = Math.sqrt(dot(rest, rest));
    // What is left of a column after the others is rounding: its weight would be noise divided by noise.
    if (!(length > 1e-8 * before) || before === 0) continue;
    upper[basis.length]![kept.length] = length;
    basis.push(rest.map((v) => v / length));
    kept.push(k);
  }
  const weights = new Float64Array(size);
  for (let j = kept.length - 1; j >= 0; j--) {
    let sum = dot(basis[j]!, target);
    for (let i = j + 1; i < kept.length; i++) sum -= upper[j]![i]! * weights[kept[i]!]!;
    weights[kept[j]!] = sum / upper[j]![j]!;
  }
  return weights;
}
