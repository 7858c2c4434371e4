/** `never(condition)`: a condition over doors, signals, sensors and switches does not come true. */
import { conditionOf, fold } from '../../model/logic';
import type { Condition } from '../../model/rig';
import type { Interval } from '../../timing/facts';
import { complement, intersectAll } from '../../timing/windows';
import { formatTime } from '../../units/units';
import type { Course } from '../../timing/course';
import { openings, pulsesOf } from '../../timing/course';
import { lengthOf } from '../../timing/intervals';
import type { StateMetric } from '../metric';
import { NOWHERE } from '../metric';
import { spanText } from '../../timing/words';

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

function whenTrue(course: Course, condition: Condition): Interval[] {
  const { start } = course.trace;
  const outside = (list: readonly Interval[]): Interval[] => complement(list, start, Infinity);
  const both = (a: readonly Interval[], b: readonly Interval[]): Interval[] => intersectAll([a, b]);
  return fold<Interval[]>(condition, {
    net: (net) => pulsesOf(course.trace, net).filter((i) => lengthOf(i) > 0),
    door: (door) => openings(course, door).map((o) => o.notShut),
    const: (value) => (value ? [{ from: start, to: null }] : []),
    not: outside,
    and: both,
    or: (a, b) => outside(both(outside(a), outside(b))),
    xor: (a, b) => [...both(a, outside(b)), ...both(outside(a), b)].sort((x, y) => x.from - y.from),
  });
}
