/** Finding the smallest change of one time that reaches a goal, by working the rig out again. */
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { analyseRig, analysisOf } from '../run/analyse';
import { finish, type Work } from '../work/work';
import type { TimeLiteral } from './literals';
import { sameSource, withTime } from './literals';

/** Whether the facts of the changed rig are as wanted. */
export type Goal = (facts: RigFacts) => boolean;

/** One time of the text turned. */
export interface Turn {
  readonly literal: TimeLiteral;
  /** The new time in microseconds. */
  readonly value: number;
}

/** A change of one time in the text, or of two. */
export interface Change extends Turn {
  /** The second one, where one alone does not do. */
  readonly also?: Turn;
  /** Facts of the rig with the change made. */
  readonly facts: RigFacts;
}

/** The finest step a search gives: 1 ms. */
const FINEST = 1_000;
/** The longest time that is tried: one day. */
const LONGEST = 86_400_000_000;

/** Facts of the rig with one time changed. */
export function tryTime(rig: Rig, literal: TimeLiteral, value: number): RigFacts {
  return analyseRig(withTime(rig, literal.at, value));
}

/** A readable time not nearer to the old one than `value`: whole 10 ms, from 10 s on whole 100 ms, below 100 ms whole 1 ms. */
export function readableTime(value: number, old: number): number {
  const step = value >= 10_000_000 ? 100_000 : value >= 100_000 ? 10_000 : FINEST;
  const rounded = value < old ? Math.floor(value / step) * step : Math.ceil(value / step) * step;
  return Math.max(0, rounded);
}

/** Tries one value computed by arithmetic, made readable first; null where it does not reach the goal. */
export const tryChange = (rig: Rig, literal: TimeLiteral, value: number, goal: Goal): Change | null =>
  finish(tryChangeWork(rig, literal, value, goal));

/** The same in steps; `before` computes what the goal reads that takes long. */
export function* tryChangeWork(
  rig: Rig,
  literal: TimeLiteral,
  value: number,
  goal: Goal,
  before?: (facts: RigFacts) => Work<unknown>,
): Work<Change | null> {
  for (const candidate of new Set([readableTime(value, literal.value), Math.round(value)])) {
    if (candidate <= 0 || candidate === literal.value) continue;
    const facts = yield* analysisOf(withTime(rig, literal.at, candidate));
    if (before) yield* before(facts);
    if (goal(facts)) return { literal, value: candidate, facts };
    yield;
  }
  return null;
}

/** Most pairs of times that are tried: each costs up to two analyses. */
const MOST_PAIRS = 6;

/**
 * The first pair of turns that reaches the goal where none of them does alone, each turned as far as given, made readable first; null
 * where none does. Turns of one and the same time make no pair.
 */
export function* tryPairsWork(
  rig: Rig,
  pairs: readonly (readonly [Turn, Turn])[],
  goal: Goal,
  before?: (facts: RigFacts) => Work<unknown>,
): Work<Change | null> {
  const isPair = ([a, b]: readonly [Turn, Turn]): boolean => !sameSource(a.literal.at, b.literal.at);
  for (const [one, other] of pairs.filter(isPair).slice(0, MOST_PAIRS)) {
    for (const round of [readable, exact]) {
      const [first, second] = [round(one), round(other)];
      if (first.value <= 0 || second.value <= 0) continue;
      const turned = withTime(withTime(rig, first.literal.at, first.value), second.literal.at, second.value);
      const facts = yield* analysisOf(turned);
      if (before) yield* before(facts);
      if (goal(facts)) return { ...first, also: second, facts };
      yield;
    }
  }
  return null;
}

const readable = ({ literal, value }: Turn): Turn => ({ literal, value: readableTime(value, literal.value) });
const exact = ({ literal, value }: Turn): Turn => ({ literal, value: Math.round(value) });

/**
 * The change nearest to the present time that reaches the goal, exact to 1 ms and then made readable; null where none does. The
 * goal must hold from some point on in that direction, as far as the search looks (strides of 1, 4, 16 … ms up to `limit`).
 */
export const searchChange = (...asked: Parameters<typeof searchWork>): Change | null => finish(searchWork(...asked));

/** The same in steps. */
export function* searchWork(
  rig: Rig,
  literal: TimeLiteral,
  direction: 'longer' | 'shorter',
  goal: Goal,
  limit: number = direction === 'longer' ? LONGEST : FINEST,
): Work<Change | null> {
  const sign = direction === 'longer' ? 1 : -1;
  function* reaches(distance: number): Work<boolean> {
    yield;
    return goal(yield* analysisOf(withTime(rig, literal.at, literal.value + sign * distance)));
  }
  const furthest = Math.floor(Math.abs(limit - literal.value) / FINEST) * FINEST;
  let [low, high] = [0, FINEST];
  while (high < furthest && !(yield* reaches(high))) [low, high] = [high, high * 4];
  if (high >= furthest) {
    if (furthest <= low || !(yield* reaches(furthest))) return null;
    high = furthest;
  }
  while (high - low > FINEST) {
    const middle = low + Math.ceil((high - low) / 2 / FINEST) * FINEST;
    if (middle >= high) break;
    if (yield* reaches(middle)) high = middle;
    else low = middle;
  }
  return yield* tryChangeWork(rig, literal, literal.value + sign * high, goal);
}
