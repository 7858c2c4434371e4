/** Edges measured on the built rig, over the lanes: a tick where one was seen, a bar with its length where it deviates. */
import { shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import type { MeasuredEdge } from './layout';
import { near, pathOf, type Pen } from './pen';

const LABEL = 10;
/** Half the width of the foot of a tick, px. */
const FOOT = 4;

export function drawReadings(pen: Pen): Shape {
  const shown = (pen.view.readings ?? []).flatMap((edge, k) => {
    const drawn = drawEdge(pen, edge, k);
    return drawn ? [drawn] : [];
  });
  return shape('g', 'readings', {}, shown);
}

function drawEdge(pen: Pen, edge: MeasuredEdge, k: number): Shape | null {
  const { layout, view, palette } = pen;
  const row = [...layout.doors, ...layout.logic].find((r) => r.lane.id === edge.lane);
  const moments = [edge.expected, edge.measured].filter((t) => t !== null);
  if (!row || moments.every((t) => t < view.from) || moments.every((t) => t > view.to)) return null;
  const color = edge.within ? palette.second : palette.faultLine;
  const [top, bottom] = [row.y - 2, row.y + row.height + 2];
  return shape('g', `reading${k}`, { 'data-reading': edge.within ? 'within' : 'off' }, [
    textShape('title', 'what', {}, edge.text),
    edge.measured !== null && drawTick(near(pen, edge.measured), top, bottom, color),
    ...(edge.within ? [] : drawDeviation(pen, edge, bottom)),
  ]);
}

/** With a foot at both ends, so that it is not taken for a line of the drawing. */
function drawTick(x: number, top: number, bottom: number, stroke: string): Shape {
  const d =
    pathOf([
      [x - FOOT, top],
      [x + FOOT, top],
    ]) +
    pathOf([
      [x, top],
      [x, bottom],
    ]) +
    pathOf([
      [x - FOOT, bottom],
      [x + FOOT, bottom],
    ]);
  return shape('path', 'tick', { d, fill: 'none', stroke, 'stroke-width': 2 });
}

/** From where it was due to where it was seen; a cross where one of them is missing. */
function drawDeviation(pen: Pen, { expected, measured, length }: MeasuredEdge, bottom: number): Shape[] {
  const { layout, palette } = pen;
  const x = near(pen, expected ?? measured!);
  const to = near(pen, measured ?? expected!);
  const y = bottom - 5;
  const line = { fill: 'none', stroke: palette.faultLine };
  const cross =
    pathOf([
      [x - 5, y - 5],
      [x + 5, y + 5],
    ]) +
    pathOf([
      [x - 5, y + 5],
      [x + 5, y - 5],
    ]);
  const mark =
    expected === null || measured === null
      ? shape('path', 'missing', { d: cross, ...line, 'stroke-width': 2 })
      : shape('line', 'bar', { x1: x, x2: to, y1: y, y2: y, ...line, 'stroke-width': 5, 'stroke-opacity': 0.75 });
  const right = Math.max(x, to) + 8;
  const width = textWidth(length, LABEL);
  const left = right + width > layout.x1 ? Math.min(x, to) - 8 - width : right;
  const halo = { stroke: palette.background, 'stroke-width': 3, 'paint-order': 'stroke' };
  const text = { x: left, y: y + 3.5, 'font-size': LABEL, 'font-weight': 600, fill: palette.faultLine, ...halo };
  return [mark, textShape('text', 'length', text, length)];
}
