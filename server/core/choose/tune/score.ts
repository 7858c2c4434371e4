/** How good a choice is: what fails, what is preferred, and the smallest slack in proportion. Verdicts come from the metrics. */
import { evaluateRequirement } from '../../metrics/evaluate';
import { measureMetric } from '../../metrics/measure';
import { relativeSlack, scaleOf } from '../../metrics/slack';
import type { Preference, Requirement, Rig } from '../../model/rig';
import { analysisOf } from '../../run/analyse';
import type { RigFacts } from '../../run/facts';
import { finish, patiently, type Work } from '../../work/work';
import type { TuneProblem } from './problem';

export interface Score {
  readonly values: readonly number[];
  readonly facts: RigFacts;
  /** Sum of how far each requirement is missed (`missedBy`); 0 where every requirement holds. */
  readonly missing: number;
  /** Preferences, the most important first, each so that more is better. */
  readonly aims: readonly number[];
  /** The smallest slack of all requirements with a comparison, in proportion; `Infinity` without any. */
  readonly least: number;
  /** All of them, smallest first. */
  readonly slacks: readonly number[];
}

/** Which requirements and preferences count, by index; those about contents cost a filling each. */
export interface Scope {
  readonly requirements: (requirement: Requirement, index: number) => boolean;
  readonly preferences: (preference: Preference, index: number) => boolean;
  /** Slack that tolerances take away, by index of the requirement, in the unit of the comparison. */
  readonly losses?: ReadonlyMap<number, number>;
}

export const EVERYTHING: Scope = { requirements: () => true, preferences: () => true };

/** Scores a choice; null where the rig does not resolve with it. */
export const scoreOf = (problem: TuneProblem, values: readonly number[], scope: Scope = EVERYTHING): Score | null =>
  finish(scoreWork(problem, values, scope));

/** The same in steps. */
export function* scoreWork(problem: TuneProblem, values: readonly number[], scope: Scope): Work<Score | null> {
  const rig = problem.rigAt(values);
  if (!rig) return null;
  yield;
  const facts = yield* analysisOf(rig);
  return yield* patiently(() => scoreRig(rig, values, scope, facts));
}

export function scoreRig(rig: Rig, values: readonly number[], scope: Scope, facts: RigFacts): Score {
  let missing = 0;
  const slacks: number[] = [];
  rig.requirements.forEach((requirement, index) => {
    if (!scope.requirements(requirement, index)) return;
    const verdict = evaluateRequirement(facts, requirement);
    const { comparison } = requirement;
    if (!comparison || !verdict.actual) {
      missing += verdict.state === 'met' || verdict.state === 'invalid' ? 0 : 1;
      return;
    }
    const loss = scope.losses?.get(index) ?? 0;
    const slack = relativeSlack(comparison, verdict.actual.nominal) - loss / scaleBy(requirement);
    if (slack < 0) missing += missedBy(-slack);
    else if (verdict.state !== 'met') missing += 1e-6;
    slacks.push(slack);
  });
  const aims = rig.preferences.flatMap((p, k) => (scope.preferences(p, k) ? [aimOf(facts, p)] : []));
  slacks.sort((a, b) => a - b);
  return { values, facts, missing, aims, least: slacks[0] ?? Infinity, slacks };
}

/**
 * How far a requirement is missed, from 0 to below 1: half the shortfall in proportion to the bound up to the bound itself, and more with every
 * further bit, so that of two choices that are far off the nearer one is always better. What has no value at all counts 1.
 */
const missedBy = (shortfall: number): number => (shortfall <= 1 ? shortfall / 2 : 1 - 1 / (2 * shortfall));

const scaleBy = (requirement: Requirement): number => scaleOf(requirement.comparison!);

/** Value of a preference so that more is better; worst case of several; −Infinity where there is none. */
function aimOf(facts: RigFacts, preference: Preference): number {
  const measured = measureMetric(facts, { ...preference, comparison: null });
  if (measured.kind !== 'values' || measured.values.length === 0) return -Infinity;
  const signed = measured.values.map((v) => (preference.direction === 'least' ? -v.value : v.value));
  return Math.min(...signed);
}

const HAIR = 1e-9;

/** Whether `a` is better than `b`: fewer failures, then what is preferred, then more to spare where there is least, and so on. */
export function better(a: Score, b: Score | null): boolean {
  if (!b) return true;
  if (Math.abs(a.missing - b.missing) > HAIR) return a.missing < b.missing;
  for (let k = 0; k < a.aims.length; k++) {
    const [x, y] = [a.aims[k]!, b.aims[k]!];
    if (Math.abs(x - y) > HAIR * Math.max(1, Math.abs(x))) return x > y;
  }
  for (let k = 0; k < a.slacks.length; k++) {
    // Behind the smallest: once the slack exceeds the bound itself, more of it gains nothing.
    const most = k === 0 ? Infinity : AMPLE;
    const [x, y] = [Math.min(most, a.slacks[k]!), Math.min(most, b.slacks[k] ?? -Infinity)];
    if (Math.abs(x - y) > 1e-6) return x > y;
  }
  return false;
}

/** Slack in proportion beyond which a choice is not better for having more. */
const AMPLE = 1;
