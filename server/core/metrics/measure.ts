/** Measuring a metric that nothing is required of: every case with its value. */
import type { Requirement } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { requirementProblem } from './arguments';
import { measureRequirement } from './evaluate';
import { metricNamed } from './registry';

export interface MeasuredValue {
  /** Microseconds for times, SI units otherwise; 1 or 0 for what holds or not; `Infinity`: without end. */
  readonly value: number;
  /** What makes it so, as a clause. */
  readonly why: string;
  /** What its moments count from; empty where it states none. */
  readonly since: string;
}

export type Measurement =
  | { readonly kind: 'values'; readonly dimension: string | null; readonly values: readonly MeasuredValue[] }
  /** `why` is a clause: what does not happen, or what is not decided. */
  | { readonly kind: 'none'; readonly why: string }
  /** The arguments do not fit; one sentence. */
  | { readonly kind: 'invalid'; readonly message: string };

/** Measures the metric of a requirement; a comparison it has is left aside. */
export function measureMetric(facts: RigFacts, requirement: Requirement): Measurement {
  const metric = metricNamed(requirement.metric);
  const problem = requirementProblem(facts.rig, metric ? comparable(requirement) : requirement);
  if (problem === 'silent' || !metric)
    return {
      kind: 'invalid',
      message: problem && problem !== 'silent' ? problem.message : 'The metric could not be read.',
    };
  if (problem) return { kind: 'invalid', message: problem.message };
  const measured = measureRequirement(facts, metric, requirement);
  if (measured.kind !== 'cases') return { kind: 'none', why: measured.why };
  const values = measured.cases.map(({ since, sample }) => ({ value: sample.value, why: sample.why, since }));
  return { kind: 'values', dimension: metric.kind === 'state' ? null : metric.dimensions[0]!, values };
}

/** The requirement with a comparison that its metric takes, so that only its arguments are judged. */
function comparable(requirement: Requirement): Requirement {
  const metric = metricNamed(requirement.metric)!;
  if (metric.kind === 'state') return { ...requirement, comparison: null };
  const zero = { nominal: 0, min: 0, max: 0, at: requirement.at };
  return {
    ...requirement,
    comparison: { operator: '>=', dimension: metric.dimensions[0]!, low: zero, high: zero, at: requirement.at },
  };
}
