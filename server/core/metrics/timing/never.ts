/** `never(condition)`: a condition over doors, signals, sensors and switches does not come true. */
import { conditionOf } from '../../model/logic';
import { formatTime } from '../../units/units';
import { whenTrue } from '../../timing/course';
import { lengthOf } from '../../timing/intervals';
import type { StateMetric } from '../metric';
import { NOWHERE } from '../metric';
import { spanText } from '../../timing/words';
import { say } from '../../words/say';

export const never: StateMetric = {
  name: 'never',
  kind: 'state',
  parameters: [{ name: 'condition', kind: 'condition' }],
  definition:
    'Holds where the condition is not true for any length of time in the strokes as simulated at nominal times, nor while the rig comes to rest after power-on; a door by its name stands for "not shut". A stroke is an example, not a proof: the proof engine answers for every moment and tolerance.',
  whenAbsent: 'undecided',
  measure(course, args) {
    const condition = conditionOf(course.rig, args[0]);
    if (!condition) return { kind: 'absent', why: say`there is no condition` };
    const times = whenTrue(course.trace, condition).filter((i) => i.from < course.repeatsFrom && lengthOf(i) > 0);
    if (times.length === 0)
      return { kind: 'samples', samples: [{ value: 1, why: say`its condition never comes true`, places: NOWHERE }] };
    const first = times[0]!;
    const length = first.to === null ? '' : ` (${formatTime(lengthOf(first))})`;
    const why = say`its condition is true ${spanText(first)}${length}`;
    return { kind: 'samples', samples: [{ value: 0, why, dated: true, places: NOWHERE }] };
  },
};
