/** Setting two doors apart: which times to turn, and by how much, so that one is shut before the other leaves its seat. */
import type { Opening } from '../timing/course';
import { strokeCourses } from '../timing/course';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { intersectAll } from '../timing/windows';
import type { TimeLiteral } from './literals';
import { literalsInChain, sameSource } from './literals';
import type { Goal } from './search';

export interface Wanted {
  readonly literal: TimeLiteral;
  readonly value: number;
}

/** The earlier and the later opener of two openings that meet. */
export function inOrder(x: Opening, y: Opening): readonly [Opening, Opening] {
  return x.notShut.from <= y.notShut.from ? [x, y] : [y, x];
}

/**
 * Times whose change sets two openings apart by `clearance`: the timers that close the earlier one (shorter) and those that open
 * the later one (longer), by arithmetic along the chains of causes; nothing is tried here. Times that move both doors are left out.
 */
export function partingTimes(rig: Rig, x: Opening, y: Opening, clearance: number): Wanted[] {
  const [first, second] = inOrder(x, y);
  if (first.notShut.to === null) return [];
  const amount = first.notShut.to - second.notShut.from + clearance;
  const closing = timesOf(rig, first, 'closes');
  const opening = timesOf(rig, second, 'opens');
  const only = (list: readonly TimeLiteral[], others: readonly TimeLiteral[]): TimeLiteral[] =>
    list.filter((l) => !others.some((o) => sameSource(o.at, l.at)));
  return [
    ...only(closing, opening).map((literal) => ({ literal, value: literal.value - amount })),
    ...only(opening, closing).map((literal) => ({ literal, value: literal.value + amount })),
  ].filter((w) => w.value > 0);
}

/** Times that decide when an opening begins or ends: the timers in its chain of causes, the nearest first. */
export function timesOf(rig: Rig, opening: Opening, end: 'opens' | 'closes'): TimeLiteral[] {
  return literalsInChain(rig, end === 'opens' ? opening.opensBecause : opening.closesBecause);
}

/** Whether two doors are never off their seats together in any stroke. */
export function areApart(a: number, b: number): Goal {
  return (facts) =>
    strokeCourses(facts).every(({ openings }) => {
      const [mine, theirs] = [openings[a] ?? [], openings[b] ?? []];
      return intersectAll([mine.map((o) => o.notShut), theirs.map((o) => o.notShut)]).length === 0;
    });
}

/** Whether every door still opens fully in as many strokes as before. */
export function opensAsBefore(before: RigFacts): Goal {
  const full = (facts: RigFacts, door: number): number =>
    strokeCourses(facts).filter((c) => (c.openings[door] ?? []).some((o) => o.fullyOpen.length > 0)).length;
  return (facts) => facts.rig.doors.every((_, door) => full(facts, door) >= full(before, door));
}
