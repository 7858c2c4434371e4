/** Where the words of marks stand in a chart: on their line, but over no curve, no other line and no other words; else in the strip above the chart. */

/** A place in a chart, px; y grows downwards, 0 is the top of the chart. */
export interface Point {
  readonly x: number;
  readonly y: number;
  /** A curve begins anew here: nothing is drawn from the point before. */
  readonly isStart?: boolean;
}

export interface MarkLabel {
  /** Height of its line; null for a mark beyond the chart, whose words stand above it. */
  readonly y: number | null;
  /** Where its words would best begin. */
  readonly x: number;
  readonly width: number;
}

export interface ChartFrame {
  readonly x0: number;
  readonly x1: number;
  readonly height: number;
}

/** Clear of a curve by this much, px; what the letters take above and below their base line. */
const CLEAR = 3;
const ABOVE = 8;
const BELOW = 3;
/** Base lines of words above and below their line, and in the strip above the chart. */
const OVER = -4;
const UNDER = 12;
const STRIP = -4;
const STEP = 16;

export interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** Base lines at which the words begin, one for each mark, in their order. @param curves as drawn, each rising in x or in any order */
export function placeMarkLabels(
  labels: readonly MarkLabel[],
  curves: readonly (readonly Point[])[],
  frame: ChartFrame,
): Point[] {
  const lines = labels.flatMap(({ y }) => (y === null ? [] : [y]));
  const taken: Box[] = [];
  const isClear = (box: Box, own: number | null): boolean =>
    isFree(box, curves, taken) && !lines.some((y) => y !== own && y > box.top && y < box.bottom);
  return labels.map((label) => {
    const place =
      candidates(label, frame).find((at) => isClear(boxAt(at, label.width), label.y)) ?? inStrip(label, frame, taken);
    taken.push(boxAt(place, label.width));
    return place;
  });
}

/** What words with a base line that begins at a point take up, with what is kept clear around them. */
export const boxAt = ({ x, y }: Point, width: number): Box => ({
  left: x - CLEAR,
  right: x + width + CLEAR,
  top: y - ABOVE - CLEAR,
  bottom: y + BELOW,
});

/** No curve and no other words come into a box. */
export const isFree = (box: Box, curves: readonly (readonly Point[])[], taken: readonly Box[]): boolean =>
  !taken.some((other) => overlap(box, other)) && !curves.some((curve) => crosses(curve, box));

/** Places on the line, the wanted one first, then ever farther from it; over the line before under it. */
function candidates({ x, y, width }: MarkLabel, { x0, x1, height }: ChartFrame): Point[] {
  if (y === null) return [];
  const [first, last] = [x0 + 6, x1 - width - 6];
  const starts: number[] = [];
  for (let away = 0; away < x1 - x0; away += STEP) starts.push(...(away === 0 ? [x] : [x + away, x - away]));
  const bases = [y + OVER, y + UNDER].filter((base) => base - ABOVE >= 0 && base + BELOW <= height);
  return starts.filter((at) => at >= first && at <= last).flatMap((at) => bases.map((base) => ({ x: at, y: base })));
}

/** Above the chart there are no curves, only words. */
function inStrip(label: MarkLabel, { x0, x1 }: ChartFrame, taken: readonly Box[]): Point {
  for (let x = label.x; x + label.width <= x1; x += STEP) {
    const at = { x, y: STRIP };
    if (!taken.some((other) => overlap(boxAt(at, label.width), other))) return at;
  }
  return { x: Math.max(x0, Math.min(label.x, x1 - label.width)), y: STRIP };
}

const overlap = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** Whether any stretch of a curve comes into a box: where it is beside the box it is cut off, and what is left must be above or below. */
function crosses(curve: readonly Point[], box: Box): boolean {
  for (let k = 1; k < curve.length; k++) {
    if (curve[k]!.isStart) continue;
    const [a, b] = curve[k - 1]!.x <= curve[k]!.x ? [curve[k - 1]!, curve[k]!] : [curve[k]!, curve[k - 1]!];
    if (b.x < box.left || a.x > box.right) continue;
    const at = (x: number): number => (b.x === a.x ? a.y : a.y + ((b.y - a.y) * (x - a.x)) / (b.x - a.x));
    const [from, to] = [at(Math.max(a.x, box.left)), b.x === a.x ? b.y : at(Math.min(b.x, box.right))];
    if (Math.min(from, to) < box.bottom && Math.max(from, to) > box.top) return true;
  }
  return false;
}
