/**
 * How much tolerance a requirement can stand: for each time alone, and for all of them together.
 *
 * For one time alone, bisection between "holds" and "breaks" would be wrong: a longer time may break a requirement and a still longer one
 * repair it. So the line of values is walked from one order of events to the next. Inside one order every moment is a sum of times, the
 * slack of a requirement is then linear in the one that changes, and a linear function that is met at both ends of a stretch is met inside.
 *
 * For all together the box grows in all directions at once, and a box that holds contains every smaller one; so there bisection is right,
 * and each size is answered by covering it with cells (`coverMeasure`).
 */
import type { Rig } from '../model/rig';
import type { TimingOptions } from './analyse';
import type { TimingFacts } from './facts';
import { cellAround, type Budget, type Space } from './orders/cells';
import { coverMeasure, type CoveredRange, type Measure } from './orders/cover-measure';
import type { Watch } from './orders/trace-orders';
import { allTimes, type Random, type TimeParameter } from './tolerance';
import { toleranceSpace } from './tolerance-space';

/** How far above (≥ 0) or below (< 0) its bound a requirement is; null where it is not decided. */
export type Slack = (facts: TimingFacts) => number | null;

/** What is looked at: a rig, how a requirement stands in a run, and the doors and nets whose order it depends on. */
export interface Question {
  readonly rig: Rig;
  readonly slack: Slack;
  readonly watch: Watch;
  /** Numbers that decide, and the verdict on their ranges over a box: kept, broken, or not known. */
  readonly measure: Measure;
  readonly judge: (ranges: ReadonlyMap<string, CoveredRange>) => boolean | null;
  readonly options?: TimingOptions;
}

export interface Breaking {
  readonly parameter: TimeParameter;
  /** Smallest change of this time alone that breaks the requirement, whole microseconds, signed. */
  readonly change: number;
}

export interface BreakingTimes {
  /** Smallest change first; times that do not break it within the reach are left out. */
  readonly breaks: readonly Breaking[];
  /** No walk was ended by the budget before its reach, or before the ones listed. */
  readonly complete: boolean;
  /** Times that were only sampled from a change below those listed on: a smaller one may break it in between. */
  readonly sampled: readonly Breaking[];
}

/** The walk of one time in one direction. */
interface Walk {
  /** The first change that breaks the requirement, signed; null where none that was looked at does. */
  readonly change: number | null;
  /** The budget ended first. */
  readonly ended: boolean;
  /** The change from which on an order of events could not be followed, and only samples were looked at; null where all was. */
  readonly sampledFrom: number | null;
}

/** Changes beyond the third smallest are not looked for. */
const LISTED = 3;

/**
 * For each time the smallest change by itself that breaks the requirement, at most three, also where a larger change repairs it again:
 * the walk goes from one order of events to the next, and within one the slack is a straight line.
 */
export function breakingTimes(question: Question, reach: number, budget: Budget): BreakingTimes {
  const breaks: Breaking[] = [];
  const sampled: Breaking[] = [];
  let complete = true;
  for (const parameter of allTimes(question.rig)) {
    let least: number | null = null;
    // Only what would be among those listed is looked for: the reach shrinks to the last one listed, and to this time's own other side.
    for (const direction of [-1, 1] as const) {
      const far = breaks.length < LISTED ? reach : Math.abs(breaks[LISTED - 1]!.change);
      const limit = Math.min(
        far,
        least === null ? Infinity : Math.abs(least),
        direction < 0 ? parameter.nominal : Infinity,
      );
      const found = walk(question, parameter, direction, limit, budget);
      complete &&= !found.ended;
      if (found.sampledFrom !== null) sampled.push({ parameter, change: found.sampledFrom });
      if (found.change !== null) least = found.change;
    }
    if (least !== null) breaks.push({ parameter, change: least });
    breaks.sort((a, b) => Math.abs(a.change) - Math.abs(b.change));
    breaks.splice(LISTED);
  }
  const last = breaks.length < LISTED ? Infinity : Math.abs(breaks[LISTED - 1]!.change);
  return { breaks, complete, sampled: sampled.filter(({ change }) => Math.abs(change) < last) };
}

/**
 * The smallest changes of one time alone, shorter and longer, that break the requirement; null where none within reach does.
 * `complete`: every change up to them or to the reach was looked at, none only sampled.
 */
export function breakingChanges(
  question: Question,
  parameter: TimeParameter,
  reach: number,
  budget: Budget,
): { readonly shorter: number | null; readonly longer: number | null; readonly complete: boolean } {
  const shorter = walk(question, parameter, -1, Math.min(reach, parameter.nominal), budget);
  const longer = walk(question, parameter, 1, reach, budget);
  const complete = [shorter, longer].every(({ ended, sampledFrom }) => !ended && sampledFrom === null);
  return { shorter: shorter.change, longer: longer.change, complete };
}

const met = (slack: number | null): boolean => slack !== null && slack >= 0;

/**
 * The first change in one direction, up to `limit`, that breaks the requirement. Where a door turns round half way, its moments are not
 * sums of times (a quotient of its two travels enters): there only samples are looked at.
 */
function walk(
  { rig, slack, watch, options }: Question,
  parameter: TimeParameter,
  direction: 1 | -1,
  limit: number,
  budget: Budget,
): Walk {
  const { nominal } = parameter;
  const end = nominal + direction * limit;
  const open = { ...parameter, min: Math.min(nominal, end), max: Math.max(nominal, end) };
  const space = toleranceSpace(rig, [open], options);
  const run = (x: number): TimingFacts => {
    budget.left--;
    return space.run([x]);
  };
  let sampledFrom: number | null = null;
  for (let x = nominal; (end - x) * direction >= 0;) {
    if (budget.left <= 0) return { change: null, ended: true, sampledFrom };
    const facts = run(x);
    // The first value of a new order: where the requirement breaks by a jump, it breaks here.
    if (!met(slack(facts))) return { change: x - nominal, ended: false, sampledFrom };
    const last = lastInCell(space, x, facts, watch, direction, end);
    // Without a cell the slack between two samples is not known to be linear: a break that repairs itself in between would be missed.
    if (last === null) sampledFrom ??= x - nominal;
    const next = nextOf(x, last, direction, end, limit);
    // Linear from x to next, kept at x and broken at next: one sign change between them.
    if (next !== x && !met(slack(run(next)))) {
      const change = firstBreak((y) => met(slack(run(y))), x, next) - nominal;
      return { change, ended: false, sampledFrom };
    }
    // The neighbour of the last value belongs to the next order: values are whole microseconds, nothing lies between.
    x = next + direction;
  }
  return { change: null, ended: false, sampledFrom };
}

/** Samples of what lies between the nominal value and the end of a walk, and their least distance, µs. */
const SAMPLES = 64;
const LEAST_STEP = 1_000;

/** The far end of a stretch to look at: that of the cell, or, where moments are not sums of times, the next sample. */
function nextOf(x: number, last: number | null, direction: 1 | -1, end: number, limit: number): number {
  const next = last ?? x + direction * Math.max(LEAST_STEP, Math.floor(limit / SAMPLES));
  return direction > 0 ? Math.min(next, end) : Math.max(next, end);
}

/** How far the order of events at `x` reaches; null where it is not known. */
function lastInCell(
  space: Space,
  x: number,
  facts: TimingFacts,
  watch: Watch,
  direction: 1 | -1,
  end: number,
): number | null {
  const cell = cellAround(space, { at: [x], facts }, watch);
  if (!cell) return null;
  let last = end;
  for (const order of cell.orders) {
    // a · x + c ≥ 0 ends where it is 0; only those that fall on the way end the cell.
    const a = order[0]!;
    if (a * direction >= 0) continue;
    const bound = -order[1]! / a;
    last = direction > 0 ? Math.min(last, Math.floor(bound)) : Math.max(last, Math.ceil(bound));
  }
  // Rounding inwards may pass x itself, at a point where two events coincide: the order then holds at that one value.
  return (last - x) * direction < 0 ? x : last;
}

/** Between a value that holds and one that does not, the nearest to the first that does not; whole numbers. */
function firstBreak(holds: (x: number) => boolean, sound: number, broken: number): number {
  let [a, b] = [sound, broken];
  while (Math.abs(b - a) > 1) {
    const middle = Math.trunc((a + b) / 2);
    if (holds(middle)) a = middle;
    else b = middle;
  }
  return b;
}

export interface CommonTolerance {
  /** In parts of 1, to 0.01 %, rounded down: with it the requirement holds for every value. */
  readonly share: number;
  /** A larger one was seen to break it, or `share` is the most looked at; false where the search could not look further. */
  readonly exact: boolean;
}

/** Drawn runs before a box is covered: most boxes that break the requirement show it at once. */
const DRAWS = 12;
/** Orders of events looked at for one box. */
const ORDERS = 40;

/** The largest relative tolerance that all times may have together with the requirement still met for every value inside. */
export function commonTolerance(question: Question, most: number, budget: Budget, random: Random): CommonTolerance {
  let exact = true;
  const holds = (share: number): boolean => {
    const verdict = holdsWithin(question, share, budget, random);
    if (verdict === null) exact = false;
    return verdict === true;
  };
  if (holds(most)) return { share: most, exact: true };
  let [sound, broken] = [0, most];
  // "Not known" counts as broken here: the share given is always one that was covered. `exact` keeps that it happened.
  while (broken - sound > 0.0001) {
    const middle = (sound + broken) / 2;
    if (holds(middle)) sound = middle;
    else broken = middle;
  }
  return { share: Math.floor(sound * 10_000) / 10_000, exact };
}

/** Whether the requirement holds for every value within a common tolerance; null where that could not be covered. */
function holdsWithin(question: Question, share: number, budget: Budget, random: Random): boolean | null {
  const { rig, slack, watch, options, measure, judge } = question;
  const parameters = allTimes(rig).map((p) => {
    const off = Math.round(p.nominal * share);
    return { ...p, min: p.nominal - off, max: p.nominal + off };
  });
  const space = toleranceSpace(rig, parameters, options);
  const holdsAt = (at: readonly number[]): boolean => {
    budget.left--;
    return met(slack(space.run(at)));
  };
  // A refutation by one run is far cheaper than a cover, and most boxes that are too large fall to it.
  for (let draw = 0; draw < DRAWS; draw++) {
    if (budget.left <= 0) return null;
    // Corners more often than the inside: most that breaks does so there.
    if (
      !holdsAt(
        parameters.map((p) =>
          draw % 3 === 0 ? p.min + Math.floor(random() * (p.max - p.min + 1)) : random() < 0.5 ? p.min : p.max,
        ),
      )
    )
      return false;
  }
  const orders = { left: Math.min(ORDERS, budget.left) };
  const before = orders.left;
  const { ranges } = coverMeasure(space, watch, measure, { budget: orders, jitter: random, verify: false });
  budget.left -= before - orders.left;
  return judge(ranges);
}
