/** `gap(a, b)`: the shortest time between one door being shut and the other leaving its seat. */
import type { Rig } from '../../model/rig';
import { formatTime } from '../../units/units';
import type { Opening } from '../course';
import { openings } from '../course';
import { lengthOf, meet } from '../intervals';
import type { Sample, ValueMetric } from '../metric';
import { doorName, itemIndex } from '../metric';
import { spanText } from '../words';
import { timerPlaces } from './places';

export const gap: ValueMetric = {
  name: 'gap',
  kind: 'value',
  parameters: [
    { name: 'a', kind: 'door' },
    { name: 'b', kind: 'door' },
  ],
  dimensions: ['time'],
  definition:
    'The shortest time between one of the doors being shut and the other leaving its seat, whichever comes first, repeats included. Where both are off their seats together it is negative: minus the length of that time.',
  whenAbsent: 'undecided',
  measure(course, args) {
    const [a, b] = [itemIndex(args[0]), itemIndex(args[1])];
    const idle = [a, b].filter((door) => openings(course, door).length === 0);
    if (idle.length > 0) return { kind: 'absent', why: `${doorName(course.rig, idle[0]!)} never opens` };
    const all = (course.openings[a] ?? []).flatMap((x) =>
      (course.openings[b] ?? []).flatMap((y) => between(course.rig, x, y)),
    );
    const least = all.reduce<Sample | null>((best, s) => (best && best.value <= s.value ? best : s), null);
    return least ? { kind: 'samples', samples: [least] } : { kind: 'absent', why: 'neither is ever shut again' };
  },
};

function between(rig: Rig, x: Opening, y: Opening): Sample[] {
  const both = meet(x.notShut, y.notShut);
  const [first, second] = x.notShut.from <= y.notShut.from ? [x, y] : [y, x];
  const one = doorName(rig, first.door);
  const two = doorName(rig, second.door);
  const places = [
    ...timerPlaces(rig, first.closesBecause, `${one} closes`),
    ...timerPlaces(rig, second.opensBecause, `${two} opens`),
  ];
  if (both) return [{ value: -lengthOf(both), why: `both are off their seats ${spanText(both)}`, places }];
  const shut = first.notShut.to;
  if (shut === null) return [];
  const opens = second.notShut.from;
  const why = `${one} is shut at ${formatTime(shut)} and ${two} leaves its seat at ${formatTime(opens)}`;
  return [{ value: opens - shut, why, places }];
}
