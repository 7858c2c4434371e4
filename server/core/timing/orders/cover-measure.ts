/**
 * Ranges of measured numbers over all values of a rig's variable times: in each cell of one order of events every number that a
 * measure reads off a run is a moment or a difference of two, less a preset where it is a margin, so its ends in the cell are those of
 * a linear programme. Numbers that are not such a sum, and cells that could not be reached, make the range uncovered.
 *
 * How a number gets its sum: a measure is any function of the facts, so its formula is not known. It is guessed from its value, as the
 * moment, or difference of two moments, that is worth the same at the cell's point, and the guess is tested at further points of the cell.
 * A wrong guess has to agree at points drawn at random, where distinct sums differ; a number that is the smaller of two sums is caught when
 * a point falls on the other side, or by running the engine at the ends (`verify`). What fits no sum is reported as uncovered.
 */
import type { TimingFacts } from '../facts';
import { finish, type Work } from '../../work/work';
import { coverBox, pointIn, programmePrice, type Budget, type Cell, type Space } from './cells';
import { constantForm, isConstant, keyOf, minus, rangeOver, valueAt, type Box, type Form } from './form';
import { optimum, type Optimum } from './programme';
import type { Watch } from './trace-orders';

export type Measure = (facts: TimingFacts) => ReadonlyMap<string, number>;

export interface CoveredRange {
  readonly min: number;
  readonly max: number;
  /** The range holds for every value of the box. */
  readonly covered: boolean;
  /** Somewhere in the box the number does not exist. */
  readonly absent: boolean;
  /** The order of events is one and the same over the whole box. */
  readonly oneOrder: boolean;
}

export interface Coverage {
  readonly ranges: ReadonlyMap<string, CoveredRange>;
  /** Every value of the box was reached. */
  readonly complete: boolean;
}

/** A range under way: `seen` counts the cells in which the number exists, `covered` falls once and never rises. */
interface Growing {
  min: number;
  max: number;
  covered: boolean;
  seen: number;
}

/** Further points at which the sum found for a number must fit. */
const PROOFS = 2;

export interface CoverOptions {
  readonly budget: Budget;
  /** Numbers in [0, 1). */
  readonly jitter: () => number;
  /** Run the engine at each end found: what is measured there must be what the sum says. */
  readonly verify: boolean;
}

export const coverMeasure = (...asked: Parameters<typeof coverWork>): Coverage => finish(coverWork(...asked));

/** The same in steps. */
export function* coverWork(space: Space, watch: Watch, measure: Measure, options: CoverOptions): Work<Coverage> {
  const { cells, complete } = yield* coverBox(space, watch, options.budget, options.jitter);
  const all = new Map<string, Growing>();
  for (const cell of cells) yield* addCell(space, cell, measure, all, options);
  const ranges = [...all].map(([name, { min, max, covered, seen }]): [string, CoveredRange] => [
    name,
    { min, max, covered: covered && complete, absent: seen < cells.length, oneOrder: complete && cells.length === 1 },
  ]);
  return { ranges: new Map(ranges), complete };
}

/** Widens the ranges of all numbers by what one cell has of them. */
function* addCell(
  space: Space,
  cell: Cell,
  measure: Measure,
  all: Map<string, Growing>,
  { jitter, verify, budget }: CoverOptions,
): Work<void> {
  // Three kinds of evidence about a cell: its own run, a few more runs inside it, and the ends of each sum.
  const values = measure(cell.facts);
  const points = yield* otherPoints(space, cell, measure, jitter);
  const price = programmePrice(space, cell.orders) + searchPrice(space, cell);
  const confirmed = verify ? confirming(space, measure, all) : null;
  for (const [name, value] of values) {
    let known = all.get(name);
    if (!known) all.set(name, (known = { min: value, max: value, covered: true, seen: 0 }));
    known.seen++;
    yield;
    const isAffordable = price === 0 || budget.left > 0;
    if (isAffordable) budget.left -= price;
    const form = isAffordable ? sumOf(space, cell, value, name, points) : null;
    if (!form) {
      known.covered = false;
      widen(known, value);
      continue;
    }
    // Ends of the sum in the cell; with `verify` each must be what the engine measures there, else the sum was the wrong one.
    for (const end of endsIn(space, cell, form)) {
      widen(known, end.value);
      yield;
      if (confirmed && end.at && known.covered) known.covered = yield* confirmed(end.at, name, end.value);
    }
  }
  // Whatever was measured in passing is a value that happens, and belongs into the range.
  for (const { values: others } of points)
    for (const [name, value] of others) if (all.has(name)) widen(all.get(name)!, value);
}

/** Pairs of a moment and a preset that cost as much to look through as a run of a small rig. */
const PAIRS = 65_536;

/** What looking for the sum of one number costs: nothing in a rig of everyday size. */
const searchPrice = ({ rig }: Space, { moments }: Cell): number =>
  Math.floor((moments.size * rig.network.elements.length) / PAIRS);

/** Runs the engine where an end was found, and keeps everything measured there; each point once. */
function confirming(
  space: Space,
  measure: Measure,
  all: ReadonlyMap<string, Growing>,
): (at: readonly number[], name: string, value: number) => Work<boolean> {
  const known = new Map<string, ReadonlyMap<string, number>>();
  return function* (at, name, value) {
    let values = known.get(at.join());
    if (!values) {
      known.set(at.join(), (values = measure(yield* space.runWork(at))));
      for (const [other, found] of values) if (all.has(other)) widen(all.get(other)!, found);
    }
    return values.get(name) === value;
  };
}

function widen(range: Growing, value: number): void {
  range.min = Math.min(range.min, value);
  range.max = Math.max(range.max, value);
}

export interface End {
  /** Whole microseconds: no whole values lie beyond. */
  readonly value: number;
  /** Where, in whole microseconds; null where rounding would leave the cell. */
  readonly at: readonly number[] | null;
}

/** Least and greatest value of a sum in a cell, and where. */
export function endsIn({ box }: Pick<Space, 'box'>, cell: Pick<Cell, 'orders'>, form: Form): [End, End] {
  if (cell.orders.length === 0) {
    // No order acts: the cell is the box, and a linear form has its ends at corners.
    const { min, max } = rangeOver(form, box);
    return [
      { value: min, at: cornerOf(box, form, false) },
      { value: max, at: cornerOf(box, form, true) },
    ];
  }
  if (isConstant(form)) return [-1, 1].map(() => ({ value: form[form.length - 1]!, at: null })) as [End, End];
  // Where the programme gives no answer (numerical trouble, an empty region) the range over the whole box is still a bound.
  const loose = rangeOver(form, box);
  return [
    endOf(cell, form, optimum(box, cell.orders, form, 'minimize'), loose.min, Math.ceil),
    endOf(cell, form, optimum(box, cell.orders, form, 'maximize'), loose.max, Math.floor),
  ];
}

const cornerOf = ({ low, high }: Box, form: Form, most: boolean): number[] =>
  low.map((l, k) => (form[k]! > 0 === most ? high[k]! : l));

function endOf(
  { orders }: Pick<Cell, 'orders'>,
  form: Form,
  found: Optimum | null,
  loose: number,
  round: (x: number) => number,
): End {
  if (!found) return { value: loose, at: null };
  // A sum of whole times with whole coefficients is whole: rounding inwards gives the outermost value that can be attained, and the
  // thousandth keeps an exact end from being lost to rounding in the programme.
  const value = round(found.value + (round === Math.ceil ? -1e-3 : 1e-3));
  // A vertex of the programme need not be whole; rounded it may leave the cell, and then the end is not attained there.
  const at = found.at.map(Math.round);
  return { value, at: valueAt(form, at) === value && orders.every((o) => valueAt(o, at) >= 0) ? at : null };
}

interface Point {
  readonly at: readonly number[];
  readonly values: ReadonlyMap<string, number>;
}

function* otherPoints(space: Space, cell: Cell, measure: Measure, jitter: () => number): Work<Point[]> {
  const points: Point[] = [];
  for (let k = 0; k < PROOFS; k++) {
    const at = pointIn(space.box, cell.orders, jitter);
    if (at !== null && at !== 'empty') points.push({ at, values: measure(yield* space.runWork(at)) });
    yield;
  }
  return points;
}

/** The sum that a measured number is, the same at every point; null where there is none. */
function sumOf(space: Space, cell: Cell, value: number, name: string, points: readonly Point[]): Form | null {
  // An endless time is not a sum; such a number is bounded by what was seen, and not covered.
  if (!Number.isFinite(value)) return null;
  const fits = (form: Form): boolean =>
    valueAt(form, cell.at) === value && points.every((p) => p.values.get(name) === valueAt(form, p.at));
  // Simplest first: a constant, a moment, a difference, a difference less a preset.
  const fixed = constantForm(space.times.variables, value);
  if (fits(fixed)) return fixed;
  for (const form of candidates(space, cell, value)) if (fits(form)) return form;
  return null;
}

/** Every sum that is worth the value at the cell's point, the likeliest first. */
function* candidates(space: Space, cell: Cell, value: number): Generator<Form> {
  const { moments } = cell;
  yield* moments.get(value) ?? [];
  yield* differences(moments, value);
  // Margins: an input's length less the preset.
  const seen = new Set<string>();
  for (const [e, element] of space.rig.network.elements.entries()) {
    if (!element.preset) continue;
    const preset = space.times.preset(e);
    const key = keyOf(preset);
    if (seen.has(key)) continue;
    seen.add(key);
    for (const form of differences(moments, value + valueAt(preset, cell.at))) yield minus(form, preset);
  }
}

/** Every sum later − earlier that is worth `value` at the cell's point; with the trigger's moment among both. */
function* differences(moments: Cell['moments'], value: number): Generator<Form> {
  for (const [t, forms] of moments) {
    const laters = moments.get(t + value);
    if (!laters) continue;
    for (const later of laters) for (const earlier of forms) yield minus(later, earlier);
  }
}

/**
 * The sum that each measured number is around the cell's point; null where it is none. Runs the engine at two more points nearby: a
 * number may be the smaller of two sums, and elsewhere in the cell be the other.
 */
export function sumsIn(
  space: Space,
  cell: Cell,
  measure: Measure,
  jitter: () => number,
): ReadonlyMap<string, Form | null> {
  const points = nearPoints(space, cell, measure, jitter);
  return new Map([...measure(cell.facts)].map(([name, value]) => [name, sumOf(space, cell, value, name, points)]));
}

/** How far, at first, µs. */
const NEAR = 1_000;

function nearPoints({ box, run }: Space, cell: Cell, measure: Measure, jitter: () => number): Point[] {
  const points: Point[] = [];
  for (let reach = NEAR; reach > 4 && points.length < PROOFS; reach /= 1.5) {
    const at = cell.at.map((x, k) =>
      Math.min(box.high[k]!, Math.max(box.low[k]!, Math.round(x + (jitter() * 2 - 1) * reach))),
    );
    if (cell.orders.every((o) => valueAt(o, at) >= 0)) points.push({ at, values: measure(run(at)) });
  }
  return points;
}
