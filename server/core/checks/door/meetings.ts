/** When two doors are off their seats together, and what brings it about. */
import type { Course, Opening } from '../../timing/course';
import { pairsThatMeet } from '../../timing/intervals';
import { timerPlaces } from '../../metrics/timing/places';
import type { RelatedPlace } from '../../model/problem';
import type { Rig } from '../../model/rig';
import type { Interval } from '../../timing/facts';
import { intersectAll } from '../../timing/windows';
import { inOrder } from '../../choose/part';
import { formatTime } from '../../units/units';
import { say } from '../../words/say';

export interface Meeting {
  readonly course: Course;
  /** Off its seat first. */
  readonly first: Opening;
  readonly second: Opening;
  /** Both off their seats. */
  readonly both: Interval;
  /** Both fully open; null where that never is. */
  readonly fully: Interval | null;
}

/** Meetings of two doors in one course, each different one once. */
export function meetingsOf(course: Course, a: number, b: number): Meeting[] {
  const span = (o: Opening): Interval => o.notShut;
  const met = pairsThatMeet(course.openings[a] ?? [], course.openings[b] ?? [], span, span);
  return met
    .filter(([, , both]) => both.from < course.repeatsFrom)
    .map(([x, y, both]) => {
      const [first, second] = inOrder(x, y);
      return { course, first, second, both, fully: intersectAll([x.fullyOpen, y.fullyOpen])[0] ?? null };
    });
}

/** The timers that open the later door and close the one that closes first, each with what it does. */
export function causesOf(rig: Rig, { first, second, both }: Meeting): RelatedPlace[] {
  const closer = first.notShut.to === both.to ? first : second;
  const opened = say`${rig.doors[second.door]!.name} leaves its seat at ${formatTime(second.notShut.from)}`;
  const places = timerPlaces(rig, second.opensBecause, opened);
  if (both.to === null) return places;
  const shut = say`${rig.doors[closer.door]!.name} is shut at ${formatTime(both.to)}`;
  return [...places, ...timerPlaces(rig, closer.closesBecause, shut)];
}

/** ", and 2 more times"; empty for one time. */
export function moreTimes(count: number): string {
  if (count < 2) return '';
  return count > 2 ? say`, and ${count - 1} more times` : say`, and 1 more time`;
}

/** ", and alike after 2 other triggers"; empty for none. */
export function alikeAfter(others: number): string {
  if (others === 0) return '';
  return others > 1 ? say`, and alike after ${others} other triggers` : say`, and alike after 1 other trigger`;
}

/** "upper closes by upper_on (1.4 s) and lower opens by lower_on/TON (2 s)": the timers responsible, in words; empty where none. */
export function responsible(rig: Rig, { first, second, both }: Meeting): string {
  const closer = first.notShut.to === both.to ? first : second;
  const timer = (o: Opening, end: 'opens' | 'closes'): string => {
    const chain = end === 'opens' ? o.opensBecause : o.closesBecause;
    const last = [...chain].reverse().find((link) => link.preset > 0);
    if (!last) return '';
    const [door, by] = [rig.doors[o.door]!.name, `${last.name} (${formatTime(last.preset)})`];
    return end === 'opens' ? say`${door} opens by ${by}` : say`${door} closes by ${by}`;
  };
  return [timer(second, 'opens'), both.to === null ? '' : timer(closer, 'closes')].filter((t) => t !== '').join(', ');
}
