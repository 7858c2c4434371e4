/** Limits, targets and ceilings as lines across a chart, with words that lie over no curve. */
import type { Palette } from '../kit/palette';
import { shape, textShape, type Shape } from '../kit/shape';
import { fitText, textWidth } from '../kit/text-width';
import { placeMarkLabels, type Point } from './mark-labels';
import type { SeriesMark } from './model';

export interface MarkBrush {
  readonly palette: Palette;
  /** Left and right end of the chart, and its height, px. */
  readonly x0: number;
  readonly x1: number;
  readonly chart: number;
  readonly scale: { readonly high: number; readonly y: (value: number) => number };
}

const MARK_DASHES = { target: '1 4', limit: undefined, ceiling: '8 4' } as const;
/** Words of different kinds begin at different parts of the width, so that lines close together stay readable. */
const MARK_STARTS = { limit: 0, ceiling: 0.34, target: 0.67 } as const;
const MARK_SIZE = 10;

/** Lines across at their values; one beyond the scale is noted above the chart instead of being left out. */
export function drawMarks(
  brush: MarkBrush,
  marks: readonly SeriesMark[],
  curves: readonly (readonly Point[])[],
): Shape[] {
  const { x0, x1, chart, scale } = brush;
  const labels = marks.map((mark) => {
    const isBeyond = mark.value > scale.high;
    const text = fitText(isBeyond ? `${mark.label} ↑` : mark.label, MARK_SIZE, x1 - x0 - 20);
    const x = x0 + 8 + MARK_STARTS[mark.kind] * (x1 - x0);
    return { y: isBeyond ? null : scale.y(mark.value), x, text, width: textWidth(text, MARK_SIZE) };
  });
  const places = placeMarkLabels(labels, curves, { x0, x1, height: chart });
  return marks.map((mark, k) => drawMark(brush, mark, labels[k]!, places[k]!));
}

function drawMark(
  { palette, x0, x1 }: MarkBrush,
  mark: SeriesMark,
  { y, text }: { readonly y: number | null; readonly text: string },
  place: Point,
): Shape {
  const color = mark.kind === 'limit' ? palette.faultLine : palette.muted;
  const look = { stroke: color, 'stroke-width': 1.25, 'stroke-dasharray': MARK_DASHES[mark.kind] };
  const halo = { stroke: palette.background, 'stroke-width': 3, 'paint-order': 'stroke' };
  return shape('g', mark.id, {}, [
    y !== null && shape('line', 'line', { x1: x0, x2: x1, y1: y, y2: y, ...look }),
    textShape('text', 'label', { x: place.x, y: place.y, 'font-size': MARK_SIZE, fill: color, ...halo }, text),
  ]);
}
