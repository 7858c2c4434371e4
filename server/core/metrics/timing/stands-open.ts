/** `stands_open(door)`: the door is meant to stand open while the rig waits. */
import type { StateMetric } from '../metric';
import { NOWHERE } from '../metric';
import { doorName, itemIndex } from '../metric';
import { say } from '../../words/say';

export const standsOpen: StateMetric = {
  name: 'stands_open',
  kind: 'state',
  parameters: [{ name: 'door', kind: 'door' }],
  definition:
    'Holds where the door is fully open once the rig has come to rest with no sensor changed (in a scenario: at its end). Says that it is meant to be.',
  whenAbsent: 'undecided',
  measure(course, args) {
    const door = itemIndex(args[0]);
    const track = course.trace.doors[door];
    const last = track?.moves[track.moves.length - 1];
    const isOpen = (last ? last.to : track?.initial) === 1;
    const name = doorName(course.rig, door);
    const why = isOpen ? say`${name} stands open ${course.label}` : say`${name} does not stand open ${course.label}`;
    return { kind: 'samples', samples: [{ value: isOpen ? 1 : 0, why, places: NOWHERE }] };
  },
};
