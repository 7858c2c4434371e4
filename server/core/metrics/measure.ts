/** Measuring a metric that nothing is required of: every case with its value. */
import type { Requirement, Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { requirementProblem } from './arguments';
import { measureRequirement } from './evaluate';
import { isByMass } from '../flow/vessel';
import type { DimensionName } from '../units/dimensions';
import type { Metric } from './metric';
import { metricNamed } from './registry';
import { say } from '../words/say';

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
  /** `why` is a clause: what does not happen; or, with `ofMetric`, what is said of the metric itself ("is not decided: …"). */
  | { readonly kind: 'none'; readonly why: string; readonly ofMetric: boolean }
  /** The arguments do not fit; one sentence. */
  | { readonly kind: 'invalid'; readonly message: string };

/** Measures the metric of a requirement; a comparison it has is left aside. */
export function measureMetric(facts: RigFacts, requirement: Requirement): Measurement {
  const { rig } = facts;
  const message = measureProblem(rig, requirement);
  if (message !== null) return { kind: 'invalid', message };
  const metric = metricNamed(requirement.metric)!;
  const asked = comparable(requirement, unitOf(metric, rig, requirement));
  const measured = measureRequirement(facts, metric, asked);
  if (measured.kind !== 'cases') return { kind: 'none', why: measured.why, ofMetric: measured.kind === 'no-basis' };
  const values = measured.cases.map(({ since, sample }) => ({ value: sample.value, why: sample.why, since }));
  return { kind: 'values', dimension: asked.comparison?.dimension ?? null, values };
}

/** What keeps the metric of a requirement from being measured, in one sentence: its name or its arguments; null where nothing does. */
export function measureProblem(rig: Rig, requirement: Requirement): string | null {
  const metric = metricNamed(requirement.metric);
  const problem = requirementProblem(rig, metric ? comparable(requirement, unitOf(metric, rig)) : requirement);
  if (problem && problem !== 'silent') return problem.message;
  return problem || !metric ? say`The metric could not be read.` : null;
}

/** What a metric is answered in where nothing is asked of it, whether it has a value or not; null where it holds or does not. */
export function dimensionOf(name: string, rig: Rig): DimensionName | null {
  const metric = metricNamed(name);
  return metric ? unitOf(metric, rig) : null;
}

/** In what a metric that may be compared with several is answered: a liquid by its level, a packed medium as its chamber states it. */
function unitOf(metric: Metric, rig: Rig, requirement?: Requirement): DimensionName | null {
  if (metric.kind === 'state') return null;
  const { dimensions } = metric;
  const [first] = requirement?.args ?? [];
  const chamber = first?.kind === 'item' && first.of === 'chamber' ? rig.chambers[first.index] : undefined;
  const packed = chamber && !isByMass(chamber) ? 'density' : 'mass';
  const own = { gas: 'pressure', liquid: 'length', packed } as const;
  const wanted = rig.medium && own[rig.medium.phase];
  return dimensions.find((d) => d === wanted) ?? dimensions[0] ?? null;
}

/** The requirement with a comparison that its metric takes: only its arguments are judged, and metrics see what they are asked in. */
function comparable(requirement: Requirement, dimension: DimensionName | null): Requirement {
  if (dimension === null) return { ...requirement, comparison: null };
  const zero = { nominal: 0, min: 0, max: 0, at: requirement.at };
  return {
    ...requirement,
    comparison: { operator: '>=', dimension, low: zero, high: zero, at: requirement.at },
  };
}
