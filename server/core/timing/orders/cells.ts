/**
 * All orders of events that the variable times of a rig allow, one after the other. A *cell* is the set of values (whole microseconds)
 * with one order of events: a polyhedron, in which every moment of the run is a sum of times. The search runs the event engine at one
 * point, takes the cell around it, and goes on with what is left of the box, until nothing is left or the budget ends: so what holds
 * in every cell holds for every value, corners or not, and what was not covered is known.
 *
 * Why not sample or try corners: neither says anything about the points between. Why not bound everything with intervals: an interval
 * forgets that two doors hang on one timer, and its ranges grow too wide to decide anything. Cells keep the ties exactly, at the price of
 * their number, which grows with the events that can change places; hence the budget, and `complete`.
 *
 * Invariants of the search: the regions in `waiting` do not meet each other or any cell found; together with the cells they make up the
 * box, less what was given up (`complete` = false). Each point run lies in its own cell, so the cells found grow in number with every run.
 */
import { finish, type Work } from '../../work/work';
import type { Rig } from '../../model/rig';
import type { TimingFacts } from '../facts';
import type { Trace } from '../trace';
import { keyOf, less, rangeOver, sameForm, scaled, valueAt, type Box, type Form } from './form';
import { innermost } from './programme';
import { formsOfTrace, formsWork, type TimeForms, type TraceForms } from './trace-forms';
import { ordersWork, type Watch } from './trace-orders';

/** The engine run at one point of the box. */
export interface CellRun {
  readonly at: readonly number[];
  readonly facts: TimingFacts;
}

/** One order of events: the polyhedron of values that have it. */
export interface Cell extends CellRun {
  /** What keeps to the cell inside the box: each `form ≥ 0`. */
  readonly orders: readonly Form[];
  /** Every moment of the run, by its time at `at`; several where moments of different sums coincide there. */
  readonly moments: ReadonlyMap<number, readonly Form[]>;
}

/** How times are chosen by the variables, and where they may lie. */
export interface Space {
  readonly rig: Rig;
  readonly box: Box;
  readonly times: TimeForms;
  /** Runs the event engine with values of the variables. */
  readonly run: (at: readonly number[]) => TimingFacts;
  /** The same in steps. */
  readonly runWork: (at: readonly number[]) => Work<TimingFacts>;
}

/** Counts runs of the engine, and what else costs as much; stops the search when none are left. */
export interface Budget {
  left: number;
}

/** Entries of a linear programme that cost as much as a run of a small rig. */
const ENTRIES = 4096;

/** What a programme over these orders costs beside the run that it follows: nothing in a rig of everyday size. */
export const programmePrice = ({ box }: Pick<Space, 'box'>, orders: readonly Form[]): number =>
  Math.floor((orders.length * box.low.length) / ENTRIES);

/** The cell around a point, within `region`; null where a moment that matters is not a sum of times. */
export const cellAround = (space: Space, run: CellRun, watch: Watch, region: readonly Form[] = []): Cell | null =>
  finish(cellWork(space, run, watch, region));

/** The same in steps. */
export function* cellWork(space: Space, run: CellRun, watch: Watch, region: readonly Form[] = []): Work<Cell | null> {
  const { rig, times, box } = space;
  const { at, facts } = run;
  const orders: Form[] = [...region];
  const moments = new Map<number, Form[]>();
  const traces: Trace[] = [facts.atRest.trace, ...facts.strokes.map((s) => s.trace)];
  // A run cut off by its budget shows no order of events to the end: no cell.
  if (facts.incomplete !== null) return null;
  // The rig at rest counts as well: its order decides the state from which strokes begin. Nothing in it is measured, so nothing is watched.
  for (const trace of traces) {
    const forms = yield* formsWork(rig, trace, times, at);
    const found = yield* ordersWork(rig, trace, forms, times, at, trace === facts.atRest.trace ? NOTHING : watch);
    if (!found) return null;
    orders.push(...found);
    if (trace !== facts.atRest.trace) collect(moments, trace, forms);
    yield;
  }
  return { at, facts, orders: acting(orders, box), moments };
}

/** The run at a point, with its moments as sums. */
export function momentsAt({ rig, times, run }: Space, at: readonly number[]): Pick<Cell, 'facts' | 'moments'> {
  const facts = run(at);
  const moments = new Map<number, Form[]>();
  for (const { trace } of facts.strokes) collect(moments, trace, formsOfTrace(rig, trace, times, at));
  return { facts, moments };
}

const NOTHING: Watch = { doors: [], nets: [] };

function collect(moments: Map<number, Form[]>, trace: Trace, forms: TraceForms): void {
  const put = (t: number, form: Form | null): void => {
    if (!form) return;
    const known = moments.get(t);
    if (!known) moments.set(t, [form]);
    else if (!known.some((f) => sameForm(f, form))) known.push(form);
  };
  trace.edges.forEach(({ t }, i) => put(t, forms.edges[i]!));
  trace.doors.forEach(({ moves }, door) =>
    moves.forEach((move, k) => {
      put(move.t, forms.moves[door]![k]!.t);
      put(move.arrives, forms.moves[door]![k]!.arrives);
    }),
  );
}

/** Those that do not hold all over the box, each once. */
function acting(orders: readonly Form[], box: Box): Form[] {
  const seen = new Map<string, Form>();
  // An order that no value of the box can break splits nothing off and costs a row in every programme.
  for (const form of orders) if (rangeOver(form, box).min < 0) seen.set(keyOf(form), form);
  return [...seen.values()];
}

export interface Cover {
  readonly cells: readonly Cell[];
  /** Every value of the box lies in one of the cells. */
  readonly complete: boolean;
}

/**
 * Covers the box with cells. `jitter` gives numbers in [0, 1): starts lie off the middle, so that moments that have nothing to do with
 * each other do not coincide.
 */
export function* coverBox(space: Space, watch: Watch, budget: Budget, jitter: () => number): Work<Cover> {
  const cells: Cell[] = [];
  let complete = true;
  const waiting: (readonly Form[])[] = [[]];
  // Depth first: the list stays short, and neighbouring regions come one after the other.
  for (let region = waiting.pop(); region; region = waiting.pop()) {
    yield;
    const start = pointIn(space.box, region, jitter);
    if (start === 'empty') continue;
    // No whole point found, or no runs left: this region stays uncovered, and the answer says so.
    if (start === null || budget.left <= 0) {
      complete = false;
      if (budget.left <= 0) break;
      continue;
    }
    budget.left -= 1 + programmePrice(space, region);
    const cell = yield* cellWork(space, { at: start, facts: yield* space.runWork(start) }, watch, region);
    if (!cell) {
      complete = false;
      continue;
    }
    cells.push(cell);
    waiting.push(...restOf(space.box, region, cell));
  }
  return { cells, complete };
}

/** What of a region lies outside a cell: parts that do not meet, each the first orders kept and the next one broken. */
function restOf(box: Box, region: readonly Form[], cell: Cell): Form[][] {
  const inherited = new Set(region.map(keyOf));
  const own = cell.orders.filter((o) => !inherited.has(keyOf(o)));
  const parts: Form[][] = [];
  const kept: Form[] = [...region];
  // not (A and B and C) = not A, or A and not B, or A and B and not C: parts that do not meet. "Not form ≥ 0" is form ≤ −1, in whole
  // microseconds and with whole coefficients; so no value falls between a cell and its neighbour.
  for (const order of own) {
    parts.push([...kept, less(scaled(order, -1), 1)]);
    kept.push(order);
  }
  return parts.filter((part) => part.every((o) => rangeOver(o, box).max >= 0));
}

const DRAWS = 24;
/** A start needs no more room than this around it, µs. */
const ROOM = 200_000;

/** A point of whole microseconds in a region, off its middle; null where there may be one but none was found. */
export function pointIn(box: Box, region: readonly Form[], jitter: () => number): readonly number[] | null | 'empty' {
  const inside = (at: readonly number[]): boolean => region.every((o) => valueAt(o, at) >= 0);
  // Well inside, so that the run shows the order of the region and not a coincidence on its rim.
  const found =
    region.length === 0
      ? { value: ROOM, at: box.low.map((l, k) => (l + box.high[k]!) / 2) }
      : innermost(box, region, ROOM);
  // A thousandth of a microsecond allows for rounding in the linear programme; a region with a whole point in it is not lost by it.
  if (!found || found.value < -1e-3) return 'empty';
  for (let draw = 0; draw < DRAWS; draw++) {
    // Nearer and nearer to the middle; the last ones only round.
    const reach = Math.max(0, (found.value * (DRAWS - 4 - draw)) / (DRAWS - 4));
    const at = found.at.map((x, k) => {
      const width = box.high[k]! - box.low[k]!;
      const off = (jitter() - 0.5) * Math.min(width * 0.8, region.length === 0 ? width * 0.8 : 2 * reach);
      return Math.min(box.high[k]!, Math.max(box.low[k]!, Math.round(x + off)));
    });
    if (inside(at)) return at;
  }
  return null;
}
