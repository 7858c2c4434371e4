/**
 * What an edge in the hand does within the stated tolerances. It takes many runs of the engine, so it follows the facts at nominal times
 * a moment later: all of it in steps, to be left where the hand has moved on.
 */
import { pictureWithTolerance, type TimingModel } from '../../diagram/timing/model';
import { evaluateRequirement } from '../../metrics/evaluate';
import { worstOf, worstText } from '../../metrics/requirement-value';
import { slackOf } from '../../metrics/slack';
import { toleranceWork, withinBudgetWork, type ToleranceVerdict } from '../../metrics/within-tolerance';
import type { Requirement } from '../../model/rig';
import type { RigFacts } from '../../run/facts';
import { edgeRangesWork } from '../../run/edge-ranges';
import { looseTimes } from '../../timing/tolerance';
import { patiently, type Work } from '../../work/work';
import { factsAt, momentWith, putIn, stopsFor, type Choice, type Held, type HoldStop } from './hold';

/** Requirements within tolerance where the edge is held; those that fail at nominal times are not among them. */
export interface WorstAt {
  /** Number that holds for every value within tolerance, and number that is measured on strokes and holds at nominal times. */
  readonly kept: number;
  readonly of: number;
  /** Those that hold within tolerance in the text as it is and no longer do, or the other way round. */
  readonly changes: readonly WorstChange[];
}

export interface WorstChange {
  readonly text: string;
  readonly now: 'kept' | 'lost';
  /** `at worst missed by 40 ms` */
  readonly found: string;
}

/** Whether the rig states tolerances at all. */
export const isLoose = ({ rig }: RigFacts): boolean => looseTimes(rig).length > 0;

/** The requirements within tolerance with the edge brought to a moment. */
export function* worstAt(held: Held, choice: Choice, wanted: number): Work<WorstAt | null> {
  const found = yield* patiently(() => putIn(held, choice, wanted));
  if (!found) return null;
  const { before, facts } = found;
  const now = yield* toleranceWork(facts);
  const was = yield* toleranceWork(before);
  const changes = facts.rig.requirements.flatMap((requirement, k): WorstChange[] => {
    const same = before.rig.requirements[k];
    const [old, fresh] = [same && was.get(same), now.get(requirement)];
    if (!same || !fresh) return [];
    const isKept = fresh.state === 'kept';
    // What failed at nominal times is met now: that it is kept as well goes without saying.
    if (old ? (old.state === 'kept') === isKept : isKept) return [];
    const text = worstText(worstOf(requirement, fresh), dimensionOf(requirement));
    return [{ text: requirement.text, now: isKept ? 'kept' : 'lost', found: text }];
  });
  const states = [...now.values()];
  return { kept: states.filter((v) => v.state === 'kept').length, of: states.length, changes };
}

const dimensionOf = ({ comparison }: Requirement): string | null => comparison?.dimension ?? null;

/** The picture with the earliest and latest moment of each edge, the edge brought to a moment. */
export function* ghostsAt(held: Held, choice: Choice, wanted: number): Work<TimingModel | null> {
  const found = yield* patiently(() => putIn(held, choice, wanted));
  if (!found) return null;
  const { facts } = found;
  yield* edgeRangesWork(facts.rig, facts.timing);
  return pictureWithTolerance(facts, held.picture);
}

// ---------------------------------------------------------------- where something ends within tolerance

const MILLISECOND = 1_000;
/** Looks for one end; the slack is a sum of times, so that three or four do as long as the order of events stays. */
const MOST_LOOKS = 14;

/**
 * Before each moment at which a requirement breaks: the last value, to a millisecond, with which it holds for every time within tolerance.
 * Nothing where it does not hold within tolerance as it is, or holds as far as at nominal times.
 */
export function* worstStopsFor(held: Held, choice: Choice): Work<HoldStop[]> {
  const found: HoldStop[] = [];
  for (const stop of yield* stopsFor(held, choice)) {
    if (stop.beyond !== 'broken') continue;
    const value = yield* lastKept(held, choice, stop);
    if (value === null || value === stop.value) continue;
    const t = yield* patiently(() => momentWith(held, choice.literal, value));
    if (t !== null) found.push({ ...stop, t, value, beyond: 'worst' });
  }
  return found;
}

interface Look {
  readonly value: number;
  readonly isKept: boolean;
  /** By how much it holds at worst; null for what holds or not. */
  readonly slack: number | null;
}

/** The last value from where the text is towards a stop with which a requirement holds within tolerance; null where it never does. */
function* lastKept(held: Held, choice: Choice, { of, value: end }: HoldStop): Work<number | null> {
  let good = yield* lookAt(held, choice, of, choice.literal.value);
  if (!good?.isKept) return null;
  let bad = yield* lookAt(held, choice, of, end);
  if (!bad || bad.isKept) return bad ? end : null;
  for (let k = 0; k < MOST_LOOKS && Math.abs(bad.value - good.value) > MILLISECOND; k++) {
    const look: Look | null = yield* lookAt(held, choice, of, between(good, bad, k));
    if (!look) return null;
    if (look.isKept) good = look;
    else bad = look;
  }
  return good.value;
}

/** Where the slack runs out if it is linear, a millisecond to either side of it in turns; the middle where that is not known. */
function between(good: Look, bad: Look, turn: number): number {
  const way = Math.sign(bad.value - good.value);
  const [low, high] = [good.value + way * MILLISECOND, bad.value - way * MILLISECOND];
  const inside = (value: number): number => Math.min(Math.max(value, Math.min(low, high)), Math.max(low, high));
  const isLinear = turn % 4 !== 3 && good.slack !== null && bad.slack !== null && good.slack > bad.slack;
  const share = isLinear ? good.slack! / (good.slack! - bad.slack!) : 0.5;
  const grain = (value: number): number => Math.round(value / MILLISECOND) * MILLISECOND;
  return inside(grain(good.value + share * (bad.value - good.value)) + (turn % 2 === 1 ? way * MILLISECOND : 0));
}

function* lookAt(held: Held, choice: Choice, of: number, value: number): Work<Look | null> {
  const facts = yield* patiently(() => factsAt(held, choice.literal, value));
  const requirement = facts?.rig.requirements[of];
  if (!requirement) return null;
  if ((yield* patiently(() => evaluateRequirement(facts, requirement))).state !== 'met') {
    return { value, isKept: false, slack: null };
  }
  const verdict: ToleranceVerdict = yield* withinBudgetWork(facts, requirement);
  const { range, state } = verdict;
  const slacks = range && requirement.comparison ? [range.min, range.max] : [];
  const slack = slacks.length > 0 ? Math.min(...slacks.map((v) => slackOf(requirement.comparison!, v))) : null;
  return { value, isKept: state === 'kept', slack };
}
