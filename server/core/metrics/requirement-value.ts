/**
 * The value and the slack of a requirement, also where it holds: the one function that check, hints, hovers, test view, tuner and
 * exports ask. Verdict and worst case come from the evaluation; nothing is judged here.
 */
import type { Requirement } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { DimensionName } from '../units/dimensions';
import { formatSi } from '../units/units';
import { evaluateRequirement } from './evaluate';
import { slackOf } from './slack';
import type { Verdict } from './verdict';
import { withinTolerance, type ToleranceState, type ToleranceVerdict } from './within-tolerance';
import { say } from '../words/say';

export interface RequirementValue {
  readonly requirement: Requirement;
  readonly verdict: Verdict;
  /** What was measured in the case that decides; microseconds for times, SI otherwise. Null for what holds or not, and where there is nothing. */
  readonly value: number | null;
  /** Dimension of `value` and of both slacks; null where there is no value. */
  readonly dimension: string | null;
  /** By how much it holds, in the unit of the value; negative: by how much it fails. */
  readonly slack: number | null;
  /** Within the stated tolerances, for what is measured on strokes of a rig that has any and holds at nominal times. */
  readonly worst: WorstValue | null;
}

export interface WorstValue {
  readonly state: ToleranceState;
  /** Range of the value; null for what holds or not. */
  readonly min: number | null;
  readonly max: number | null;
  readonly slack: number | null;
}

/** How a requirement stands, with numbers. */
export function requirementValue(facts: RigFacts, requirement: Requirement): RequirementValue {
  const verdict = evaluateRequirement(facts, requirement);
  const { comparison } = requirement;
  const value = verdict.actual?.nominal ?? null;
  const slack = comparison && value !== null ? slackOf(comparison, value) : null;
  return {
    requirement,
    verdict,
    value,
    dimension: verdict.actual?.dimension ?? null,
    slack,
    worst: worstValue(facts, requirement),
  };
}

/** All requirements of a rig, in order. */
export function requirementValues(facts: RigFacts): RequirementValue[] {
  return facts.rig.requirements.map((requirement) => requirementValue(facts, requirement));
}

function worstValue(facts: RigFacts, requirement: Requirement): WorstValue | null {
  const within = withinTolerance(facts).get(requirement);
  return within ? worstOf(requirement, within) : null;
}

/** The worst case of a requirement by what was found of it within tolerance. */
export function worstOf({ comparison }: Requirement, { range, state }: ToleranceVerdict): WorstValue {
  if (!range || !comparison) return { state, min: null, max: null, slack: null };
  const slack = Math.min(slackOf(comparison, range.min), slackOf(comparison, range.max));
  return { state, min: range.min, max: range.max, slack };
}

/** `310 ms, 210 ms to spare; at worst 180 ms to spare`, for ends of lines, hovers and lists; empty where there is nothing to state. */
export function valueText(value: RequirementValue): string {
  const { verdict, slack, dimension, worst } = value;
  if (verdict.state !== 'met' && verdict.state !== 'failed') return verdict.state === 'invalid' ? '' : say`not decided`;
  const parts = [slack === null ? stateText(value) : `${verdict.found}, ${spareText(slack, dimension!)}`];
  if (worst) parts.push(worstText(worst, dimension));
  return parts.filter((p) => p !== '').join('; ');
}

function stateText({ verdict }: RequirementValue): string {
  return verdict.state === 'met'
    ? say`holds`
    : verdict.found === ''
      ? say`does not hold`
      : say`does not hold: ${verdict.found}`;
}

/** `210 ms to spare`, `40 ms short`: a slack for people. */
export function spareText(slack: number, dimension: string): string {
  if (!Number.isFinite(slack)) return slack > 0 ? say`unbounded` : say`missed without limit`;
  const amount = formatSi(Math.abs(slack), dimension as DimensionName);
  return slack < 0 ? say`missed by ${amount}` : slack === 0 ? say`nothing to spare` : say`${amount} to spare`;
}

/** `at worst 40 ms to spare`, `fails within tolerance` */
export function worstText({ state, slack }: WorstValue, dimension: string | null): string {
  if (state === 'not-guaranteed') return say`not guaranteed within tolerance`;
  if (state === 'unclear') return say`may not happen within tolerance`;
  if (slack === null || dimension === null)
    return state === 'kept' ? say`holds within tolerance` : say`fails within tolerance`;
  return say`at worst ${spareText(slack, dimension)}`;
}
