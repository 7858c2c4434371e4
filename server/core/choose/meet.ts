/** Making a failed requirement hold by turning one time, or two. */
import { missBy } from '../metrics/comparison';
import { evaluateRequirement } from '../metrics/evaluate';
import { metricNamed } from '../metrics/registry';
import type { Requirement, Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { TimeLiteral } from './literals';
import { sameSource } from './literals';
import type { Change, Goal, Turn } from './search';
import { searchWork, tryChangeWork, tryPairsWork } from './search';
import type { Work } from '../work/work';

/** Metrics whose value follows presets in a way that one screw can put right. */
const TUNABLE = new Set([
  'overlap',
  'gap',
  'repeat',
  'cycle',
  'window',
  'open_time',
  'opens_at',
  'opened_at',
  'closes_at',
  'shuts_at',
  'margin',
  'pulse',
  'order',
]);

/** The most times that are tried for one requirement. */
const MOST = 3;
/** No time is stretched or shrunk beyond this factor: that would be another rig. */
const FURTHEST = 3;

/**
 * Changes, each of one time, that make a failed requirement hold and break none about times that holds; the smallest (in proportion) first;
 * where there is none, one of two times. The times tried are those responsible for what was measured. Empty where none helps or the
 * metric is not one of times.
 */
export function* meetingChanges(facts: RigFacts, requirement: Requirement): Work<Change[]> {
  if (!TUNABLE.has(requirement.metric) || requirement.during !== null) return [];
  const verdict = evaluateRequirement(facts, requirement);
  if (verdict.state !== 'failed') return [];
  const held = facts.rig.requirements.filter((r) => isTimed(r) && evaluateRequirement(facts, r).state === 'met');
  const goal: Goal = (after) => [requirement, ...held].every((r) => evaluateRequirement(after, r).state === 'met');
  const literals = responsibleTimes(
    facts.rig,
    verdict.places.map((p) => p.at),
  ).slice(0, MOST);
  const miss = requirement.comparison && verdict.actual ? missBy(requirement.comparison, verdict.actual.nominal) : 0;
  const changes: Change[] = [];
  const take = (change: Change | null): void => void (change && changes.push(change));
  for (const literal of literals) take(yield* byArithmetic(facts.rig, literal, miss, goal));
  if (changes.length === 0) for (const literal of literals) take(yield* bySearch(facts.rig, literal, goal));
  if (changes.length === 0) take(yield* tryPairsWork(facts.rig, halfEach(literals, miss), goal));
  return changes.sort((a, b) => proportion(a) - proportion(b));
}

/** Requirements about masses and energies cost a filling each; whoever offers the change looks at them afterwards. */
function isTimed(requirement: Requirement): boolean {
  return metricNamed(requirement.metric)?.kind !== 'flow' && requirement.during === null;
}

/** Pairs of times that share what is missing, in every combination of longer and shorter, none turned too far. */
function halfEach(literals: readonly TimeLiteral[], miss: number): (readonly [Turn, Turn])[] {
  if (miss === 0 || !Number.isFinite(miss)) return [];
  const turn = (literal: TimeLiteral, by: number): Turn => ({ literal, value: literal.value + by / 2 });
  const isNear = ({ literal, value }: Turn): boolean =>
    value <= literal.value * FURTHEST && value >= literal.value / FURTHEST;
  const signs = [-1, 1];
  return literals.flatMap((a, i) =>
    literals
      .slice(i + 1)
      .flatMap((b) => signs.flatMap((p) => signs.map((q) => [turn(a, p * miss), turn(b, q * miss)] as const)))
      .filter((pair) => pair.every(isNear)),
  );
}

function proportion({ literal, value }: Change): number {
  return Math.abs(value - literal.value) / literal.value;
}

/** Most values follow a preset one to one, up or down: turn it by what is missing. */
function* byArithmetic(rig: Rig, literal: TimeLiteral, miss: number, goal: Goal): Work<Change | null> {
  if (miss === 0 || !Number.isFinite(miss)) return null;
  const less = yield* tryChangeWork(rig, literal, literal.value - miss, goal);
  return less ?? (yield* tryChangeWork(rig, literal, literal.value + miss, goal));
}

function* bySearch(rig: Rig, literal: TimeLiteral, goal: Goal): Work<Change | null> {
  const shorter = yield* searchWork(rig, literal, 'shorter', goal, literal.value / FURTHEST);
  const longer = yield* searchWork(rig, literal, 'longer', goal, literal.value * FURTHEST);
  if (!shorter || !longer) return shorter ?? longer;
  return proportion(shorter) <= proportion(longer) ? shorter : longer;
}

/** Presets that stand at the given places. */
function responsibleTimes(rig: Rig, places: readonly TimeLiteral['at'][]): TimeLiteral[] {
  return places.flatMap((at, i) => {
    if (places.findIndex((p) => sameSource(p, at)) < i) return [];
    const element = rig.network.elements.find((e) => e.preset && sameSource(e.preset.at, at));
    return element ? [{ at, value: element.preset!.nominal, name: element.name }] : [];
  });
}
