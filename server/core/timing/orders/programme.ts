/**
 * Linear programmes over the variable times of a rig: a box and inequalities `form ≥ 0`; solved by the simplex method (package yalps).
 *
 * The solver wants variables from zero up, so x = low + UNIT · y with 0 ≤ y ≤ (high − low) / UNIT. A form a · x + c ≥ 0 then reads
 * a · y ≥ −(a · low + c) / UNIT, whose right side is the form's value at the low corner. Inequalities that hold all over the box are left
 * out before: most do, and the size of a programme is what it costs.
 */
import { solve } from 'yalps';
import { rangeOver, valueAt, type Box, type Form } from './form';

/** Times in milliseconds, counted from the low end of the box, keep the numbers of the programme near to one. */
const UNIT = 1000;

export interface Optimum {
  readonly value: number;
  /** Values of the variables, µs, not rounded. */
  readonly at: readonly number[];
}

type Term = [string, number];

interface Rows {
  readonly constraints: [string, { min?: number; max?: number }][];
  readonly columns: Map<string, Map<string, number>>;
}

function rowsOf(box: Box, orders: readonly Form[], objectives: readonly Form[]): Rows {
  const n = box.low.length;
  // A variable that cannot vary, or that nothing asked contains, would only make the tableau wider.
  const used = Array.from(
    { length: n },
    (_, k) => box.low[k]! < box.high[k]! && (orders.some((f) => f[k] !== 0) || objectives.some((f) => f[k] !== 0)),
  );
  const columns = new Map<string, Map<string, number>>();
  const constraints: [string, { min?: number; max?: number }][] = [];
  used.forEach((is, k) => {
    if (!is) return;
    columns.set(`x${k}`, new Map([[`b${k}`, 1]]));
    constraints.push([`b${k}`, { max: (box.high[k]! - box.low[k]!) / UNIT }]);
  });
  orders.forEach((form, i) => {
    used.forEach((is, k) => is && form[k] !== 0 && columns.get(`x${k}`)!.set(`o${i}`, form[k]!));
    constraints.push([`o${i}`, { min: -valueAt(form, box.low) / UNIT }]);
  });
  return { constraints, columns };
}

function pointOf(box: Box, variables: readonly (readonly [string, number])[]): number[] {
  const at = box.low.slice();
  for (const [name, value] of variables) if (name.startsWith('x')) at[Number(name.slice(1))]! += value * UNIT;
  return at;
}

/** Where in the box, with every order kept, a form is least or greatest; null where there is no such point. */
export function optimum(
  box: Box,
  orders: readonly Form[],
  form: Form,
  direction: 'minimize' | 'maximize',
): Optimum | null {
  const acting = orders.filter((o) => rangeOver(o, box).min < 0);
  if (acting.some((o) => rangeOver(o, box).max < 0)) return null;
  const { constraints, columns } = rowsOf(box, acting, [form]);
  for (const [name, column] of columns) column.set('aim', form[Number(name.slice(1))]!);
  const solution = solve({ direction, objective: 'aim', constraints, variables: columns });
  if (solution.status !== 'optimal') return null;
  const at = pointOf(box, solution.variables);
  return { value: valueAt(form, at), at };
}

/** The point that keeps every order by as much as it can, and by how much (µs, negative: none does); for a start well inside. */
export function innermost(box: Box, orders: readonly Form[], most: number): Optimum | null {
  // Here those that could come within `most` of zero matter as well: the ball around the point must not cross them.
  const acting = orders.filter((o) => rangeOver(o, box).min < most);
  if (acting.some((o) => rangeOver(o, box).max < 0)) return null;
  const { constraints, columns } = rowsOf(box, acting, []);
  // A Chebyshev centre in the maximum norm: within ± room of the point a form loses at most room · Σ|a|, so each keeps form ≥ room · Σ|a|.
  // Capped: a start needs no more room than that, and a large region would only push it away from the middle.
  const room: Term[] = [
    ['aim', 1],
    ['cap', 1],
  ];
  acting.forEach((form, i) => room.push([`o${i}`, -form.slice(0, -1).reduce((sum, a) => sum + Math.abs(a), 0)]));
  constraints.push(['cap', { max: most / UNIT }]);
  columns.set('room', new Map(room));
  const solution = solve({ direction: 'maximize', objective: 'aim', constraints, variables: columns });
  if (solution.status !== 'optimal') return null;
  return { value: solution.result * UNIT, at: pointOf(box, solution.variables) };
}

/** A sum and what it is measured against: its share is `form / scale`. */
export interface Share {
  readonly form: Form;
  readonly scale: number;
}

/** The point that makes the smallest of all shares greatest, with every order kept; `value` is that share. Null where no order can be kept. */
export function greatestShare(box: Box, orders: readonly Form[], shares: readonly Share[]): Optimum | null {
  const acting = orders.filter((o) => rangeOver(o, box).min < 0);
  if (acting.some((o) => rangeOver(o, box).max < 0)) return null;
  const { constraints, columns } = rowsOf(
    box,
    acting,
    shares.map((s) => s.form),
  );
  const above: Term[] = [['aim', 1]];
  const below: Term[] = [['aim', -1]];
  // Maximise s with form_i ≥ s · scale_i. The share may be negative, and the solver's variables may not, so s = above − below.
  shares.forEach(({ form, scale }, i) => {
    for (const [name, column] of columns) {
      const a = form[Number(name.slice(1))]!;
      if (a !== 0) column.set(`s${i}`, a);
    }
    above.push([`s${i}`, -scale / UNIT]);
    below.push([`s${i}`, scale / UNIT]);
    constraints.push([`s${i}`, { min: -valueAt(form, box.low) / UNIT }]);
  });
  columns.set('above', new Map([...above, ['cap', 1]]));
  columns.set('below', new Map(below));
  constraints.push(['cap', { max: MOST_SHARE }]);
  const solution = solve({ direction: 'maximize', objective: 'aim', constraints, variables: columns });
  if (solution.status !== 'optimal') return null;
  return { value: solution.result, at: pointOf(box, solution.variables) };
}

/** More to spare than this, in proportion, is as good as any. */
const MOST_SHARE = 1e6;
