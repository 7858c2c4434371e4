/** `overlap(a, b)`: how long two doors are fully open together. */
import type { Rig } from '../../model/rig';
import type { Interval } from '../../timing/facts';
import type { Course, Opening } from '../../timing/course';
import { openings } from '../../timing/course';
import { lengthOf, pairsThatMeet } from '../../timing/intervals';
import type { Sample, ValueMetric } from '../metric';
import { NOWHERE } from '../metric';
import { doorName, itemIndex } from '../metric';
import { listText, spanText } from '../../timing/words';
import { absentPair, TWO_DOORS } from './pair';
import { timerPlaces } from './places';
import { say } from '../../words/say';

export const overlap: ValueMetric = {
  name: 'overlap',
  kind: 'value',
  parameters: TWO_DOORS,
  dimensions: ['time'],
  definition:
    'How long both doors are fully open at the same time. Each time they meet counts on its own; doors that both open but are never fully open together count as 0 s.',
  whenAbsent: 'failed',
  measure(course, args) {
    const [a, b] = [itemIndex(args[0]), itemIndex(args[1])];
    const absent = absentPair(course, [a, b]);
    if (absent) return absent;
    return { kind: 'samples', samples: meetings(course, a, b) };
  },
};

interface FullyOpen {
  readonly opening: Opening;
  readonly interval: Interval;
}

/** Stretches of being fully open, from a list of openings. */
function stretches(list: readonly Opening[]): FullyOpen[] {
  return list.flatMap((opening) => opening.fullyOpen.map((interval) => ({ opening, interval })));
}

function meetings(course: Course, a: number, b: number): Sample[] {
  const span = (s: FullyOpen): Interval => s.interval;
  const met = pairsThatMeet(stretches(course.openings[a] ?? []), stretches(course.openings[b] ?? []), span, span);
  const found = met
    .filter(([, , both]) => both.from < course.repeatsFrom)
    .map(([x, y, both]) => meeting(course.rig, x, y, both));
  return found.length > 0 ? found : [neverTogether(course, a, b)];
}

function meeting(rig: Rig, x: FullyOpen, y: FullyOpen, both: Interval): Sample {
  const opener = (x.interval.from >= y.interval.from ? x : y).opening;
  const closer = ((x.interval.to ?? Infinity) <= (y.interval.to ?? Infinity) ? x : y).opening;
  const places = () => [
    ...timerPlaces(rig, opener.opensBecause, say`${doorName(rig, opener.door)} opens the later of the two`),
    ...timerPlaces(rig, closer.closesBecause, say`${doorName(rig, closer.door)} closes the earlier of the two`),
  ];
  return { value: lengthOf(both), why: say`both are fully open ${spanText(both)}`, dated: true, places };
}

function neverTogether(course: Course, a: number, b: number): Sample {
  const firsts = [a, b].map((door) => openings(course, door)[0]?.fullyOpen[0]);
  const parts = [a, b].map((door, i) => {
    const first = firsts[i];
    const name = doorName(course.rig, door);
    return first ? say`${name} is fully open ${spanText(first)}` : say`${name} is never fully open`;
  });
  return { value: 0, why: listText(parts), dated: firsts.some((first) => first !== undefined), places: NOWHERE };
}
