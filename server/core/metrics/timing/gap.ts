/** `gap(a, b)`: the shortest time between one door being shut and the other leaving its seat. */
import type { RelatedPlace } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { formatTime } from '../../units/units';
import type { Opening } from '../../timing/course';
import { lengthOf, pairsThatMeet } from '../../timing/intervals';
import type { Sample, ValueMetric } from '../metric';
import { doorName, itemIndex } from '../metric';
import { spanText } from '../../timing/words';
import { absentPair, TWO_DOORS } from './pair';
import { timerPlaces } from './places';
import { say } from '../../words/say';

export const gap: ValueMetric = {
  name: 'gap',
  kind: 'value',
  parameters: TWO_DOORS,
  dimensions: ['time'],
  definition:
    'The shortest time between one of the doors being shut and the other leaving its seat, whichever comes first, repeats included. Where both are off their seats together it is negative: minus the length of that time.',
  whenAbsent: 'undecided',
  measure(course, args) {
    const [a, b] = [itemIndex(args[0]), itemIndex(args[1])];
    const absent = absentPair(course, [a, b]);
    if (absent) return absent;
    const [mine, theirs] = [course.openings[a] ?? [], course.openings[b] ?? []];
    const all = [...together(course.rig, mine, theirs), ...between(course.rig, mine, theirs)];
    const least = all.reduce<Sample | null>((best, s) => (best && best.value <= s.value ? best : s), null);
    return least ? { kind: 'samples', samples: [least] } : { kind: 'absent', why: say`neither is ever shut again` };
  },
};

function together(rig: Rig, a: readonly Opening[], b: readonly Opening[]): Sample[] {
  const span = (o: Opening) => o.notShut;
  return pairsThatMeet(a, b, span, span).map(([x, y, both]) => {
    const [first, second] = x.notShut.from <= y.notShut.from ? [x, y] : [y, x];
    return {
      value: -lengthOf(both),
      why: say`both are off their seats ${spanText(both)}`,
      dated: true,
      places: () => placesOf(rig, first, second),
    };
  });
}

/** Gaps between neighbours in time that are openings of different doors. */
function between(rig: Rig, a: readonly Opening[], b: readonly Opening[]): Sample[] {
  const all = [...a, ...b].sort((x, y) => x.notShut.from - y.notShut.from);
  return all.slice(1).flatMap((second, i) => {
    const first = all[i]!;
    const shut = first.notShut.to;
    const opens = second.notShut.from;
    if (first.door === second.door || shut === null || opens < shut) return [];
    const why = say`${doorName(rig, first.door)} is shut at ${formatTime(shut)} and ${doorName(rig, second.door)} leaves its seat at ${formatTime(opens)}`;
    return [{ value: opens - shut, why, dated: true, places: () => placesOf(rig, first, second) }];
  });
}

function placesOf(rig: Rig, first: Opening, second: Opening): RelatedPlace[] {
  return [
    ...timerPlaces(rig, first.closesBecause, say`${doorName(rig, first.door)} closes`),
    ...timerPlaces(rig, second.opensBecause, say`${doorName(rig, second.door)} opens`),
  ];
}
