/** Half-open intervals of time `[from, to)`, `to` null where there is no end: what two have in common, and their length. */
import type { Interval } from '../timing/facts';

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
