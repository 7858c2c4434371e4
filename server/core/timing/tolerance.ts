/**
 * What tolerances do to a rig's times. Every time that may vary (preset, response, travel, scan) is one parameter with one value
 * for the whole run, so that two doors behind the same timer move together and nothing is counted twice.
 *
 * Worst case: which way each parameter pushes a measure is found by moving it alone to both its ends; the measure is then worked
 * out by the event engine with every parameter at its worse end, and once more with each of them turned back, so that a
 * measure whose worst corner is not where the single moves point is still followed. Where the answer is the plain sum of the single
 * effects it is the exact stack-up; where it is not (the order of events changes within the tolerance) it is said so.
 */
import type { Rig } from '../model/rig';
import type { Source } from '../model/problem';
import { analyseTiming, type TimingOptions } from './analyse';
import type { TimingFacts } from './facts';
import type { TimeChoice } from './program';

export interface TimeParameter {
  readonly what: 'preset' | 'response' | 'opens' | 'closes' | 'scan';
  /** Index of the element or door; 0 for the scan time. */
  readonly index: number;
  readonly name: string;
  readonly nominal: number;
  readonly min: number;
  readonly max: number;
  readonly at: Source;
}

/** Named numbers read off the facts; whole microseconds, or whatever the measure means. A name may be absent. */
export type Measure = (facts: TimingFacts) => ReadonlyMap<string, number>;

export interface MeasureRange {
  readonly nominal: number | null;
  readonly min: number;
  readonly max: number;
  /** The range is the exact stack-up of single effects. */
  readonly additive: boolean;
  /** Somewhere within tolerance the measure does not exist (a door does not open, …). */
  readonly mayBeAbsent: boolean;
  /** Parameters that move it, strongest first, with the change from their lowest to their highest value. */
  readonly causes: readonly { readonly parameter: TimeParameter; readonly effect: number }[];
}

/** All times of a rig that the engine uses, in the order of the text: with and without tolerance. */
export function allTimes(rig: Rig): TimeParameter[] {
  const times: TimeParameter[] = [];
  rig.network.elements.forEach((element, index) => {
    if (element.preset) times.push({ what: 'preset', index, name: `${element.kind} of ${element.name}`, ...element.preset });
    if (rig.controller.style === 'response' && element.response.max > 0) {
      times.push({ what: 'response', index, name: `response of ${element.name}`, ...element.response });
    }
  });
  rig.doors.forEach((door, index) => {
    times.push({ what: 'opens', index, name: `opening of ${door.name}`, ...door.opensIn });
    times.push({ what: 'closes', index, name: `closing of ${door.name}`, ...door.closesIn });
  });
  if (rig.controller.style === 'scan') times.push({ what: 'scan', index: 0, name: 'scan time', ...rig.controller.time });
  return times;
}

/** The times that have a tolerance. */
export function looseTimes(rig: Rig): TimeParameter[] {
  return allTimes(rig).filter((p) => p.min < p.max);
}

/** The engine's choice of times for values of parameters (the others stay nominal). */
export function choose(parameters: readonly TimeParameter[], values: readonly number[]): TimeChoice {
  const table = new Map(parameters.map((p, k) => [`${p.what} ${p.index}`, values[k]!]));
  const pick =
    (what: TimeParameter['what'], nominal: (index: number) => number) =>
    (index: number): number =>
      table.get(`${what} ${index}`) ?? nominal(index);
  return { ...NOMINAL, ...pickers(pick, table) };
}

const NOMINAL: TimeChoice = {};

type Pick = (what: TimeParameter['what'], nominal: (index: number) => number) => (index: number) => number;

function pickers(_pick: Pick, _table: ReadonlyMap<string, number>): TimeChoice {
  return {};
}
