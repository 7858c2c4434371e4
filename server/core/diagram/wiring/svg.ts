/** The wiring as shapes at one moment: elements as plates, wires heavy while they are on, feedback dashed. */
import { paletteOf, type Look, type Palette } from '../kit/palette';
import { round2, shape, textShape, type Figure, type Shape } from '../kit/shape';
import { valueAt } from '../kit/state';
import { fitText } from '../kit/text-width';
import type { TimingModel } from '../timing/model';
import { DETAIL_SIZE, NAME_SIZE, type Direction, type PlacedEdge, type PlacedNode, type PlacedWiring } from './layout';
import { say } from '../../words/say';

export interface WiringView {
  readonly look: Look;
  /** What is on over time. */
  readonly timing: TimingModel;
  /** Microseconds of the timing model. */
  readonly time: number;
  readonly purpose: 'file' | 'page';
}

interface Brush {
  readonly view: WiringView;
  readonly palette: Palette;
  readonly isOn: (net: number) => boolean;
  readonly direction: Direction;
}

/** The network at a moment. */
export function drawWiring(model: PlacedWiring, view: WiringView): Figure {
  const palette = paletteOf(view.look);
  const on = netsOn(view.timing, view.time);
  const isOn = (net: number) => on.has(net);
  const brush: Brush = { view, palette, isOn, direction: model.direction };
  const shapes = [
    ...model.edges.filter((e) => !isOn(e.net)).map((e) => drawWire(brush, e)),
    ...model.edges.filter((e) => isOn(e.net)).map((e) => drawWire(brush, e)),
    ...model.nodes.map((n) => drawNode(brush, n)),
    drawLegend(brush, model),
  ];
  const font = { 'font-family': palette.fontFamily };
  return { width: model.width, height: model.height + 24, shapes: [shape('g', 'wiring', font, shapes)] };
}

/** Nets that are on at a moment. */
function netsOn(timing: TimingModel, time: number): Set<number> {
  const on = new Set<number>();
  for (const lane of timing.lanes) if (lane.kind !== 'door' && valueAt(lane, time)) on.add(lane.net);
  return on;
}

// ---------------------------------------------------------------- wires

/** Rounded corners of this radius, px. */
const RADIUS = 7;

/** A line through corner points with rounded corners. */
export function roundedPath(points: readonly { x: number; y: number }[]): string {
  const [first, ...rest] = points;
  if (!first) return '';
  let d = `M${round2(first.x)} ${round2(first.y)}`;
  rest.forEach((point, k) => {
    const [before, after] = [points[k]!, points[k + 2]];
    if (!after) {
      d += `L${round2(point.x)} ${round2(point.y)}`;
      return;
    }
    const a = towards(point, before);
    const b = towards(point, after);
    d += `L${round2(a.x)} ${round2(a.y)}Q${round2(point.x)} ${round2(point.y)} ${round2(b.x)} ${round2(b.y)}`;
  });
  return d;
}

function towards(from: { x: number; y: number }, to: { x: number; y: number }): { x: number; y: number } {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  const part = length === 0 ? 0 : Math.min(RADIUS, length / 2) / length;
  return { x: from.x + (to.x - from.x) * part, y: from.y + (to.y - from.y) * part };
}

function drawWire(brush: Brush, edge: PlacedEdge): Shape {
  const { palette } = brush;
  const on = brush.isOn(edge.net);
  const end = edge.points[edge.points.length - 1]!;
  const stroke = on ? palette.doorLine : palette.muted;
  const line = {
    d: roundedPath(edge.points),
    fill: 'none',
    stroke,
    'stroke-width': on ? 2.75 : 1.1,
    'stroke-dasharray': edge.feedback ? '6 4' : undefined,
  };
  const [ux, uy] = brush.direction === 'right' ? [1, 0] : [0, 1];
  /** A point `back` px before the end of the wire, `aside` px beside it. */
  const at = (back: number, aside: number): string =>
    `${round2(end.x - ux * back + uy * aside)} ${round2(end.y - uy * back + ux * aside)}`;
  const tip = `M${at(7, -3.5)}L${at(0.5, 0)}L${at(7, 3.5)}Z`;
  const bubble = {
    cx: end.x - ux * 4,
    cy: end.y - uy * 4,
    r: 3.5,
    fill: palette.background,
    stroke,
    'stroke-width': 1.5,
  };
  return shape('g', edge.id, {}, [
    shape('path', 'line', line),
    edge.inverted ? shape('circle', 'not', bubble) : shape('path', 'tip', { d: tip, fill: stroke }),
  ]);
}

// ---------------------------------------------------------------- nodes

function drawNode(brush: Brush, node: PlacedNode): Shape {
  const { palette, view } = brush;
  const on = node.net >= 0 && brush.isOn(node.net);
  const [left, top] = [node.x - node.width / 2, node.y - node.height / 2];
  const words = `${node.name} ${node.detail}: ${on ? say`on` : say`off`}`;
  const focus = view.purpose === 'page' ? { role: 'button', tabindex: -1, 'aria-label': words } : {};
  const room = node.width - 24;
  // Readers of pages join the texts of a plate to one.
  const gap = view.purpose === 'page' ? ' ' : '';
  return shape('g', node.id, { 'data-id': node.id, ...focus }, [
    textShape('title', 'title', {}, words),
    plate(brush, node, left, top, on),
    textShape(
      'text',
      'name',
      { x: left + 16, y: node.y - 3, 'font-size': NAME_SIZE, 'font-weight': 600, fill: palette.ink },
      fitText(node.name, NAME_SIZE * 1.06, room) + gap,
    ),
    textShape(
      'text',
      'detail',
      { x: left + 16, y: node.y + 12, 'font-size': DETAIL_SIZE, fill: on ? palette.ink : palette.muted },
      fitText(node.detail, DETAIL_SIZE, room),
    ),
    lamp(brush, node, left, on),
  ]);
}

/** Inputs are rounded, what is driven is heavy-walled, elements are plain plates. */
function plate(brush: Brush, node: PlacedNode, left: number, top: number, on: boolean): Shape {
  const { palette } = brush;
  const input = node.kind === 'sensor' || node.kind === 'switch';
  const driven = node.kind === 'door' || node.kind === 'line';
  return shape('rect', 'plate', {
    x: left,
    y: top,
    width: node.width,
    height: node.height,
    rx: input ? node.height / 2 : 4,
    fill: on ? palette.door : palette.background,
    stroke: node.kind === 'sensor' ? palette.sensorLine : on ? palette.doorLine : palette.muted,
    'stroke-width': driven ? 2.5 : 1.5,
  });
}

/** On or off by a filled or an empty mark as well. */
function lamp(brush: Brush, node: PlacedNode, left: number, on: boolean): Shape {
  const { palette } = brush;
  return shape('circle', 'lamp', {
    cx: left + 9,
    cy: node.y - 7,
    r: 3,
    fill: on ? palette.ink : 'none',
    stroke: palette.ink,
    'stroke-width': 1,
  });
}

function drawLegend(brush: Brush, model: PlacedWiring): Shape {
  const { palette } = brush;
  const feedback = model.edges.some((e) => e.feedback) ? ` · ${say`dashed: feedback`}` : '';
  const inverted = model.edges.some((e) => e.inverted) ? ` · ${say`ring: read in the negative`}` : '';
  const text = `${say`heavy: on`}${feedback}${inverted}`;
  return textShape(
    'text',
    'legend',
    { x: 20, y: model.height + 10, 'font-size': DETAIL_SIZE, fill: palette.muted },
    text,
  );
}
