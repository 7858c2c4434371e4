/** `open_time(door)`: how long the door is off its seat. */
import { isSinceBefore, lengthIn, openings, partText } from '../../timing/course';
import type { ValueMetric } from '../metric';
import { doorName, itemIndex, staysShut } from '../metric';
import { doorPlaces } from './places';
import { say } from '../../words/say';

export const openTime: ValueMetric = {
  name: 'open_time',
  kind: 'value',
  parameters: [{ name: 'door', kind: 'door' }],
  dimensions: ['time'],
  definition:
    'How long the door is not shut, from leaving its seat to being shut again, travel included. Every opening counts; one that has lasted since before the trigger counts as without end.',
  whenAbsent: 'failed',
  measure(course, args) {
    const door = itemIndex(args[0]);
    const name = doorName(course.rig, door);
    const samples = openings(course, door).map((w) => ({
      value: lengthIn(w, w.notShut),
      why: say`${name} is off its seat ${partText(w, w.notShut)}`,
      dated: !isSinceBefore(w, w.notShut),
      places: () => doorPlaces(course.rig, w),
    }));
    return samples.length === 0 ? { kind: 'absent', why: staysShut(course, door) } : { kind: 'samples', samples };
  },
};
