/**
 * Choosing the values of a rig: every order of events that is reached is solved as a linear programme from several starts, and what is
 * about contents is searched for on top, by steps that are halved. The event engine judges every candidate.
 */
import { metricNamed } from '../../metrics/registry';
import type { Preference, Requirement } from '../../model/rig';
import type { Random } from '../../timing/tolerance';
import { climbOrders, type CellSolution, type OrderSearch } from './order-search';
import { stepped, weightOf, type TuneProblem } from './problem';
import { finish, type Work } from '../../work/work';
import { better, EVERYTHING, scoreWork, type Score, type Scope } from './score';
import { withPresent } from './present';
import { timeSpaceWork, type TimeSpace } from './time-space';

export interface TuneOptions {
  /** Starts besides the present values. */
  readonly starts: number;
  /** Runs of the event engine, of a rig of everyday size; those of larger ones count more (`weightOf`). */
  readonly runs: number;
  /** Choices tried for what is about contents, counted in the same way. */
  readonly trials: number;
  readonly random: Random;
  readonly losses?: ReadonlyMap<number, number>;
  /** Only these requirements, by index, and nothing preferred; the search ends at the first choice that keeps them. All where absent. */
  readonly only?: ReadonlySet<number>;
}

export interface Tuned {
  readonly now: Score;
  readonly best: Score;
  /** The programme that the best choice comes from, for what binds; null where a search by steps found it. */
  readonly solution: CellSolution | null;
  readonly time: TimeSpace | null;
  /** Different orders of events that were solved, and whether the search ended by itself. */
  readonly orders: number;
  readonly complete: boolean;
}

/** The best choice found; null where the rig does not resolve as it is. */
export const tune = (problem: TuneProblem, options: TuneOptions): Tuned | null => finish(tuneWork(problem, options));

/** The same in steps. */
export function* tuneWork(problem: TuneProblem, options: TuneOptions): Work<Tuned | null> {
  const base = problem.variables.map((v) => v.now);
  const all = scopeOf(options);
  const now = yield* scoreWork(problem, base, all);
  if (!now) return null;
  if (options.only && now.missing === 0)
    return { now, best: now, solution: null, time: null, orders: 0, complete: true };
  const timing: Scope = {
    ...all,
    requirements: (r, k) => all.requirements(r, k) && isTimed(r),
    preferences: (p, k) => all.preferences(p, k) && isTimed(p),
  };
  const weight = weightOf(now.facts.rig);
  const trials = Math.ceil(options.trials / weight);
  const timed = yield* climb(problem, base, timing, options);
  const contents =
    now.facts.rig.requirements.some((r, k) => all.requirements(r, k) && !isTimed(r)) ||
    now.facts.rig.preferences.some((p, k) => all.preferences(p, k) && !isTimed(p)) ||
    problem.variables.some((v) => v.dimension !== 'time') ||
    timed.time === null;
  let best = now;
  let solution: CellSolution | null = null;
  const candidate = timed.best && (yield* scoreWork(problem, timed.best.score.values, all));
  if (candidate && better(candidate, best)) {
    best = candidate;
    solution = timed.best;
  }
  const kept = options.only !== undefined && best.missing === 0;
  const polished = kept
    ? best
    : contents
      ? yield* bySteps(problem, best, all, trials)
      : yield* bySteps(quickly(problem, timed.time), best, timing, Math.min(trials, 60 * problem.variables.length), 2);
  if (better(polished, best)) {
    best = contents ? polished : (yield* scoreWork(problem, polished.values, all))!;
    solution = polished.values.join() === solution?.score.values.join() ? solution : null;
  }
  // Of a set that is only asked whether it can hold, the nearest is wanted as it is.
  if (!options.only) best = yield* withPresent(problem, now, best, all, Math.max(trials, Math.ceil(PUT_BACK / weight)));
  return { now, best, solution, time: timed.time, orders: timed.orders, complete: timed.complete };
}

/** Choices with present values put back that may be tried, of a rig of everyday size. */
const PUT_BACK = 1_000;

/** The problem whose rigs are read from the text only where they have to be. */
function quickly(problem: TuneProblem, time: TimeSpace | null): TuneProblem {
  if (!time) return problem;
  return { ...problem, rigAt: (values) => time.rigAt(time.indices.map((index) => values[index]!)) };
}

function scopeOf({ only, losses }: TuneOptions): Scope {
  const asked = only && { requirements: (_: Requirement, index: number) => only.has(index), preferences: () => false };
  return { ...EVERYTHING, ...asked, ...(losses ? { losses } : {}) };
}

/** What is measured on strokes follows the order of events; all else is about contents. */
export function isTimed(statement: Requirement | Preference): boolean {
  const metric = metricNamed(statement.metric);
  return metric !== undefined && metric.kind !== 'flow' && statement.during === null;
}

interface Climbed {
  readonly best: CellSolution | null;
  readonly time: TimeSpace | null;
  readonly orders: number;
  readonly complete: boolean;
}

function* climb(problem: TuneProblem, base: readonly number[], scope: Scope, options: TuneOptions): Work<Climbed> {
  const budget = { left: options.runs };
  const time = yield* timeSpaceWork(problem, base, budget);
  if (!time) return { best: null, time, orders: 0, complete: budget.left > 0 };
  const { low, high } = time.space.box;
  const { random } = options;
  const search: OrderSearch = {
    problem,
    time,
    scope,
    jitter: random,
    budget,
    weight: weightOf(time.space.rig),
    solved: new Set(),
  };
  let best: CellSolution | null = null;
  const isEnough = (): boolean => options.only !== undefined && best?.score.missing === 0;
  function* from(at: readonly number[]): Work<void> {
    const found = yield* climbOrders(search, at);
    if (found && better(found.score, best?.score ?? null)) best = found;
  }
  // A little off the present values: there, moments that have nothing to do with each other seldom coincide.
  const off = (x: number, k: number): number =>
    Math.round(Math.min(high[k]!, Math.max(low[k]!, x + (random() - 0.5) * 2_000)));
  yield* from(time.indices.map((index, k) => off(base[index]!, k)));
  for (let start = 0; start < options.starts && search.budget.left > 0 && !isEnough(); start++)
    yield* from(low.map((l, k) => Math.round(l + random() * (high[k]! - l))));
  return { best, time, orders: search.solved.size, complete: search.budget.left > 0 };
}

/** From a choice on by whole steps, one variable or two at a time, ever smaller ones, as long as anything gets better. */
function* bySteps(problem: TuneProblem, start: Score, scope: Scope, trials: number, largest = Infinity): Work<Score> {
  let best = start;
  let left = trials;
  const known = new Set([start.values.join()]);
  function* look(values: readonly number[]): Work<boolean> {
    const key = values.join();
    if (known.has(key) || left <= 0) return false;
    known.add(key);
    left--;
    const score = yield* scoreWork(problem, values, scope);
    if (!score || !better(score, best)) return false;
    best = score;
    return true;
  }
  const widths = problem.variables.map((v) => (v.high - v.low) / 4 / v.step);
  let size = Math.min(largest, Math.max(1, ...widths));
  const moved = (changes: Changes): number[] =>
    changes.reduce<number[]>((values, [k, by]) => {
      const v = problem.variables[k]!;
      const steps = Math.max(1, Math.round(Math.min(size, widths[k]!)));
      values[k] = stepped(v, best.values[k]! + by * steps * v.step);
      return values;
    }, best.values.slice());
  for (;;) {
    let gained = false;
    for (const changes of singly(problem.variables.length)) {
      if (left <= 0) return best;
      gained = (yield* look(moved(changes))) || gained;
    }
    if (!gained)
      for (const changes of inPairs(problem.variables.length)) {
        if (left <= 0) return best;
        gained = (yield* look(moved(changes))) || gained;
      }
    if (left <= 0) return best;
    if (gained) continue;
    if (size <= 1) return best;
    size = Math.max(1, size / 2);
  }
}

/** Variables, by index, with the direction in which each is moved. */
type Changes = readonly (readonly [variable: number, by: number])[];

function* singly(count: number): Generator<Changes> {
  for (let k = 0; k < count; k++) for (const by of [1, -1]) yield [[k, by]];
}

function* inPairs(count: number): Generator<Changes> {
  for (let k = 0; k < count; k++)
    for (let j = 0; j < k; j++)
      for (const a of [1, -1])
        for (const b of [1, -1])
          yield [
            [k, a],
            [j, b],
          ];
}
