/** `never(condition)`: a condition over doors, signals, sensors and switches does not come true. */
import type { Condition, MetricArgument, Rig } from '../../model/rig';
import type { Interval } from '../../timing/facts';
import { complement, intersectAll } from '../../timing/windows';
import { formatTime } from '../../units/units';
import type { Course } from '../course';
import { openings, pulsesOf } from '../course';
import { lengthOf } from '../intervals';
import type { StateMetric } from '../metric';
import { NOWHERE } from '../metric';
import { spanText } from '../words';

export const never: StateMetric = {
  name: 'never',
  kind: 'state',
  parameters: [{ name: 'condition', kind: 'condition' }],
  definition:
    'Holds where the condition is not true for any length of time in the strokes as simulated at nominal times; a door by its name stands for "not shut". A stroke is an example, not a proof: the proof engine answers for every moment and tolerance.',
  whenAbsent: 'undecided',
  measure(course, args) {
    const condition = conditionOf(course.rig, args[0]);
    if (!condition) return { kind: 'absent', why: 'there is no condition' };
    const times = whenTrue(course, condition).filter((i) => lengthOf(i) > 0);
    if (times.length === 0)
      return { kind: 'samples', samples: [{ value: 1, why: 'it never comes true', places: NOWHERE }] };
    const first = times[0]!;
    const length = first.to === null ? '' : ` (${formatTime(lengthOf(first))})`;
    const why = `it is true ${spanText(first)}${length}`;
    return { kind: 'samples', samples: [{ value: 0, why, places: NOWHERE }] };
  },
};

/** The condition that an argument states; the bare name of a door or signal is one. */
export function conditionOf(rig: Rig, argument: MetricArgument | undefined): Condition | null {
  if (argument?.kind === 'condition') return argument.condition;
  if (argument?.kind !== 'item') return null;
  if (argument.of === 'door') return { op: 'door', door: argument.index };
  const net = netOfItem(rig, argument);
  return net === null ? null : { op: 'net', net };
}

/** The net of a signal, sensor or switch named as an argument. */
export function netOfItem(rig: Rig, argument: MetricArgument): number | null {
  if (argument.kind !== 'item') return null;
  if (argument.of === 'signal') return rig.signals[argument.index]?.net ?? null;
  if (argument.of === 'sensor') return rig.sensors[argument.index]?.net ?? null;
  if (argument.of === 'switch') return rig.switches[argument.index]?.net ?? null;
  return null;
}

/** Doors that a condition names. */
export function doorsOf(condition: Condition): number[] {
  if (condition.op === 'door') return [condition.door];
  if (condition.op === 'not') return doorsOf(condition.a);
  if (condition.op === 'net' || condition.op === 'const') return [];
  return [...doorsOf(condition.a), ...doorsOf(condition.b)];
}

function whenTrue(course: Course, condition: Condition): Interval[] {
  const { start } = course.trace;
  const outside = (list: readonly Interval[]): Interval[] => complement(list, start, Infinity);
  const of = (part: Condition): Interval[] => whenTrue(course, part);
  switch (condition.op) {
    case 'net':
      return pulsesOf(course.trace, condition.net).filter((i) => lengthOf(i) > 0);
    case 'door':
      return openings(course, condition.door).map((o) => o.notShut);
    case 'const':
      return condition.value ? [{ from: start, to: null }] : [];
    case 'not':
      return outside(of(condition.a));
    case 'and':
      return intersectAll([of(condition.a), of(condition.b)]);
    case 'or':
      return outside(intersectAll([outside(of(condition.a)), outside(of(condition.b))]));
    case 'xor': {
      const [a, b] = [of(condition.a), of(condition.b)];
      const either = [...intersectAll([a, outside(b)]), ...intersectAll([outside(a), b])];
      return either.sort((x, y) => x.from - y.from);
    }
  }
}
