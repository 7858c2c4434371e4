/** Measuring one choice of an exploration. */
import { evaluateRequirement } from '../../metrics/evaluate';
import { measureMetric } from '../../metrics/measure';
import type { Requirement, Rig } from '../../model/rig';
import { analyseRig, startOptions } from '../../run/analyse';
import type { RigFacts } from '../../run/facts';
import { analyseTiming, type TimingOptions } from '../../timing/analyse';
import type { TuneProblem } from '../tune/problem';
import { timeSpace, type TimeSpace } from '../tune/time-space';
import { isTimed } from '../tune/tune';

/** What is measured: as a requirement without comparison in the rig, by its index there; `least`: less is better. */
export interface Measure {
  readonly text: string;
  readonly requirement: number;
  readonly least: boolean;
}

export interface Measured {
  /** One number a measure, the worst of its cases; null where there is none. */
  readonly measures: readonly (number | null)[];
  /** Requirements of the text that do not hold. */
  readonly failed: number;
}

/**
 * Measures choices of a problem whose rig holds the measures as requirements from index `own` on. Where all that is asked are times, flow is
 * left out; and the rig is read from the text once for each choice of all but the times, not for each time that goes with it.
 */
export function choiceMeter(
  problem: TuneProblem,
  measures: readonly Measure[],
  own: number,
): (values: readonly number[]) => Measured {
  const rig = problem.rigAt(problem.variables.map((v) => v.now));
  const timed = rig !== null && rig.requirements.every(isTimed);
  const factsAt = timed ? timedFacts(problem) : contentsFacts(problem);
  return (values) => {
    const facts = factsAt(values);
    if (!facts) return { measures: measures.map(() => null), failed: own };
    return measured(facts, facts.rig, measures, own);
  };
}

type FactsAt = (values: readonly number[]) => RigFacts | null;

function contentsFacts({ rigAt }: TuneProblem): FactsAt {
  return (values) => {
    const rig = rigAt(values);
    return rig && analyseRig(rig);
  };
}

/** Choices of all but the times whose rigs are kept; beyond it they are read again. */
const KEPT = 2_000;
/** What comes once or twice is not worth keeping: finding out how the times of a rig follow the choice costs several readings. */
const SELDOM = 3;

/** One choice of all but the times: how its rig follows the times, and how it starts, neither of which hangs on the times. */
interface Kept {
  seen: number;
  time: TimeSpace | null;
  start: TimingOptions;
}

/** Facts about time alone; the rig is read from the text only where it cannot be had by turning the times of one that was read. */
function timedFacts(problem: TuneProblem): FactsAt {
  const isTime = problem.variables.map((v) => v.dimension === 'time');
  const known = new Map<string, Kept>();
  const keep = (key: string): Kept => {
    if (known.size >= KEPT) known.clear();
    const kept = { seen: 0, time: null, start: {} };
    known.set(key, kept);
    return kept;
  };
  return (values) => {
    const key = values.filter((_, k) => !isTime[k]).join();
    const kept = known.get(key) ?? keep(key);
    if (++kept.seen === SELDOM)
      kept.time = timeSpace(
        problem,
        values.map((v, k) => (isTime[k] ? problem.variables[k]!.now : v)),
      );
    const rig = kept.time ? kept.time.rigAt(kept.time.indices.map((index) => values[index]!)) : problem.rigAt(values);
    if (!rig) return null;
    if (kept.seen <= SELDOM) kept.start = startOptions(rig);
    return { rig, timing: analyseTiming(rig, kept.start), flow: null };
  };
}

function measured(facts: RigFacts, rig: Rig, measures: readonly Measure[], own: number): Measured {
  const stated = rig.requirements.slice(0, own);
  return {
    measures: measures.map((m) => worst(facts, rig.requirements[m.requirement]!, m.least)),
    failed: stated.filter((r) => evaluateRequirement(facts, r).state !== 'met').length,
  };
}

function worst(facts: RigFacts, requirement: Requirement, least: boolean): number | null {
  const found = measureMetric(facts, requirement);
  if (found.kind !== 'values' || found.values.length === 0) return null;
  const values = found.values.map((v) => v.value);
  const value = least ? Math.max(...values) : Math.min(...values);
  return Number.isFinite(value) ? value : null;
}
