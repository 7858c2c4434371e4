/** What all parts of the timing drawing use: the pen (layout, view, colours), paths, and how near lines run together. */
import type { Palette } from '../kit/palette';
import { round2 } from '../kit/shape';
import type { TimingLayout, TimingView } from './layout';

/** What every drawing function of this folder needs. */
export interface Pen {
  readonly layout: TimingLayout;
  readonly view: TimingView;
  readonly palette: Palette;
}

/** Id of the clip path of the plot. */
export function plotId(view: TimingView): string {
  return `${view.idPrefix}plot`;
}

/** x of a time, kept near the frame so that no coordinate gets out of hand at high zoom. */
export function near(pen: Pen, t: number): number {
  const { x, x0, x1 } = pen.layout;
  return Math.max(x0 - 50, Math.min(x1 + 50, x(t)));
}

/** Points of a polyline as a path. */
export function pathOf(points: readonly (readonly [number, number])[], end = ''): string {
  return points.map(([x, y], k) => `${k === 0 ? 'M' : 'L'}${round2(x)} ${round2(y)}`).join('') + end;
}

/** Index of the first item whose `t` is at least `t` (items rise in `t`). */
export function firstAtOrAfter(items: readonly { readonly t: number }[], t: number): number {
  let [low, high] = [0, items.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (items[middle]!.t < t) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** An open arrow head with its tip at a point; `direction` 1 points right, -1 left. */
export function chevron(x: number, y: number, direction: 1 | -1): string {
  const back = x - 4 * direction;
  return pathOf([
    [back, y - 3],
    [x, y],
    [back, y + 3],
  ]);
}

/** Closer than this (px), openings and marks run together into one block. */
const CROWDED = 5;

/** Groups of narrow neighbours that start closer together than some px, in order; others alone. */
export function crowds<T>(items: readonly T[], left: (item: T) => number, right: (item: T) => number): T[][] {
  const groups: T[][] = [];
  let last = -Infinity;
  for (const item of items) {
    const start = left(item);
    const joins = start - last < CROWDED && right(item) - start < CROWDED;
    if (joins && groups.length > 0) groups[groups.length - 1]!.push(item);
    else groups.push([item]);
    last = start;
  }
  return groups;
}
