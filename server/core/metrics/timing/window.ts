/** `window(door)`: how long the door is fully open. */
import type { Course, Opening } from '../../timing/course';
import { isSinceBefore, lengthIn, openings, partText } from '../../timing/course';
import type { Sample, ValueMetric } from '../metric';
import { doorName, itemIndex, staysShut } from '../metric';
import { doorPlaces } from './places';
import { say } from '../../words/say';

export const windowMetric: ValueMetric = {
  name: 'window',
  kind: 'value',
  parameters: [{ name: 'door', kind: 'door' }],
  dimensions: ['time'],
  definition:
    'How long the door is fully open, from arriving open to starting to close. Every opening counts; one that never arrives fully open counts as 0 s. One that has lasted since before the trigger has no length that one could state: it counts as without end.',
  whenAbsent: 'failed',
  measure(course, args) {
    const door = itemIndex(args[0]);
    const windows = openings(course, door);
    if (windows.length === 0) return { kind: 'absent', why: staysShut(course, door) };
    return { kind: 'samples', samples: windows.flatMap((w) => samplesOf(course, w)) };
  },
};

function samplesOf(course: Course, opening: Opening): Sample[] {
  const name = doorName(course.rig, opening.door);
  const places = () => doorPlaces(course.rig, opening);
  if (opening.fullyOpen.length === 0) {
    return [{ value: 0, why: say`${name} starts to close before it is fully open`, places }];
  }
  return opening.fullyOpen.map((i) => ({
    value: lengthIn(opening, i),
    why: say`${name} is fully open ${partText(opening, i)}`,
    dated: !isSinceBefore(opening, i),
    places,
  }));
}
