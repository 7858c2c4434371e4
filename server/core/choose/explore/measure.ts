/** Measuring one choice of an exploration. */
import { evaluateRequirement } from '../../metrics/evaluate';
import { measureMetric } from '../../metrics/measure';
import type { Requirement, Rig } from '../../model/rig';
import { analyseRig, startOptions } from '../../run/analyse';
import type { RigFacts } from '../../run/facts';
import { analyseTiming } from '../../timing/analyse';
import type { TuneProblem } from '../tune/problem';
import { timeSpace } from '../tune/time-space';
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
 * Measures choices of a problem whose rig holds the measures as requirements from index `own` on. Where all that varies are times and
 * all that is asked are times, the rig is not read again for each choice.
 */
export function choiceMeter(
  problem: TuneProblem,
  measures: readonly Measure[],
  own: number,
): (values: readonly number[]) => Measured {
  const base = problem.variables.map((v) => v.now);
  const rig = problem.rigAt(base);
  const timed = rig !== null && rig.requirements.every(isTimed);
  const time = timed ? timeSpace(problem, base) : null;
  const quick = time !== null && time.indices.length === problem.variables.length ? time : null;
  const start = rig ? startOptions(rig) : {};
  return (values) => {
    const changed = quick ? quick.rigAt(values) : problem.rigAt(values);
    if (!changed) return { measures: measures.map(() => null), failed: own };
    const facts: RigFacts = timed
      ? { rig: changed, timing: analyseTiming(changed, start), flow: null }
      : analyseRig(changed);
    return measured(facts, changed, measures, own);
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
