/**
 * Requirements within the stated tolerances: the worst case of what each measures, by the corners of the event engine, and how much
 * tolerance it can stand. Only what is measured on strokes: scenarios and masses are looked at with nominal times.
 */
import type { Requirement, Rig } from '../model/rig';
import { startOptions } from '../run/analyse';
import type { RigFacts } from '../run/facts';
import type { TimingOptions } from '../timing/analyse';
import type { TimingFacts } from '../timing/facts';
import { conditionOf, doorsNamed, netsOf } from '../model/logic';
import { finish, kept, type Kept, type Work } from '../work/work';
import { guaranteeWork, type GuaranteeOptions } from '../timing/guarantee';
import type { Watch } from '../timing/orders/trace-orders';
import {
  allTimes,
  looseTimes,
  monteCarlo,
  wilson,
  type MeasureRange,
  type Random,
  type TimeParameter,
} from '../timing/tolerance';
import {
  breakingChanges,
  breakingTimes,
  commonTolerance,
  type Breaking,
  type CommonTolerance,
  type Question,
} from '../timing/tolerance-limits';
import { missBy } from './comparison';
import { evaluateRequirement, followedNets, measureRequirement } from './evaluate';
import { metricNamed } from './registry';
import { slackOf } from './slack';

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
export const withinTolerance = (facts: RigFacts): ToleranceVerdicts => verdictsOf(facts).value();

/** The same in steps; computed once for the same facts. */
export const toleranceWork = (facts: RigFacts): Work<ToleranceVerdicts> => verdictsOf(facts).work();

type ToleranceVerdicts = ReadonlyMap<Requirement, ToleranceVerdict>;

const KNOWN = new WeakMap<RigFacts, Kept<ToleranceVerdicts>>();

function verdictsOf(facts: RigFacts): Kept<ToleranceVerdicts> {
  let verdicts = KNOWN.get(facts);
  if (!verdicts) KNOWN.set(facts, (verdicts = kept(() => toleranceVerdictsWork(facts, WRITING))));
  return verdicts;
}

/** Orders of events looked at for each requirement while the text is being written; `caisson tolerance` looks further. */
const WRITING = 24;

/** Steps of the engine that the searches of corners may cost for all requirements of a rig together: each has an equal part. */
const MOST_STEPS = 40_000;

/** The verdicts with a budget of orders of events to look at for each requirement. */
export const toleranceVerdicts = (facts: RigFacts, orders: number): ToleranceVerdicts =>
  finish(toleranceVerdictsWork(facts, orders));

/** The same in steps. */
export function* toleranceVerdictsWork(facts: RigFacts, orders: number): Work<ToleranceVerdicts> {
  const verdicts = new Map<Requirement, ToleranceVerdict>();
  if (looseTimes(facts.rig).length === 0) return verdicts;
  const asked = onStrokes(facts);
  const steps = Math.ceil(MOST_STEPS / Math.max(1, asked.length));
  for (const requirement of asked) {
    verdicts.set(requirement, yield* verdictWork(facts.rig, requirement, { orders, steps }));
  }
  return verdicts;
}

/** One requirement that holds at nominal times, with the budget that it has among the others of its rig. */
export const withinBudgetWork = ({ rig }: RigFacts, requirement: Requirement): Work<ToleranceVerdict> =>
  verdictWork(rig, requirement, {
    orders: WRITING,
    steps: Math.ceil(MOST_STEPS / Math.max(1, rig.requirements.filter(isOnStrokes).length)),
  });

/** One requirement over everything that the tolerances of a rig allow. */
export const verdictOn = (
  rig: Rig,
  requirement: Requirement,
  orders: number,
  options = startOptions(rig),
): ToleranceVerdict => finish(verdictWork(rig, requirement, { orders }, options));

function* verdictWork(
  rig: Rig,
  requirement: Requirement,
  budget: Pick<GuaranteeOptions, 'orders' | 'steps'>,
  options = startOptions(rig),
): Work<ToleranceVerdict> {
  const ranges = yield* guaranteeWork(
    rig,
    (timing) => measures(rig, timing, requirement),
    watchOf(rig, requirement),
    { ...budget, verify: true },
    { ...options, followed: followedNets(rig, requirement) },
  );
  return judge(requirement, ranges);
}

/** Requirements measured on strokes that hold at nominal times. */
export function onStrokes(facts: RigFacts): Requirement[] {
  return facts.rig.requirements.filter(
    (requirement) => isOnStrokes(requirement) && evaluateRequirement(facts, requirement).state === 'met',
  );
}

function isOnStrokes(requirement: Requirement): boolean {
  const metric = metricNamed(requirement.metric);
  return metric !== undefined && metric.kind !== 'flow' && requirement.during === null;
}

const withTiming = (rig: Rig, timing: TimingFacts): RigFacts => ({ rig, timing, flow: null });

/** Doors and nets whose order in time decides what a requirement measures. */
export function watchOf(rig: Rig, requirement: Requirement): Watch {
  const nets = requirement.args.flatMap((argument) => {
    const condition = conditionOf(rig, argument);
    return condition ? netsOf(condition) : [];
  });
  const named = requirement.metric === 'cycle' ? rig.doors.map((_, d) => d) : doorsNamed(rig, requirement);
  return { doors: [...new Set(named)], nets: [...new Set(nets)] };
}

/** Every case of what a requirement measures, and whether it is met and has anything to measure. */
function measures(rig: Rig, timing: TimingFacts, requirement: Requirement): Map<string, number> {
  const facts = withTiming(rig, timing);
  const found = new Map<string, number>();
  const verdict = evaluateRequirement(facts, requirement);
  found.set('met', verdict.state === 'met' ? 1 : 0);
  found.set('decided', verdict.state === 'met' || verdict.state === 'failed' ? 1 : 0);
  if (!requirement.comparison) return found;
  const measured = measureRequirement(facts, metricNamed(requirement.metric)!, requirement);
  if (measured.kind === 'cases')
    measured.cases.forEach(({ sample }, k) => Number.isFinite(sample.value) && found.set(`case ${k}`, sample.value));
  if (verdict.actual && Number.isFinite(verdict.actual.nominal)) found.set('deciding', verdict.actual.nominal);
  return found;
}

/** The verdict on the ranges of `measures`. */
function judge(requirement: Requirement, ranges: ReadonlyMap<string, MeasureRange>): ToleranceVerdict {
  const deciding = requirement.comparison ? ranges.get('deciding') : undefined;
  const covered = new Map([...ranges].map(([name, r]) => [name, { ...r, covered: r.guaranteed }]));
  const { state, min, max, guaranteed } = stateOver(requirement, covered);
  return { range: deciding ? { ...deciding, min, max, guaranteed } : null, state };
}

interface Covered {
  readonly min: number;
  readonly max: number;
  readonly covered: boolean;
}

/** State of a requirement over everything that was looked at, with the range over all its cases. */
function stateOver(
  { comparison }: Requirement,
  ranges: ReadonlyMap<string, Covered>,
): { state: ToleranceState; min: number; max: number; guaranteed: boolean } {
  const cases = [...ranges]
    .filter(([name]) => name.startsWith('case ') || name === 'deciding')
    .map(([, range]) => range);
  const min = Math.min(...cases.map((r) => r.min));
  const max = Math.max(...cases.map((r) => r.max));
  const met = ranges.get('met');
  const guaranteed = met?.covered === true && [...ranges].every(([name, r]) => r.covered || !name.startsWith('case '));
  const measured = comparison !== null && cases.length > 0;
  const holds = !measured || [min, max].every((end) => missBy(comparison, end) === 0);
  if (!met || met.min < 1 || !holds) {
    const undecided = measured && ranges.get('decided')?.min === 0;
    return { state: undecided ? 'unclear' : 'broken', min, max, guaranteed };
  }
  return { state: guaranteed ? 'kept' : 'not-guaranteed', min, max, guaranteed };
}

// ---------------------------------------------------------------- on demand

export interface Standing {
  readonly requirement: Requirement;
  /** Over the stated tolerances, with the budget of this study; null where the rig states none. */
  readonly within: ToleranceVerdict | null;
  /** Each time whose change alone breaks it, smallest change first; `complete`: the search did not end early. */
  readonly breaks: readonly Breaking[];
  readonly breaksComplete: boolean;
  /** Times that were only sampled from this change on. */
  readonly breaksSampled: readonly Breaking[];
  /** Largest tolerance that all times may have together; null where the requirement has no comparison. */
  readonly common: CommonTolerance | null;
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
  /** Runs of the engine for each question about each requirement. */
  readonly runs: number;
  /** Called with all work as it is done, in steps of the engine; it may throw to abandon the standing under way. */
  readonly whenWorked?: (steps: number) => void;
}

/**
 * How much each requirement that holds at nominal times can stand, one a step: the caller may stop between any two, and has what was
 * computed so far. A step costs some hundred runs of the engine.
 */
export function* standings(facts: RigFacts, options: StandingOptions): Generator<Standing, void, void> {
  const { rig } = facts;
  const { whenWorked } = options;
  const start = { ...startOptions(rig), whenWorked };
  const loose = looseTimes(rig).length > 0;
  for (const requirement of onStrokes(facts)) {
    const question = questionOf(rig, requirement, start);
    const budget = { left: options.runs };
    const { breaks, complete, sampled } = breakingTimes(question, options.reach, budget);
    yield {
      requirement,
      within: loose ? verdictOn(rig, requirement, Math.ceil(options.runs / 8), start) : null,
      breaks,
      breaksComplete: complete,
      breaksSampled: sampled,
      common: requirement.comparison
        ? commonTolerance(question, options.most, { left: options.runs }, options.random)
        : null,
      likely: loose ? likelyOf(rig, requirement, options, start) : null,
    };
  }
}

export interface SettingLimit {
  readonly requirement: Requirement;
  readonly parameter: TimeParameter;
  /** Smallest changes of this preset alone that break the requirement, µs; null where none within reach does. */
  readonly shorter: number | null;
  readonly longer: number | null;
  /** Both ways were looked at as far as the reach. */
  readonly complete: boolean;
  /** False where the budget of the whole search was used up before it. */
  readonly searched: boolean;
}

/** Edges of all runs together that one search for the limits of settings may follow: some ten seconds. */
const LIMIT_EDGES = 200_000;

/**
 * For every requirement that holds and every preset: how far it may be off alone. `runs`: of the engine, for each of them; all of them
 * together may follow `edges`, and what would need more is not searched.
 */
export function settingLimits(facts: RigFacts, reach: number, runs: number, edges = LIMIT_EDGES): SettingLimit[] {
  const start = startOptions(facts.rig);
  const presets = allTimes(facts.rig).filter((p) => p.what === 'preset');
  const { atRest, strokes } = facts.timing;
  const each = [atRest, ...strokes].reduce((sum, { trace }) => sum + trace.edges.length, 1);
  let left = edges;
  return onStrokes(facts).flatMap((requirement) => {
    const question = questionOf(facts.rig, requirement, start);
    return presets.map((parameter) => {
      const most = Math.min(runs, Math.floor(left / each));
      const budget = { left: most };
      const { shorter, longer, complete } = breakingChanges(question, parameter, reach, budget);
      left -= (most - budget.left) * each;
      return { requirement, parameter, shorter, longer, complete, searched: most > 0 };
    });
  });
}

function questionOf(rig: Rig, requirement: Requirement, options: TimingOptions): Question {
  return {
    rig,
    options: { ...options, followed: followedNets(rig, requirement) },
    slack: (timing) => slackIn(withTiming(rig, timing), requirement),
    watch: watchOf(rig, requirement),
    measure: (timing) => measures(rig, timing, requirement),
    judge: (ranges) => {
      const { state } = stateOver(requirement, ranges);
      return state === 'kept' ? true : state === 'not-guaranteed' ? null : false;
    },
  };
}

function likelyOf(
  rig: Rig,
  requirement: Requirement,
  { samples, random }: StandingOptions,
  start: TimingOptions,
): NonNullable<Standing['likely']> {
  const isMet = (timing: TimingFacts): Map<string, number> =>
    evaluateRequirement(withTiming(rig, timing), requirement).state === 'met' ? new Map([['met', 1]]) : new Map();
  const followed = { ...start, followed: followedNets(rig, requirement) };
  const failed = monteCarlo(rig, isMet, samples, random, followed).get('met')?.absent ?? samples;
  const met = samples - failed;
  const [low, high] = wilson(met, samples);
  return { met, samples, low, high };
}

/** Slack in one run, µs or SI; for what holds or not 0 or −1; null where it is not decided. */
function slackIn(facts: RigFacts, requirement: Requirement): number | null {
  const verdict = evaluateRequirement(facts, requirement);
  if (verdict.state !== 'met' && verdict.state !== 'failed') return null;
  const { comparison } = requirement;
  if (!comparison || !verdict.actual) return verdict.state === 'met' ? 0 : -1;
  return slackOf(comparison, verdict.actual.nominal);
}
