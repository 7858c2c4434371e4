/** What a `require` metric is: a typed function over one course of events. One file each; the registry lists them. */
import type { RelatedPlace } from '../model/problem';
import type { MetricArgument, Requirement, Rig } from '../model/rig';
import type { DimensionName } from '../units/dimensions';
import type { RigFacts } from '../run/facts';
import type { Course } from '../timing/course';
import { listText } from '../timing/words';
import { said, say } from '../words/say';

/** What an argument may be. `events` takes all that follow; `condition` also takes the bare name of a door or signal. */
export type ParameterKind = 'door' | 'chamber' | 'signal' | 'condition' | 'events' | 'quantity';

export interface Parameter {
  readonly name: string;
  readonly kind: ParameterKind;
  /** For `quantity`: the dimensions it may have. */
  readonly dimensions?: readonly DimensionName[];
}

/** One measured case (an opening, a meeting, an interval); a requirement holds if it holds for every sample. */
export interface Sample {
  /** Microseconds for times, SI otherwise; `Infinity` for what does not end. */
  readonly value: number;
  /** What makes it so, as a clause: "`upper` is shut at 2.05 s and `lower` leaves its seat at 2.2 s". */
  readonly why: string;
  /** Whether `why` states a moment: what it counts from is then added. */
  readonly dated?: boolean;
  /** What is responsible; computed only for the sample that speaks. */
  readonly places: () => readonly RelatedPlace[];
}

/** For samples that nothing in particular is responsible for. */
export const NOWHERE = (): readonly RelatedPlace[] => [];

/** What one course gives: samples, or why there is nothing to measure in it (`absent`: what it measures does not happen). */
export type Measured =
  { readonly kind: 'samples'; readonly samples: readonly Sample[] } | { readonly kind: 'absent'; readonly why: string };

/** Not answered: the figure could not be computed. Undecided whatever the metric. */
export interface Withheld {
  readonly kind: 'withheld';
  readonly why: string;
}

interface MetricBase {
  readonly name: string;
  readonly parameters: readonly Parameter[];
  /** For the reference, signature help and hovers: what exactly is measured. */
  readonly definition: string;
}

/** A number to compare. */
export interface ValueMetric extends MetricBase {
  readonly kind: 'value';
  /** Dimensions of the result; the comparison must have one of them. */
  readonly dimensions: readonly DimensionName[];
  readonly measure: (course: Course, args: readonly MetricArgument[], requirement: Requirement) => Measured;
  /** What `absent` in every course means: `failed` (what is wanted never happens) or `undecided` (nothing to keep apart). */
  readonly whenAbsent: 'failed' | 'undecided';
}

/** Something that holds or not; takes no comparison. `value` of its samples is 1 where it holds, else 0. */
export interface StateMetric extends MetricBase {
  readonly kind: 'state';
  readonly measure: (course: Course, args: readonly MetricArgument[], requirement: Requirement) => Measured;
  readonly whenAbsent: 'failed' | 'undecided';
}

/** A number from what is in the chambers; measured once per rig, on its own or during a scenario, not stroke by stroke. */
export interface FlowMetric extends MetricBase {
  readonly kind: 'flow';
  readonly dimensions: readonly DimensionName[];
  readonly measure: (facts: RigFacts, args: readonly MetricArgument[], requirement: Requirement) => Measured | Withheld;
  readonly whenAbsent: 'failed' | 'undecided';
}

export type Metric = ValueMetric | StateMetric | FlowMetric;

/** `gap(a: door, b: door): time`, for people. */
export function signatureOf(metric: Metric): string {
  const parameters = metric.parameters.map((p) => `${p.name}: ${kindText(p)}`).join(', ');
  const result = metric.kind === 'state' ? say`holds or not` : listText(metric.dimensions.map(dimensionText), 'or');
  return `${metric.name}(${parameters}): ${result}`;
}

/** `a door`, `door events`, `pressure or density`: the kind of a parameter for people. */
export function kindText(parameter: Parameter): string {
  if (parameter.kind === 'quantity') return listText((parameter.dimensions ?? []).map(dimensionText), 'or');
  return parameter.kind === 'events' ? say`door events …` : parameter.kind;
}

export function dimensionText(dimension: DimensionName): string {
  return dimension === 'none' ? say`number` : said(dimension.replace(/_/g, ' '));
}

/** Index of the item an argument names; -1 where it is not an item (checked before measuring). */
export function itemIndex(argument: MetricArgument | undefined): number {
  return argument?.kind === 'item' ? argument.index : -1;
}

/** That a door does not open in a course, as a clause. */
export function staysShut({ rig, stroke }: Course, door: number): string {
  const name = doorName(rig, door);
  return stroke ? say`${name} opens in no stroke` : say`${name} does not open`;
}

export function doorName(rig: Rig, door: number): string {
  return rig.doors[door]?.name ?? '?';
}
