/** Lanes as shapes: doors as openings between two leaves, logic as thin steps. What is narrower than a pixel is drawn together. */
import type { Palette } from './palette';
import { round2, shape, textShape, type Shape } from './shape';
import { fitText, textWidth } from './text-width';
import { timeText } from './time-text';
import { laneName, SIZES, type LaneRow, type TimingLayout, type TimingView } from './timing-layout';
import type { DoorLane, DoorPoint, Lane, LogicLane, TimingEdge } from './timing-model';

/** What every drawing function of this folder needs. */
export interface Pen {
  readonly layout: TimingLayout;
  readonly view: TimingView;
  readonly palette: Palette;
}

/** Closer than this (px), openings and changes run together into one block. */
const CROWDED = 1.5;
const CROWDED_OPENINGS = 5;

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

// ---------------------------------------------------------------- names

/** Name and detail of a lane in the label column. */
export function laneLabel(pen: Pen, row: LaneRow): Shape {
  const { layout, palette } = pen;
  const { lane } = row;
  const middle = row.y + row.height / 2;
  const isDoor = lane.kind === 'door';
  const name = textShape(
    'text',
    'name',
    {
      x: isDoor ? 10 : lane.kind === 'element' ? 18 : 10,
      y: isDoor ? middle - 1 : middle + 4,
      'font-size': isDoor ? SIZES.name : SIZES.name - 1.5,
      'font-weight': isDoor ? 600 : 400,
      fill: lane.kind === 'element' ? palette.muted : palette.ink,
    },
    laneName(lane.name, layout),
  );
  const detail =
    isDoor &&
    textShape(
      'text',
      'detail',
      { x: 10, y: middle + 13, 'font-size': SIZES.detail, fill: palette.muted },
      fitText(lane.detail, SIZES.detail, layout.labelWidth - 14),
    );
  return shape('g', `label:${lane.id}`, { 'data-lane': lane.id }, [
    textShape('title', 'title', {}, lane.name),
    name,
    detail,
  ]);
}

// ---------------------------------------------------------------- doors

/** One opening: corner points from leaving shut to being shut again. */
type Opening = readonly DoorPoint[];

/** Openings that touch the shown range. A door's points are few per stroke, so the range is cut first, by halving. */
function openingsInView(lane: DoorLane, from: number, to: number): Opening[] {
  const { points } = lane;
  let first = firstAtOrAfter(points, from);
  while (first > 0 && (points[first - 1]!.position > 0 || points[first - 1]!.t >= from)) first--;
  const found: DoorPoint[][] = [];
  let current: DoorPoint[] = [];
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

/** Outline of a lane for a second variant: its openings, or its step line. */
export function laneOutline(pen: Pen, lane: Lane, row: LaneRow): string {
  if (lane.kind !== 'door') return steps(pen, lane, row.y).line;
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
  const length = timeText(open[open.length - 1]!.t - open[0]!.t);
  const words = [`fully open ${length}`, `open ${length}`, length];
  const text = words.find((w) => textWidth(w, SIZES.label) + 10 <= to - from);
  if (text === undefined) return null;
  const attributes = {
    x: (from + to) / 2,
    y: middle + 4,
    'text-anchor': 'middle',
    'font-size': SIZES.label,
    fill: pen.palette.ink,
  };
  return textShape('text', `dwell/${opening[0]!.t}`, attributes, text);
}

/** The widest opening within tolerance, faint behind the nominal one; null where no tolerance is known. */
function softEdges(pen: Pen, lane: DoorLane, opening: Opening, middle: number): Shape | null {
  const [from, to] = [opening[0]!.t, opening[opening.length - 1]!.t];
  const edges = lane.edges.filter((e) => e.t >= from && e.t <= to);
  const at = (kind: TimingEdge['kind']) => edges.find((e) => e.kind === kind);
  const corners = [at('opens'), at('opened'), at('closes'), at('shuts')];
  if (!corners.every((e) => e && e.min !== null && e.max !== null && e.min < e.max)) return null;
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

/** Groups of narrow neighbours that start closer together than some px, in order; others alone. */
export function crowds<T>(items: readonly T[], left: (item: T) => number, right: (item: T) => number): T[][] {
  const groups: T[][] = [];
  let last = -Infinity;
  for (const item of items) {
    const start = left(item);
    const joins = start - last < CROWDED_OPENINGS && right(item) - start < CROWDED_OPENINGS;
    if (joins && groups.length > 0) groups[groups.length - 1]!.push(item);
    else groups.push([item]);
    last = start;
  }
  return groups;
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
    textShape('title', 'title', {}, `${group.length} openings, too close to tell apart here`),
    shape('rect', 'block', attributes),
  ]);
}

// ---------------------------------------------------------------- logic

const HIGH = 4;
const LOW = SIZES.logicHeight - 6;

/** A logic lane: its step line, ground under the times it is on, timers running out, crowded changes as blocks. */
export function drawLogicLane(pen: Pen, row: LaneRow<LogicLane>): Shape {
  const { view, palette } = pen;
  const { lane, y } = row;
  const { line, fill, blocks } = steps(pen, lane, y);
  const stroke = lane.kind === 'sensor' ? palette.sensorLine : palette.logicLine;
  const width = lane.kind === 'element' ? 1 : 1.5;
  const first = firstAtOrAfter(lane.edges, view.from);
  const shown = lane.edges
    .slice(first, first + 200)
    .filter((e) => e.preset > 0 && e.t - e.response - e.preset <= view.to);
  return shape('g', lane.id, { 'data-lane': lane.id }, [
    fill !== '' && shape('path', 'on', { d: fill, fill: palette.on }),
    ...shown.map((e) => running(pen, lane, e, y)),
    shape('path', 'line', { d: line, fill: 'none', stroke, 'stroke-width': width, 'stroke-linejoin': 'round' }),
    blocks !== '' && shape('path', 'crowd', { d: blocks, fill: stroke, 'fill-opacity': 0.45 }),
  ]);
}

function steps(pen: Pen, lane: LogicLane, y: number): { line: string; fill: string; blocks: string } {
  const { view, layout } = pen;
  const { edges } = lane;
  const [high, low] = [y + HIGH, y + LOW];
  let k = firstAtOrAfter(edges, view.from);
  let value = k === 0 ? lane.initial : edges[k - 1]!.kind === 'on';
  let at = layout.x0;
  const points: [number, number][] = [[at, value ? high : low]];
  const box = (from: number, to: number) => `M${round2(from)} ${high}H${round2(to)}V${low}H${round2(from)}Z`;
  let [fill, blocks] = ['', ''];
  for (; k < edges.length && edges[k]!.t <= view.to; k++) {
    const x = layout.x(edges[k]!.t);
    const end = crowdEnd(pen, edges, k);
    if (value) fill += box(at, x);
    if (end > k + 3) {
      const until = layout.x(edges[end - 1]!.t);
      blocks += box(x, Math.max(x + 1, until));
      value = edges[end - 1]!.kind === 'on';
      points.push([x, points[points.length - 1]![1]], [x, low], [until, low], [until, value ? high : low]);
      at = until;
      k = end - 1;
      continue;
    }
    value = edges[k]!.kind === 'on';
    points.push([x, points[points.length - 1]![1]], [x, value ? high : low]);
    at = x;
  }
  if (value) fill += box(at, layout.x1);
  points.push([layout.x1, value ? high : low]);
  return { line: pathOf(points), fill, blocks };
}

/** Index after the run of changes, from `first` on, that each follow the one before by less than a pixel or two. */
function crowdEnd(pen: Pen, edges: readonly TimingEdge[], first: number): number {
  const { x } = pen.layout;
  let end = first + 1;
  while (end < edges.length && edges[end]!.t <= pen.view.to && x(edges[end]!.t) - x(edges[end - 1]!.t) < CROWDED) end++;
  return end;
}

/** A timer running: a dotted arrow through its lane over its preset, with the preset in it where there is room. */
function running(pen: Pen, lane: LogicLane, edge: TimingEdge, y: number): Shape {
  const { layout, palette } = pen;
  const [from, to] = [near(pen, edge.t - edge.response - edge.preset), near(pen, edge.t - edge.response)];
  const middle = y + (HIGH + LOW) / 2;
  const text = `${lane.detail.split(' ')[0]} ${timeText(edge.preset)}`;
  const half = textWidth(text, SIZES.tick) / 2 + 4;
  const [left, right] = [Math.max(layout.x0, from), Math.min(layout.x1, to)];
  const centre = (left + right) / 2;
  const fits = right - left > 2 * half + 14;
  const attributes = { y: middle + 3.5, 'text-anchor': 'middle', 'font-size': SIZES.tick, fill: palette.ink };
  const dotted = { y1: middle, y2: middle, stroke: palette.muted, 'stroke-width': 1, 'stroke-dasharray': '1.5 2.5' };
  return shape('g', `run:${edge.id}`, {}, [
    shape('line', 'run', { ...dotted, x1: from, x2: fits ? centre - half : to }),
    fits && shape('line', 'run2', { ...dotted, x1: centre + half, x2: to }),
    shape('path', 'end', { d: chevron(to, middle, 1), fill: 'none', stroke: palette.muted, 'stroke-width': 1 }),
    fits && textShape('text', 'preset', { ...attributes, x: centre }, text),
  ]);
}
