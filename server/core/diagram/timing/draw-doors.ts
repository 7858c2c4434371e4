/** Door lanes as shapes: openings between two leaves against time. What is too narrow to be seen is drawn together. */
import { shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import { timeText } from '../kit/time-text';
import { crowds, firstAtOrAfter, near, pathOf, type Pen } from './pen';
import { SIZES, type LaneRow } from './layout';
import type { DoorLane, DoorPoint, TimingEdge } from './model';
import { say } from '../../words/say';

/** One opening: corner points from leaving shut to being shut again. */
type Opening = readonly DoorPoint[];

/** Openings that touch the shown range. A door's points are few per stroke, so the range is cut first, by halving. */
function openingsInView(lane: DoorLane, from: number, to: number): Opening[] {
  const { points } = lane;
  let first = firstAtOrAfter(points, from);
  while (first > 0 && (points[first - 1]!.position > 0 || points[first - 1]!.t >= from)) first--;
  const found: DoorPoint[][] = [];
  // Before the record the door stands as it does at its start.
  let current: DoorPoint[] =
    first === 0 && points[0]!.position > 0
      ? [{ t: Math.min(from, points[0]!.t) - 1, position: points[0]!.position }]
      : [];
  for (let k = Math.max(0, first - 1); k < points.length; k++) {
    const point = points[k]!;
    if (point.position === 0 && current.length > 1) {
      found.push([...current, point]);
      current = [];
      if (point.t > to) return found;
    }
    current = point.position === 0 ? [point] : [...current, point];
  }
  if (current.some((p) => p.position > 0)) found.push(current);
  return found.filter((o) => o[o.length - 1]!.t >= from && o[0]!.t <= to);
}

/** Half height of a fully open door: the lane less its walls. */
const HALF = SIZES.doorHeight / 2 - 4;

function outline(pen: Pen, opening: Opening, middle: number): string {
  const upper = opening.map((p) => [near(pen, p.t), middle - HALF * p.position] as const);
  const lower = opening.map((p) => [near(pen, p.t), middle + HALF * p.position] as const).reverse();
  return pathOf([...upper, ...lower], 'Z');
}

/** A door lane: the shut line, its openings, what crowds together as blocks. */
export function drawDoorLane(pen: Pen, row: LaneRow<DoorLane>): Shape {
  const { view } = pen;
  const { lane, y, height } = row;
  const middle = y + height / 2;
  const openings = openingsInView(lane, view.from, view.to);
  const parts: Shape[] = [shutLine(pen, lane, middle)];
  for (const group of crowds(
    openings,
    (o) => near(pen, o[0]!.t),
    (o) => near(pen, o[o.length - 1]!.t),
  )) {
    if (group.length > 1) parts.push(crowd(pen, group, middle));
    else parts.push(drawOpening(pen, lane, group[0]!, middle));
  }
  return shape('g', lane.id, { 'data-lane': lane.id }, parts);
}

/** Ground of a door lane with the two walls that a fully open door reaches. */
export function drawDoorGround(pen: Pen, row: LaneRow<DoorLane>): Shape {
  const { x0, x1 } = pen.layout;
  const { y, height } = row;
  const walls = [y + 4, y + height - 4].map((at, k) =>
    shape('line', `wall${k}`, { x1: x0, x2: x1, y1: at, y2: at, stroke: pen.palette.grid, 'stroke-width': 1 }),
  );
  const ground = shape('rect', 'ground', { x: x0, y, width: x1 - x0, height, rx: 3, fill: pen.palette.lane });
  return shape('g', `ground:${row.lane.id}`, {}, [ground, ...walls]);
}

/** Leaves together: a heavy line, which openings cover; from the rest before the trigger to the end of the record. */
function shutLine(pen: Pen, lane: DoorLane, middle: number): Shape {
  const [from, to] = [pen.layout.x0, near(pen, lane.points[lane.points.length - 1]!.t)];
  return shape('line', 'shut', {
    x1: from,
    x2: to,
    y1: middle,
    y2: middle,
    stroke: pen.palette.doorLine,
    'stroke-width': 2.5,
  });
}

function drawOpening(pen: Pen, lane: DoorLane, opening: Opening, middle: number): Shape {
  const { palette } = pen;
  const key = `opening/${opening[0]!.t}`;
  const soft = softEdges(pen, lane, opening, middle);
  const body = shape('path', 'body', {
    d: outline(pen, opening, middle),
    fill: palette.door,
    'fill-opacity': soft ? 0.75 : undefined,
    stroke: palette.doorLine,
    'stroke-width': 1.5,
    'stroke-linejoin': 'round',
  });
  return shape('g', key, {}, [soft, body]);
}

/** Outlines of a door's openings, for a second variant. */
export function doorOutline(pen: Pen, lane: DoorLane, row: LaneRow): string {
  const openings = openingsInView(lane, pen.view.from, pen.view.to);
  return openings.map((o) => outline(pen, o, row.y + row.height / 2)).join('');
}

/** How long a door stands fully open, for each opening in sight. */
export function drawDwells(pen: Pen, row: LaneRow<DoorLane>): Shape {
  const openings = openingsInView(row.lane, pen.view.from, pen.view.to);
  return shape(
    'g',
    `dwells:${row.lane.id}`,
    {},
    openings.map((o) => dwell(pen, o, row.y + row.height / 2)),
  );
}

/** How long it stands fully open, written into the opening where there is room. */
function dwell(pen: Pen, opening: Opening, middle: number): Shape | null {
  const open = opening.filter((p) => p.position === 1);
  if (open.length < 2) return null;
  const { x0, x1, x } = pen.layout;
  const [from, to] = [Math.max(x0, x(open[0]!.t)), Math.min(x1, x(open[open.length - 1]!.t))];
  const words = dwellWords(opening, open);
  const text = words.find((w) => textWidth(w, SIZES.label) + 10 <= to - from);
  if (text === undefined) return null;
  const attributes = {
    // Its ground is cleared, so that hatch and dashed lines do not run through it.
    stroke: pen.palette.door,
    'stroke-width': 4,
    'stroke-linejoin': 'round',
    'paint-order': 'stroke',
    x: (from + to) / 2,
    y: middle + 4,
    'text-anchor': 'middle',
    'font-size': SIZES.label,
    fill: pen.palette.ink,
  };
  return textShape('text', `dwell/${opening[0]!.t}`, attributes, text);
}

/** Of a time that began before the record or goes on beyond it there is no length to write. */
function dwellWords(opening: Opening, open: Opening): string[] {
  const first = open[0]!;
  const last = open[open.length - 1]!;
  const isWhole = opening[0]!.position < 1 && opening[opening.length - 1]!.position < 1;
  if (!isWhole) return [say`fully open`, say`open`];
  const length = timeText(last.t - first.t);
  return [say`fully open ${length}`, say`open ${length}`, length];
}

/** The widest opening within tolerance, faint behind the nominal one; null where no tolerance is known. */
function softEdges(pen: Pen, lane: DoorLane, opening: Opening, middle: number): Shape | null {
  const [from, to] = [opening[0]!.t, opening[opening.length - 1]!.t];
  const edges = lane.edges.filter((e) => e.t >= from && e.t <= to);
  const at = (kind: TimingEdge['kind']) => edges.find((e) => e.kind === kind);
  const corners = [at('opens'), at('opened'), at('closes'), at('shuts')];
  const isKnown = corners.every((e) => e && e.min !== null && e.max !== null);
  // Edges that no tolerance moves stand where they are.
  if (!isKnown || corners.every((e) => e!.min === e!.max)) return null;
  const [opens, opened, closes, shuts] = corners as [TimingEdge, TimingEdge, TimingEdge, TimingEdge];
  const widest = [
    { t: opens.min!, position: 0 },
    { t: opened.min!, position: 1 },
    { t: closes.max!, position: 1 },
    { t: shuts.max!, position: 0 },
  ];
  const surest = [
    { t: opens.max!, position: 0 },
    { t: opened.max!, position: 1 },
    { t: closes.min!, position: 1 },
    { t: shuts.min!, position: 0 },
  ];
  const { door, doorLine } = pen.palette;
  return shape('g', 'soft', {}, [
    shape('path', 'widest', {
      d: outline(pen, widest, middle),
      fill: door,
      'fill-opacity': 0.4,
      stroke: doorLine,
      'stroke-width': 0.75,
      'stroke-dasharray': '2 2',
    }),
    surest[1]!.t <= surest[2]!.t && shape('path', 'surest', { d: outline(pen, surest, middle), fill: door }),
  ]);
}

function crowd(pen: Pen, group: readonly Opening[], middle: number): Shape {
  const from = near(pen, group[0]![0]!.t);
  const last = group[group.length - 1]!;
  const to = near(pen, last[last.length - 1]!.t);
  const attributes = {
    x: from,
    y: middle - HALF,
    width: Math.max(1, to - from),
    height: 2 * HALF,
    fill: pen.palette.doorLine,
    'fill-opacity': 0.55,
  };
  return shape('g', `crowd/${group[0]![0]!.t}`, {}, [
    textShape('title', 'title', {}, say`${group.length} openings, too close to tell apart here`),
    shape('rect', 'block', attributes),
  ]);
}
