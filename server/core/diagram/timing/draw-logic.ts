/** Logic lanes as shapes: thin steps, timers running out. What is closer than a pixel or two is drawn as a block. */
import { round2, shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import { timeText } from '../kit/time-text';
import { chevron, firstAtOrAfter, near, pathOf, type Pen } from './pen';
import { SIZES, type LaneRow } from './layout';
import type { LogicLane, TimingEdge } from './model';

/** Closer than this (px), changes run together into one block. */
const CROWDED = 1.5;
/** Shorter than this (px), the arrow of a running timer is nothing but its head. */
const SHORTEST_ARROW = 8;

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
  const { x } = pen.layout;
  const shown = lane.edges
    .slice(first)
    .filter((e) => e.preset > 0 && e.t - e.response - e.preset <= view.to && x(e.preset) - x(0) >= SHORTEST_ARROW)
    .slice(0, 200);
  return shape('g', lane.id, { 'data-lane': lane.id }, [
    fill !== '' && shape('path', 'on', { d: fill, fill: palette.on }),
    ...shown.map((e) => running(pen, lane, e, y)),
    shape('path', 'line', { d: line, fill: 'none', stroke, 'stroke-width': width, 'stroke-linejoin': 'round' }),
    blocks !== '' && shape('path', 'crowd', { d: blocks, fill: stroke, 'fill-opacity': 0.45 }),
  ]);
}

/** Step line of a lane, for a second variant. */
export function logicOutline(pen: Pen, lane: LogicLane, row: LaneRow): string {
  return steps(pen, lane, row.y).line;
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

/** Room beside a timer that runs, on the side on which its signal is off: before one that turns it on, behind one that turns it off; px. */
function roomBeside({ layout }: Pen, { edges }: LogicLane, edge: TimingEdge, from: number, to: number): number {
  const at = edges.findIndex((e) => e.id === edge.id);
  const begins = (e: TimingEdge): number => layout.x(e.t - (e.preset > 0 ? e.response + e.preset : 0));
  if (edge.kind === 'off') return Math.min(layout.x1, at + 1 < edges.length ? begins(edges[at + 1]!) : Infinity) - to;
  return from - Math.max(layout.x0, at > 0 ? layout.x(edges[at - 1]!.t) : -Infinity);
}

/** A timer running: a dotted arrow through its lane over its preset, with the preset in it or else beside it where there is room. */
function running(pen: Pen, lane: LogicLane, edge: TimingEdge, y: number): Shape {
  const { layout, palette } = pen;
  const [from, to] = [near(pen, edge.t - edge.response - edge.preset), near(pen, edge.t - edge.response)];
  const middle = y + (HIGH + LOW) / 2;
  const text = `${lane.detail.split(' ')[0]} ${timeText(edge.preset)}`;
  const half = textWidth(text, SIZES.tick) / 2 + 4;
  const [left, right] = [Math.max(layout.x0, from), Math.min(layout.x1, to)];
  const centre = (left + right) / 2;
  const fits = right - left > 2 * half + 14;
  const beside = !fits && 2 * half + 8 < roomBeside(pen, lane, edge, from, to);
  const [x, anchor] = fits ? [centre, 'middle'] : edge.kind === 'off' ? [to + 6, 'start'] : [from - 6, 'end'];
  const attributes = { x, y: middle + 3.5, 'text-anchor': anchor, 'font-size': SIZES.tick, fill: palette.ink };
  const dotted = { y1: middle, y2: middle, stroke: palette.muted, 'stroke-width': 1, 'stroke-dasharray': '1.5 2.5' };
  return shape('g', `run:${edge.id}`, {}, [
    shape('line', 'run', { ...dotted, x1: from, x2: fits ? centre - half : to }),
    fits && shape('line', 'run2', { ...dotted, x1: centre + half, x2: to }),
    shape('path', 'end', { d: chevron(to, middle, 1), fill: 'none', stroke: palette.muted, 'stroke-width': 1 }),
    (fits || beside) && textShape('text', 'preset', attributes, text),
  ]);
}
