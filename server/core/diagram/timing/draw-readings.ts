/** Edges measured on the built rig, over the lanes: a tick where one was seen, a bar with its length where it deviates. */
import { shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import type { MeasuredEdge } from './layout';
import { near, pathOf, type Pen } from './pen';

const LABEL = 10;
/** Half the width of the foot of a tick, px. */
const FOOT = 4;

/** Where a length is written. */
interface Label {
  readonly left: number;
  readonly right: number;
  readonly y: number;
}

export function drawReadings(pen: Pen): Shape {
  const taken: Label[] = [];
  const shown = (pen.view.readings ?? []).flatMap((edge, k) => {
    const drawn = drawEdge(pen, edge, k, taken);
    return drawn ? [drawn] : [];
  });
  return shape('g', 'readings', {}, shown);
}

function drawEdge(pen: Pen, edge: MeasuredEdge, k: number, taken: Label[]): Shape | null {
  const { layout, view, palette } = pen;
  const row = [...layout.doors, ...layout.logic].find((r) => r.lane.id === edge.lane);
  const moments = [edge.expected, edge.measured].filter((t) => t !== null);
  if (!row || moments.every((t) => t < view.from) || moments.every((t) => t > view.to)) return null;
  const color = edge.within ? palette.second : palette.faultLine;
  const [top, bottom] = [row.y - 2, row.y + row.height + 2];
  return shape('g', `reading${k}`, { 'data-reading': edge.within ? 'within' : 'off' }, [
    textShape('title', 'what', {}, edge.text),
    edge.measured !== null && drawTick(near(pen, edge.measured), top, bottom, color),
    ...(edge.within ? [] : drawDeviation(pen, edge, [top, bottom], taken)),
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
function drawDeviation(
  pen: Pen,
  { expected, measured, length }: MeasuredEdge,
  [top, bottom]: readonly [number, number],
  taken: Label[],
): Shape[] {
  const { palette } = pen;
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
  const place = placeOf(pen, length, [Math.min(x, to), Math.max(x, to)], [y + 3.5, top + LABEL], taken);
  if (place === null) return [mark];
  taken.push(place);
  const halo = { stroke: palette.background, 'stroke-width': 3, 'paint-order': 'stroke' };
  const text = { x: place.left, y: place.y, 'font-size': LABEL, 'font-weight': 600, fill: palette.faultLine, ...halo };
  return [mark, textShape('text', 'length', text, length)];
}

/** A free place to the right of a mark or else to its left, below or else above; null where all lie over another length (its title says it). */
function placeOf(
  { layout }: Pen,
  length: string,
  [from, to]: readonly [number, number],
  heights: readonly number[],
  taken: readonly Label[],
): Label | null {
  const width = textWidth(length, LABEL);
  const places = heights.flatMap((y) => [to + 8, from - 8 - width].map((left) => ({ left, right: left + width, y })));
  const isFree = ({ left, right, y }: Label): boolean =>
    left >= layout.x0 &&
    right <= layout.x1 &&
    taken.every((other) => other.right < left || other.left > right || Math.abs(other.y - y) >= LABEL);
  return places.find(isFree) ?? null;
}
