/** `overlap(a, b)`: how long two doors are fully open together. */
import type { Rig } from '../../model/rig';
import type { Interval } from '../../timing/facts';
import type { Course, Opening } from '../course';
import { openings } from '../course';
import { lengthOf, meet } from '../intervals';
import type { Sample, ValueMetric } from '../metric';
import { doorName, itemIndex } from '../metric';
import { spanText } from '../words';
import { timerPlaces } from './places';

export const overlap: ValueMetric = {
  name: 'overlap',
  kind: 'value',
  parameters: [
    { name: 'a', kind: 'door' },
    { name: 'b', kind: 'door' },
  ],
  dimensions: ['time'],
  definition:
    'How long both doors are fully open at the same time. Each time they meet counts on its own; doors that both open but are never fully open together count as 0 s.',
  whenAbsent: 'failed',
  measure(course, args) {
    const [a, b] = [itemIndex(args[0]), itemIndex(args[1])];
    const idle = [a, b].filter((door) => openings(course, door).length === 0);
    if (idle.length > 0) return { kind: 'absent', why: `${doorName(course.rig, idle[0]!)} never opens` };
    return { kind: 'samples', samples: meetings(course, a, b) };
  },
};

function meetings(course: Course, a: number, b: number): Sample[] {
  const found = openings(course, a).flatMap((x) =>
    (course.openings[b] ?? []).flatMap((y) =>
      x.fullyOpen.flatMap((i) => y.fullyOpen.flatMap((j) => meeting(course.rig, [x, i], [y, j]))),
    ),
  );
  return found.length > 0 ? found : [neverTogether(course, a, b)];
}

type Open = readonly [opening: Opening, fully: Interval];

function meeting(rig: Rig, [x, i]: Open, [y, j]: Open): Sample[] {
  const both = meet(i, j);
  if (!both) return [];
  const opener = i.from >= j.from ? x : y;
  const closer = (i.to ?? Infinity) <= (j.to ?? Infinity) ? x : y;
  const places = [
    ...timerPlaces(rig, opener.opensBecause, `${doorName(rig, opener.door)} opens the later of the two`),
    ...timerPlaces(rig, closer.closesBecause, `${doorName(rig, closer.door)} closes the earlier of the two`),
  ];
  return [{ value: lengthOf(both), why: `both are fully open ${spanText(both)}`, places }];
}

function neverTogether(course: Course, a: number, b: number): Sample {
  const parts = [a, b].map((door) => {
    const first = openings(course, door)[0]?.fullyOpen[0];
    const name = doorName(course.rig, door);
    return first ? `${name} is fully open ${spanText(first)}` : `${name} is never fully open`;
  });
  return { value: 0, why: parts.join(' and '), places: [] };
}
