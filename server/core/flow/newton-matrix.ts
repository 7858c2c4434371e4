/**
 * 1 − hγJ of a stiff system, factored: what Newton's method of `sdirk.ts` solves in each of its rounds. Only the states, on which anything
 * depends, are solved for; the sums behind them follow from their rows of the Jacobian.
 */
export class NewtonMatrix {
  /** Factored in place: unit lower and upper triangle in one array, by rows. */
  private readonly matrix: Float64Array;
  private readonly pivot: Int32Array;
  /** hγ of the last `factor`. */
  scaled = 0;

  /** `jacobian`: by rows, all of `size` unknowns, the `states` first; the caller's, read at each `factor` and `solve`. */
  constructor(
    private readonly size: number,
    private readonly states: number,
    private readonly jacobian: Float64Array,
  ) {
    this.matrix = new Float64Array(states * states);
    this.pivot = new Int32Array(states);
  }

  /** LU of 1 − `scaled` · J with row pivots; false where it is singular. */
  factor(scaled: number): boolean {
    const { size, states: n, jacobian, matrix, pivot } = this;
    this.scaled = scaled;
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) matrix[i * n + j] = -scaled * jacobian[i * size + j]!;
      matrix[i * n + i]! += 1;
    }
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

  /** Solves the factored system for `x` in place; sums follow from the states. */
  solve(x: Float64Array): void {
    const { size, states, scaled } = this;
    this.solveStates(x);
    for (let i = states; i < size; i++) x[i]! += scaled * this.change(i, x);
  }

  /** What equation `i` gives by the Jacobian where the states change by `x`. */
  change(i: number, x: Float64Array): number {
    const { size, states: n, jacobian } = this;
    let sum = 0;
    for (let j = 0; j < n; j++) sum += jacobian[i * size + j]! * x[j]!;
    return sum;
  }

  /** The same for the states alone: rows exchanged as recorded, then forward and back substitution. */
  solveStates(x: Float64Array): void {
    const { states: n, matrix, pivot } = this;
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
}

/**
 * Groups of the first `states` unknowns that share no equation, where unknown j stands in the equations `rows[j]`. Greedy colouring (Curtis,
 * Powell & Reid, J. Inst. Math. Appl. 13, 117 (1974)): unknowns of one colour are shifted together, and one evaluation gives the columns of
 * all of them.
 */
export function coloursOf(rows: readonly (readonly number[])[], states: number): number[][] {
  const colours: number[][] = [];
  for (let j = 0; j < states; j++) {
    const taken = (group: readonly number[]): boolean =>
      group.some((other) => rows[other]!.some((row) => rows[j]!.includes(row)));
    const free = colours.find((group) => !taken(group));
    if (free) free.push(j);
    else colours.push([j]);
  }
  return colours;
}
