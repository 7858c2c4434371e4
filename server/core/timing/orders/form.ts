/**
 * Times as sums: an affine function of a rig's variable times with whole coefficients. While the order of events stays the same, every
 * moment of a run is one of these, which is what makes worst cases and best presets linear programmes.
 *
 * Coefficients are small whole numbers and values whole microseconds, both exact in doubles, so equality of forms and of values is `===`.
 */

/** Coefficient of each variable, and the constant (microseconds) as the last entry. */
export type Form = Float64Array;

export const constantForm = (variables: number, value: number): Form => {
  const form = new Float64Array(variables + 1);
  form[variables] = value;
  return form;
};

export const variableForm = (variables: number, k: number): Form => {
  const form = new Float64Array(variables + 1);
  form[k] = 1;
  return form;
};

/** `a + by · b`. */
export function plus(a: Form, b: Form, by = 1): Form {
  const sum = a.slice();
  for (let k = 0; k < sum.length; k++) sum[k]! += by * b[k]!;
  return sum;
}

export const minus = (a: Form, b: Form): Form => plus(a, b, -1);

export const scaled = (a: Form, by: number): Form => a.map((x) => x * by);

/** The form less a constant. */
export function less(a: Form, value: number): Form {
  const form = a.slice();
  form[form.length - 1]! -= value;
  return form;
}

export function valueAt(form: Form, at: readonly number[]): number {
  const n = form.length - 1;
  let sum = form[n]!;
  for (let k = 0; k < n; k++) if (form[k] !== 0) sum += form[k]! * at[k]!;
  return sum;
}

export const isConstant = (form: Form): boolean => {
  for (let k = 0; k < form.length - 1; k++) if (form[k] !== 0) return false;
  return true;
};

export function sameForm(a: Form, b: Form): boolean {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return false;
  return true;
}

/** A name of the form: what is not zero of it, as most coefficients are where a rig has many times. */
export function keyOf(form: Form): string {
  let key = '';
  for (let k = 0; k < form.length; k++) if (form[k] !== 0) key += `${k}:${form[k]} `;
  return key;
}

/** Box of values: `low[k] ≤ x[k] ≤ high[k]`. */
export interface Box {
  readonly low: readonly number[];
  readonly high: readonly number[];
}

/** Least and greatest value of a form over a box. */
export function rangeOver(form: Form, { low, high }: Box): { readonly min: number; readonly max: number } {
  const n = form.length - 1;
  let min = form[n]!;
  let max = min;
  for (let k = 0; k < n; k++) {
    const a = form[k]!;
    if (a === 0) continue;
    min += a * (a > 0 ? low[k]! : high[k]!);
    max += a * (a > 0 ? high[k]! : low[k]!);
  }
  return { min, max };
}
