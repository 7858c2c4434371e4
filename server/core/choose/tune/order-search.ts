/**
 * The best times, order of events by order of events: in a cell of one order every value a requirement measures is a sum, so the best
 * choice there is a linear programme; where its optimum leans on the edge of the cell, the cell beyond is tried, until no
 * neighbour is better. Every optimum is run through the event engine and scored as any other choice.
 */
import { measureMetric } from '../../metrics/measure';
import { scaleOf } from '../../metrics/slack';
import type { Preference, Requirement, Rig } from '../../model/rig';
import { watchOf } from '../../metrics/within-tolerance';
import { cellWork, momentsAt, type Cell } from '../../timing/orders/cells';
import { sumsIn } from '../../timing/orders/cover-measure';
import { less, minus, sameForm, scaled, valueAt, type Form } from '../../timing/orders/form';
import { greatestShare, optimum, type Share } from '../../timing/orders/programme';
import type { Watch } from '../../timing/orders/trace-orders';
import type { TimingFacts } from '../../timing/facts';
import { stepped, type TuneProblem } from './problem';
import { better, scoreRig, type Scope, type Score } from './score';
import type { TimeSpace } from './time-space';
import type { Work } from '../../work/work';

export interface OrderSearch {
  readonly problem: TuneProblem;
  readonly time: TimeSpace;
  readonly scope: Scope;
  readonly jitter: () => number;
  /** Runs of the engine that are left, each counting `weight`. */
  readonly budget: { left: number };
  readonly weight: number;
  /** Orders of events that were solved, by key. */
  readonly solved: Set<string>;
}

/** A slack as a sum, with what it is measured against. */
export interface SlackRow extends Share {
  readonly requirement: number;
}

/** What is preferred first, as a sum. */
export interface Aim {
  readonly form: Form;
  readonly most: boolean;
}

export interface CellSolution {
  readonly score: Score;
  readonly cell: Cell;
  readonly rows: readonly SlackRow[];
  readonly aims: readonly Aim[];
  /** Where the programme has its optimum, before rounding. */
  readonly at: readonly number[];
}

const MOVES = 10;
const CROSSINGS = 5;

/** The best choice that is reached from a start by going from order to order; null where nothing can be solved there. */
export function* climbOrders(search: OrderSearch, start: readonly number[]): Work<CellSolution | null> {
  let best = yield* solveAt(search, start);
  for (let move = 0; best && move < MOVES && search.budget.left > 0; move++) {
    const next: CellSolution | null = yield* bestNeighbour(search, best);
    if (!next || !better(next.score, best.score)) break;
    best = next;
  }
  return best;
}

function* bestNeighbour(search: OrderSearch, here: CellSolution): Work<CellSolution | null> {
  const { box } = search.time.space;
  const leaning = here.cell.orders
    .map((order) => ({ order, room: valueAt(order, here.at) }))
    .filter(({ room }) => room < 2_000)
    .sort((a, b) => a.room - b.room)
    .slice(0, CROSSINGS);
  let best: CellSolution | null = null;
  for (const { order } of leaning) {
    const at = beyond(order, here.at, box);
    const found: CellSolution | null = at && search.budget.left > 0 ? yield* solveAt(search, at) : null;
    if (found && better(found.score, best?.score ?? null)) best = found;
  }
  return best;
}

/** A point a little beyond the edge that an order is; null where the box ends first. */
function beyond(order: Form, at: readonly number[], box: TimeSpace['space']['box']): number[] | null {
  const square = order.slice(0, -1).reduce((sum, a) => sum + a * a, 0);
  if (square === 0) return null;
  const by = (valueAt(order, at) + 500) / square;
  const point = at.map((x, k) => Math.min(box.high[k]!, Math.max(box.low[k]!, Math.round(x - by * order[k]!))));
  return valueAt(order, point) < 0 ? point : null;
}

/** The best choice in the cell around a point. */
export function* solveAt(search: OrderSearch, at: readonly number[]): Work<CellSolution | null> {
  const { time, scope, budget } = search;
  const { space } = time;
  budget.left -= search.weight;
  const rig = time.rigAt(at);
  if (!rig) return null;
  const facts = yield* space.runWork(at);
  const cell = yield* cellWork(space, { at, facts }, watchAll(rig, scope));
  if (!cell) return null;
  const key = cell.orders.map((o) => o.join()).join(';');
  if (search.solved.has(key)) return null;
  search.solved.add(key);
  yield;
  let rows = slackRows(search, rig, cell);
  if (!rows) return null;
  const aims = aimsIn(search, rig, cell);
  for (let round = 0; ; round++) {
    yield;
    const point = solveCell(search, cell, rows, aims);
    if (!point) return null;
    const more: SlackRow[] = round < CUTS ? newRows(search, rig, cell, point, rows) : [];
    if (more.length > 0) {
      rows = [...rows, ...more];
      continue;
    }
    const score = yield* bestNear(search, point);
    return score && { score, cell, rows, aims, at: point };
  }
}

const CUTS = 4;

/**
 * A value may be the smaller of two sums (the gap to the next door, or to the next stroke), and which one it is may change inside a
 * cell: near the optimum the sums are read again, and those that were not known are kept as well.
 */
function newRows(
  search: OrderSearch,
  rig: Rig,
  cell: Cell,
  point: readonly number[],
  known: readonly SlackRow[],
): SlackRow[] {
  const { space } = search.time;
  const at = point.map((x, k) => Math.round(x + 0.03 * (cell.at[k]! - x)));
  if (cell.orders.some((o) => valueAt(o, at) < 0)) return [];
  search.budget.left -= search.weight;
  const rows = slackRows(search, rig, { ...cell, at, ...momentsAt(space, at) }) ?? [];
  return rows.filter((row) => !known.some((k) => k.requirement === row.requirement && sameForm(k.form, row.form)));
}

function watchAll(rig: Rig, scope: Scope): Watch {
  const asked = rig.requirements.filter((r, k) => scope.requirements(r, k));
  const all = asked.map((r) => watchOf(rig, r));
  return { doors: [...new Set(all.flatMap((w) => w.doors))], nets: [...new Set(all.flatMap((w) => w.nets))] };
}

/** Slack of every case of every requirement as a sum; null where one is none, or where what holds or not fails in this order. */
function slackRows(search: OrderSearch, rig: Rig, cell: Cell): SlackRow[] | null {
  const { scope, time, jitter } = search;
  const measure = (timing: TimingFacts): ReadonlyMap<string, number> => casesOf(rig, timing, scope);
  const sums = sumsIn(time.space, cell, measure, jitter);
  search.budget.left -= 2 * search.weight;
  const rows: SlackRow[] = [];
  for (const [name, sum] of sums) {
    const index = Number(name.split(' ')[0]);
    const requirement = rig.requirements[index];
    if (!requirement?.comparison || name.startsWith('p')) continue;
    if (!sum) return null;
    rows.push(...rowsOf(requirement, index, sum, time, scope.losses?.get(index) ?? 0));
  }
  return rows;
}

function rowsOf(requirement: Requirement, index: number, sum: Form, time: TimeSpace, loss: number): SlackRow[] {
  const comparison = requirement.comparison!;
  const scale = scaleOf(comparison);
  const above = { requirement: index, form: less(minus(sum, time.low(index)), loss), scale };
  const below = { requirement: index, form: less(minus(time.high(index), sum), loss), scale };
  switch (comparison.operator) {
    case '>=':
    case '>':
      return [above];
    case '<=':
    case '<':
      return [below];
    case '<>':
      return [];
    case '=':
    case 'in':
      return [above, below];
  }
}

/** `3 0`: first case of requirement 3; `p0 0`: of a preference. */
function casesOf(rig: Rig, timing: TimingFacts, scope: Scope): Map<string, number> {
  const facts = { rig, timing, flow: null };
  const found = new Map<string, number>();
  const put = (key: string, requirement: Requirement): void => {
    const measured = measureMetric(facts, requirement);
    if (measured.kind !== 'values' || measured.dimension === null) return;
    measured.values.forEach(({ value }, k) => Number.isFinite(value) && found.set(`${key} ${k}`, value));
  };
  rig.requirements.forEach((r, k) => r.comparison && scope.requirements(r, k) && put(`${k}`, r));
  rig.preferences.forEach((p, k) => scope.preferences(p, k) && put(`p${k}`, asRequirement(p)));
  return found;
}

const asRequirement = (preference: Preference): Requirement => ({ ...preference, comparison: null });

/** Where in a cell the choice is best: first what is preferred, then the smallest slack; where not all hold, the smallest slack alone. */
function solveCell(
  search: OrderSearch,
  cell: Cell,
  rows: readonly SlackRow[],
  aims: readonly Aim[],
): readonly number[] | null {
  const { box } = search.time.space;
  const first = rows.length > 0 ? greatestShare(box, cell.orders, rows) : null;
  if (rows.length > 0 && !first) return null;
  if (first && first.value < 0) return first.at;
  const floors = [...cell.orders, ...rows.map((r) => r.form)];
  let at = first?.at ?? cell.at;
  for (const { form, most } of aims) {
    const found = optimum(box, floors, form, most ? 'maximize' : 'minimize');
    if (!found) continue;
    at = found.at;
    // What is preferred first is given up by no more than a step for what comes after it.
    floors.push(less(scaled(form, most ? 1 : -1), (most ? 1 : -1) * found.value - 1));
  }
  return evenOut(search, floors, rows) ?? at;
}

const ROUNDS = 4;

/** Within floors, makes the smallest share greatest; then, those that can give no more kept, the smallest of the others, and so on. */
function evenOut({ time }: OrderSearch, floors: readonly Form[], rows: readonly SlackRow[]): readonly number[] | null {
  const { box } = time.space;
  let at: readonly number[] | null = null;
  const kept = floors.slice();
  let open = rows.slice();
  for (let round = 0; round < ROUNDS && open.length > 0; round++) {
    const found = greatestShare(box, kept, open);
    if (!found) break;
    at = found.at;
    const floor = ({ form, scale }: SlackRow): Form => less(form, found.value * scale - 1);
    const all = [...kept, ...open.map(floor)];
    const stuck = open.filter((row) => {
      if (valueAt(row.form, found.at) > found.value * row.scale + 1_000) return false;
      const most = optimum(box, all, row.form, 'maximize');
      return !most || most.value <= found.value * row.scale + 1_000;
    });
    if (stuck.length === 0) break;
    kept.push(...stuck.map(floor));
    open = open.filter((row) => !stuck.includes(row));
  }
  return at;
}

function aimsIn(search: OrderSearch, rig: Rig, cell: Cell): Aim[] {
  const measure = (timing: TimingFacts): ReadonlyMap<string, number> => casesOf(rig, timing, search.scope);
  if (!rig.preferences.some((p, k) => search.scope.preferences(p, k))) return [];
  const sums = sumsIn(search.time.space, cell, measure, search.jitter);
  search.budget.left -= 2 * search.weight;
  return [...sums].flatMap(([name, form]) => {
    if (!name.startsWith('p') || !form) return [];
    return [{ form, most: rig.preferences[Number(name.slice(1).split(' ')[0])]!.direction === 'most' }];
  });
}

/** Among whole steps near a point, the best choice; each variable down or up, all together for few, one by one for many. */
function* bestNear(search: OrderSearch, at: readonly number[]): Work<Score | null> {
  const { time, problem, scope, budget } = search;
  const score = (point: readonly number[]): Score | null => {
    budget.left -= search.weight;
    const values = time.valuesAt(point);
    const rig = time.rigAt(point);
    if (!rig) return null;
    return scoreRig(rig, values, scope, { rig, timing: time.space.run(point), flow: null });
  };
  const choices = at.map((x, k) => {
    const variable = problem.variables[time.indices[k]!]!;
    const { step } = variable;
    return [
      ...new Set([stepped(variable, Math.floor(x / step) * step), stepped(variable, Math.ceil(x / step) * step)]),
    ];
  });
  const ways = choices.reduce((n, c) => n * c.length, 1);
  let best: Score | null = null;
  function* look(point: readonly number[]): Work<void> {
    if (best && budget.left <= 0) return;
    yield;
    const found = score(point);
    if (found && better(found, best)) best = found;
  }
  if (ways <= 32) for (const point of product(choices)) yield* look(point);
  else {
    let point = choices.map((c, k) => (c.length > 1 && at[k]! - c[0]! > c[1]! - at[k]! ? c[1]! : c[0]!));
    yield* look(point);
    for (const [k, list] of choices.entries())
      for (const value of list) {
        const turned = point.map((x, j) => (j === k ? value : x));
        const before: Score | null = best;
        yield* look(turned);
        if (best !== before) point = turned;
      }
  }
  return best;
}

function* product(choices: readonly (readonly number[])[], from = 0): Generator<number[]> {
  if (from === choices.length) return yield [];
  for (const value of choices[from]!) for (const rest of product(choices, from + 1)) yield [value, ...rest];
}
