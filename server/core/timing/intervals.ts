/**
 * Half-open intervals of time `[from, to)`, `to` null where there is no end: what two have in common, and their length.
 *
 * Half-open, so that two that touch share nothing and a moment belongs to exactly one of two that follow each other. `null` and not
 * `Infinity` in what is kept: JSON has no infinity.
 */
import type { Interval } from './facts';

const end = (i: Interval): number => i.to ?? Infinity;

/** What both have in common, or null where that has no length. */
export function meet(a: Interval, b: Interval): Interval | null {
  const from = Math.max(a.from, b.from);
  const to = Math.min(end(a), end(b));
  if (to <= from) return null;
  return { from, to: to === Infinity ? null : to };
}

/** Length, `Infinity` where it does not end. */
export function lengthOf(i: Interval): number {
  return end(i) - i.from;
}

/**
 * All pairs out of two lists that have some time in common, in order of the first. Each list is in order of time and its items do
 * not meet one another, so that one sweep finds them.
 */
export function pairsThatMeet<A, B>(
  a: readonly A[],
  b: readonly B[],
  spanA: (item: A) => Interval,
  spanB: (item: B) => Interval,
): (readonly [A, B, Interval])[] {
  const found: (readonly [A, B, Interval])[] = [];
  let first = 0;
  for (const x of a) {
    // What ends before x begins ends before every later x begins, too: `first` never goes back, so the sweep is linear in pairs found.
    while (first < b.length && end(spanB(b[first]!)) <= spanA(x).from) first++;
    for (let j = first; j < b.length && spanB(b[j]!).from < end(spanA(x)); j++) {
      const both = meet(spanA(x), spanB(b[j]!));
      if (both) found.push([x, b[j]!, both]);
    }
  }
  return found;
}
