/** Evaluating requirements: every course, every sample; the worst one speaks. Nothing passes that was not measured. */
import { doorsNamed, elementOf, netsNamed } from '../model/logic';
import { followingNets } from '../timing/analyse';
import { noStrokeReason } from '../timing/no-stroke';
import { openedByTwo, twoChangesHint } from '../timing/two-changes';
import type { Requirement, Rig, Scenario } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { DimensionName } from '../units/dimensions';
import { formatAlike, formatSi } from '../units/units';
import { requirementProblem } from './arguments';
import { missBy, toleratedRange } from './comparison';
import type { Course } from '../timing/course';
import { restCourse, strokeCourses } from '../timing/course';
import type { Metric, Sample, StateMetric, ValueMetric } from './metric';
import { metricNamed } from './registry';
import { scenarioCourse } from './scenario-course';
import { unreadBasis } from './unread';
import { slackOf } from './slack';
import type { Verdict, VerdictState } from './verdict';
import { say } from '../words/say';

/**
 * The verdict on one requirement of a rig, at nominal times. Several triggers: each stroke in which what it measures happens
 * must satisfy it.
 */
export function evaluateRequirement(facts: RigFacts, requirement: Requirement): Verdict {
  let known = VERDICTS.get(facts);
  if (!known) VERDICTS.set(facts, (known = new Map()));
  let verdict = known.get(requirement);
  if (!verdict) known.set(requirement, (verdict = worked(facts, requirement)));
  return verdict;
}

/** Verdicts asked for before: checks, repairs and the test view ask for the same ones. */
const VERDICTS = new WeakMap<RigFacts, Map<Requirement, Verdict>>();

function worked(facts: RigFacts, requirement: Requirement): Verdict {
  const expected = expectedText(requirement);
  const problem = requirementProblem(facts.rig, requirement);
  if (problem === 'silent') return plain('invalid', null, expected, say`The requirement could not be read.`);
  if (problem) return plain('invalid', problem.code, expected, problem.message);
  const metric = metricNamed(requirement.metric)!;
  const name = requirementName(requirement);
  const measured = measureRequirement(facts, metric, requirement);
  if (measured.kind === 'no-basis')
    return plain('undecided', 'require/undecided', expected, `${name} ${measured.why}.`);
  if (measured.kind === 'absent') {
    const verdict = judgeAbsent(requirement, metric.whenAbsent, measured.why, expected);
    return { ...verdict, message: verdict.message + openedBy(facts, requirement) };
  }
  const { cases } = measured;
  return metric.kind === 'state' ? judgeState(name, cases, expected) : judgeValue(requirement, cases, expected);
}

/** Every case of what a metric measures in a rig; `absent`: what it measures does not happen; `no-basis`: nothing to measure it on. */
export type MeasuredCases =
  | { readonly kind: 'cases'; readonly cases: readonly Case[] }
  | { readonly kind: 'absent'; readonly why: string }
  | { readonly kind: 'no-basis'; readonly why: string };

/** Measures without judging: what a requirement's metric gives in every course, whatever it is compared with. The requirement is well formed. */
export function measureRequirement(facts: RigFacts, metric: Metric, requirement: Requirement): MeasuredCases {
  const unread = unreadBasis(facts.rig, requirement, metric);
  if (unread !== null) return { kind: 'no-basis', why: undecided(unread).why };
  if (metric.kind === 'flow') {
    const measured = metric.measure(facts, requirement.args, requirement);
    if (measured.kind === 'absent') return measured;
    if (measured.kind === 'withheld') return { kind: 'no-basis', why: say`is not computed: ${measured.why}` };
    return { kind: 'cases', cases: measured.samples.map((sample) => ({ since: '', sample })) };
  }
  const basis = basisOf(facts, metric, requirement);
  if (!Array.isArray(basis)) return { kind: 'no-basis', why: basis.why };
  return measureCourses(metric, requirement, basis);
}

/** How a requirement is called in messages and lists: the statement without its keyword. */
export function requirementName(requirement: Requirement): string {
  return requirement.text;
}

interface NoBasis {
  /** What follows the requirement's name in a sentence. */
  readonly why: string;
}

/** What it is measured on, or why there is nothing. */
function basisOf(facts: RigFacts, metric: Metric, requirement: Requirement): Course[] | NoBasis {
  const { rig, timing } = facts;
  if (requirement.during !== null) return scenarioBasis(rig, rig.scenarios[requirement.during]);
  const unknown = noStrokeReason(timing, '');
  if (unknown !== '') return undecided(unknown);
  const rest = restCourse(facts);
  if (metric.name === 'stands_open') return [rest];
  const courses = coursesFor(facts, requirement);
  if (!Array.isArray(courses)) return courses;
  if (metric.name === 'never') return [rest, ...courses];
  return courses.length === 0 ? undecided(say`no sensor starts a stroke`) : courses;
}

/** Signals that a requirement names. */
export const followedNets = (rig: Rig, requirement: Requirement): number[] =>
  netsNamed(rig, requirement).filter((net) => elementOf(rig, net));

/** The strokes, followed until the signals repeat that are asked about, too: one that drives nothing may go on when the doors have come to rest. */
function coursesFor({ rig, timing }: RigFacts, requirement: Requirement): Course[] | NoBasis {
  const nets = followedNets(rig, requirement);
  const isLeftOut = (net: number): boolean =>
    timing.strokes.some(({ pattern }) => pattern?.covers && !pattern.covers.includes(net));
  if (!nets.some(isLeftOut)) return strokeCourses({ rig, timing });
  const followed = followingNets(rig, timing, nets);
  const unknown = noStrokeReason(followed, '');
  return unknown === '' ? strokeCourses({ rig, timing: followed }) : undecided(unknown);
}

function undecided(why: string): NoBasis {
  return { why: say`is not decided: ${why}` };
}

function scenarioBasis(rig: Rig, scenario: Scenario | undefined): Course[] | NoBasis {
  if (!scenario) return undecided(say`its scenario is not known`);
  const course = scenarioCourse(rig, scenario);
  return typeof course === 'string' ? undecided(course) : [course];
}

/** One measured case. */
export interface Case {
  /** What its moments count from; empty where it states none. */
  readonly since: string;
  readonly sample: Sample;
}

function measureCourses(
  metric: ValueMetric | StateMetric,
  requirement: Requirement,
  courses: readonly Course[],
): MeasuredCases {
  const cases: Case[] = [];
  let absent = '';
  for (const course of courses) {
    const measured = metric.measure(course, requirement.args, requirement);
    if (measured.kind === 'absent') absent ||= measured.why;
    else cases.push(...measured.samples.map((sample) => ({ since: course.label, sample })));
  }
  return cases.length === 0 ? { kind: 'absent', why: absent } : { kind: 'cases', cases };
}

/** What would open doors of a requirement that open in no stroke. */
function openedBy({ rig, timing }: RigFacts, requirement: Requirement): string {
  const named = requirement.during === null ? doorsNamed(rig, requirement) : [];
  if (named.length === 0) return '';
  return openedByTwo(rig, timing)
    .filter(({ doors }) => doors.some((door) => named.includes(door)))
    .map((two) => ` ${twoChangesHint(rig, two)}`)
    .join('');
}

function judgeAbsent(requirement: Requirement, state: 'failed' | 'undecided', why: string, expected: string): Verdict {
  const name = requirementName(requirement);
  const hint =
    requirement.during === null ? say` If a scenario brings it about, add during and the name of the scenario.` : '';
  const message =
    state === 'failed' ? say`${name} does not hold: ${why}.` : say`${name} is not decided: ${why}.${hint}`;
  return { ...plain(state, `require/${state}`, expected, message), found: why };
}

function judgeState(name: string, cases: readonly Case[], expected: string): Verdict {
  const bad = cases.find((c) => c.sample.value === 0);
  const deciding = bad ?? cases[cases.length - 1]!;
  const clause = `${deciding.sample.why}${sinceText(deciding)}`;
  return {
    state: bad ? 'failed' : 'met',
    code: bad ? 'require/failed' : null,
    actual: null,
    expected,
    found: deciding.sample.why,
    message: bad ? say`${name} does not hold: ${clause}.` : say`${name} holds.`,
    places: deciding.sample.places(),
  };
}

function judgeValue(requirement: Requirement, cases: readonly Case[], expected: string): Verdict {
  const comparison = requirement.comparison!;
  const missed = cases.map((c) => ({ ...c, miss: missBy(comparison, c.sample.value) }));
  const worst = missed.reduce((a, b) => (worse(comparison, b, a) ? b : a));
  const dimension = comparison.dimension as DimensionName;
  const found = formatSi(worst.sample.value, dimension);
  const name = requirementName(requirement);
  const holds = worst.miss === 0;
  const off = Number.isFinite(worst.miss) ? offText(formatSi(Math.abs(worst.miss), dimension), worst.miss) : '';
  // What has no end, or never comes, is a fact and no figure.
  const figure = Number.isFinite(worst.sample.value) ? say`it is ${found}${off}: ` : '';
  const clause = `${figure}${worst.sample.why}${sinceText(worst)}`;
  return {
    state: holds ? 'met' : 'failed',
    code: holds ? null : 'require/failed',
    actual: { dimension, nominal: worst.sample.value, range: null },
    expected,
    found,
    message: holds ? say`${name} holds: it is ${found}.` : say`${name} does not hold: ${clause}.`,
    places: worst.sample.places(),
  };
}

function offText(amount: string, miss: number): string {
  return miss < 0 ? say`, ${amount} too little` : say`, ${amount} too much`;
}

/** Whether `a` speaks louder than `b`: it misses by more or, where neither misses, has less to spare. */
function worse(
  comparison: NonNullable<Requirement['comparison']>,
  a: Case & { miss: number },
  b: Case & { miss: number },
): boolean {
  if (a.miss !== b.miss) return Math.abs(a.miss) > Math.abs(b.miss);
  return slackOf(comparison, a.sample.value) < slackOf(comparison, b.sample.value);
}

/** "after ready goes on", where the clause states a moment. */
function sinceText({ since, sample }: Case): string {
  return since && sample.dated === true ? ` ${since}` : '';
}

function expectedText({ comparison }: Requirement): string {
  if (!comparison) return '';
  const dimension = comparison.dimension as DimensionName;
  const { low, high } = toleratedRange(comparison);
  if (comparison.operator === 'in') {
    const text = formatAlike([low, high], dimension);
    return `in ${text(low)} .. ${text(high)}`;
  }
  return `${comparison.operator} ${formatSi(comparison.low.nominal, dimension)}`;
}

function plain(state: VerdictState, code: string | null, expected: string, message: string): Verdict {
  return { state, code, actual: null, expected, found: '', message, places: [] };
}
