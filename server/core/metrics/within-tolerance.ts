/**
 * Requirements within the stated tolerances: the worst case of what each measures, by the corners of the event engine, and how much
 * tolerance it can stand. Only what is measured on strokes: scenarios and masses are looked at with nominal times.
 */
import type { Requirement, Rig } from '../model/rig';
import { startOptions } from '../run/analyse';
import type { RigFacts } from '../run/facts';
import type { TimingFacts } from '../timing/facts';
import { looseTimes, monteCarlo, wilson, worstCase, type MeasureRange, type Random } from '../timing/tolerance';
import { breakingTimes, commonTolerance, type Breaking } from '../timing/tolerance-limits';
import { missBy } from './comparison';
import { evaluateRequirement } from './evaluate';
import { metricNamed } from './registry';

export interface ToleranceVerdict {
  /** Worst-case range of what is measured; null for metrics that hold or not. */
  readonly range: MeasureRange | null;
  /**
   * `kept`: holds for every value within tolerance; `broken`: fails for one; `unclear`: what is measured may be absent within tolerance;
   * `not-guaranteed`: no failure was found, but not every value within tolerance could be covered.
   */
  readonly state: ToleranceState;
}

export type ToleranceState = 'kept' | 'broken' | 'unclear' | 'not-guaranteed';

/** Verdicts of the requirements that hold at nominal times, for a rig that states tolerances; others are not in the map. */
export function withinTolerance(facts: RigFacts): ReadonlyMap<Requirement, ToleranceVerdict> {
  let known = KNOWN.get(facts);
  if (!known) KNOWN.set(facts, (known = workOut(facts)));
  return known;
}

const KNOWN = new WeakMap<RigFacts, ReadonlyMap<Requirement, ToleranceVerdict>>();

function workOut(facts: RigFacts): ReadonlyMap<Requirement, ToleranceVerdict> {
  const { rig } = facts;
  const asked = strokeRequirements(facts);
  if (asked.length === 0 || looseTimes(rig).length === 0) return new Map();
  const ranges = worstCase(rig, (timing) => measures(rig, timing, asked), startOptions(rig));
  return new Map(
    asked.map((requirement, k) => [requirement, judge(requirement, ranges.get(`${k}`), ranges.get(`${k} met`)!)]),
  );
}

/** Requirements measured on strokes that hold at nominal times. */
function strokeRequirements(facts: RigFacts): Requirement[] {
  return facts.rig.requirements.filter((requirement) => {
    const metric = metricNamed(requirement.metric);
    const onStrokes = metric !== undefined && metric.kind !== 'flow' && requirement.during === null;
    return onStrokes && evaluateRequirement(facts, requirement).state === 'met';
  });
}

const withTiming = (rig: Rig, timing: TimingFacts): RigFacts => ({ rig, timing, flow: null });

function measures(rig: Rig, timing: TimingFacts, asked: readonly Requirement[]): Map<string, number> {
  const facts = withTiming(rig, timing);
  const found = new Map<string, number>();
  asked.forEach((requirement, k) => {
    const verdict = evaluateRequirement(facts, requirement);
    found.set(`${k} met`, verdict.state === 'met' ? 1 : 0);
    if (verdict.actual) found.set(`${k}`, verdict.actual.nominal);
  });
  return found;
}

function judge(requirement: Requirement, range: MeasureRange | undefined, met: MeasureRange): ToleranceVerdict {
  const { comparison } = requirement;
  if (met.min < 1) return { range: range ?? null, state: range?.mayBeAbsent ? 'unclear' : 'broken' };
  if (!comparison || !range) return { range: null, state: 'kept' };
  const holds = missBy(comparison, range.min) === 0 && missBy(comparison, range.max) === 0;
  return { range, state: holds ? 'kept' : 'broken' };
}

// ---------------------------------------------------------------- on demand

export interface Standing {
  readonly requirement: Requirement;
  /** Each time whose change alone breaks it, smallest change first. */
  readonly breaks: readonly Breaking[];
  /** Largest tolerance that all times may have together, in parts of 1; null where only single changes can be told. */
  readonly common: number | null;
  readonly likely: {
    readonly met: number;
    readonly samples: number;
    readonly low: number;
    readonly high: number;
  } | null;
}

export interface StandingOptions {
  readonly samples: number;
  readonly random: Random;
  /** How far a single time is moved, µs. */
  readonly reach: number;
  /** Largest common tolerance tried, in parts of 1. */
  readonly most: number;
}

/** How much each requirement that holds at nominal times can stand. Costs hundreds of runs a requirement. */
export function standings(facts: RigFacts, options: StandingOptions): Standing[] {
  const { rig } = facts;
  const asked = strokeRequirements(facts);
  const start = startOptions(rig);
  const loose = looseTimes(rig).length > 0;
  const shares = loose
    ? monteCarlo(rig, (t) => metOnly(rig, t, asked), options.samples, options.random, start)
    : new Map();
  return asked.map((requirement, k) => {
    const slack = (timing: TimingFacts): number | null => slackOf(withTiming(rig, timing), requirement);
    const missed = shares.get(`${k}`);
    return {
      requirement,
      breaks: breakingTimes(rig, slack, options.reach, start),
      common: requirement.comparison ? commonTolerance(rig, slack, options.most, start) : null,
      likely: loose ? likelyOf(options.samples, missed?.absent ?? options.samples) : null,
    };
  });
}

/** A measure that is present exactly where the requirement is met, so that its absences are the failures. */
function metOnly(rig: Rig, timing: TimingFacts, asked: readonly Requirement[]): Map<string, number> {
  const facts = withTiming(rig, timing);
  return new Map(
    asked.flatMap((r, k) => (evaluateRequirement(facts, r).state === 'met' ? [[`${k}`, 1] as const] : [])),
  );
}

function likelyOf(samples: number, failed: number): NonNullable<Standing['likely']> {
  const met = samples - failed;
  const [low, high] = wilson(met, samples);
  return { met, samples, low, high };
}

function slackOf(facts: RigFacts, requirement: Requirement): number | null {
  const verdict = evaluateRequirement(facts, requirement);
  if (verdict.state !== 'met' && verdict.state !== 'failed') return null;
  const { comparison } = requirement;
  if (!comparison || !verdict.actual) return verdict.state === 'met' ? 0 : -1;
  if (verdict.state === 'failed') return -Math.abs(missBy(comparison, verdict.actual.nominal)) || -1;
  const { nominal } = verdict.actual;
  const toLow = nominal - comparison.low.nominal;
  const toHigh = comparison.high.nominal - nominal;
  if (comparison.operator.startsWith('>')) return toLow;
  if (comparison.operator.startsWith('<')) return toHigh;
  return Math.min(toLow, toHigh);
}
