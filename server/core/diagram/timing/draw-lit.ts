/** What is drawn over the lanes temporarily: the lit lane, the chain of causes, the time cursor, a second variant. */
import { shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import { type KnownTo, momentText, signedTime } from '../kit/time-text';
import { chainOf } from './causes';
import { near, pathOf, type Pen } from './pen';
import { SIZES, type LaneRow } from './layout';
import type { Lane, TimingEdge, TimingModel } from './model';

/** Ground of the lit lane. */
export function drawLitLane(pen: Pen): Shape {
  const { layout, view, palette } = pen;
  const row = [...layout.doors, ...layout.logic].find((r) => r.lane.id === view.litLane);
  if (!row) return shape('g', 'lit-lane');
  const ground = { x: 2, y: row.y, width: layout.width - 4, height: row.height, rx: 3 };
  return shape('g', 'lit-lane', {}, [
    shape('rect', 'ground', { ...ground, fill: palette.lit, 'fill-opacity': 0.28 }),
    shape('rect', 'bar', { ...ground, width: 3, rx: 1, fill: palette.cursor }),
  ]);
}

/** Where a chain runs in a lane: through the middle of a door, along the foot of a step line. */
function rowMiddle(pen: Pen, lane: string): number | null {
  const row = [...pen.layout.doors, ...pen.layout.logic].find((r) => r.lane.id === lane);
  if (!row) return null;
  return row.lane.kind === 'door' ? row.y + row.height / 2 : row.y + row.height - 6;
}

/** The chain of causes of the lit edge: down or up to each lane, then along it for as long as that step takes. */
export function drawChain(model: TimingModel, pen: Pen): Shape {
  const { view, palette } = pen;
  if (!view.litEdge) return shape('g', 'chain');
  const chain = chainOf(model.lanes, view.litEdge);
  const corners: [number, number][] = [];
  for (const edge of chain) {
    const y = rowMiddle(pen, edge.lane);
    if (y === null) continue;
    const last = corners[corners.length - 1];
    if (last && last[1] !== y) corners.push([last[0], y]);
    corners.push([near(pen, edge.t), y]);
  }
  if (corners.length === 0) return shape('g', 'chain');
  const d = pathOf(corners);
  const line = { d, fill: 'none', 'stroke-linejoin': 'round', 'stroke-linecap': 'round' };
  return shape('g', 'chain', {}, [
    shape('path', 'halo', { ...line, stroke: palette.lit, 'stroke-width': 8, 'stroke-opacity': 0.85 }),
    shape('path', 'line', { ...line, stroke: palette.ink, 'stroke-width': 1.5 }),
    ...(corners.length > 0 ? chain.map((edge) => chainDot(pen, edge)) : []),
  ]);
}

function chainDot(pen: Pen, edge: TimingEdge): Shape | null {
  const y = rowMiddle(pen, edge.lane);
  if (y === null) return null;
  return shape('circle', `dot:${edge.id}`, {
    cx: near(pen, edge.t),
    cy: y,
    r: 3,
    fill: pen.palette.background,
    stroke: pen.palette.ink,
    'stroke-width': 1.5,
  });
}

/** The time cursor through all lanes, and the second one. */
export function drawCursor(pen: Pen): Shape {
  const { view } = pen;
  return shape('g', 'cursors', {}, [
    cursorLine(pen, 'cursor', view.time ?? null, ''),
    cursorLine(pen, 'mark', view.mark ?? null, '4 3'),
  ]);
}

function cursorLine(pen: Pen, key: string, t: number | null, dash: string): Shape | null {
  const { layout, view, palette } = pen;
  if (t === null || t < view.from || t > view.to) return null;
  const x = layout.x(t);
  return shape('g', key, {}, [
    shape('line', 'line', {
      x1: x,
      x2: x,
      y1: 0,
      y2: layout.lanesEnd + 5,
      stroke: palette.cursor,
      'stroke-width': 1.5,
      ...(dash === '' ? {} : { 'stroke-dasharray': dash }),
    }),
  ]);
}

/** Flags of both cursors on the ruler; that of the first tells the difference, where there is a second one. */
export function drawCursorFlag(pen: Pen, known: KnownTo): Shape {
  const { time = null, mark = null } = pen.view;
  const away = time !== null && mark !== null ? ` (${signedTime(time - mark, known)})` : '';
  return shape('g', 'flags', {}, [
    mark === null ? null : flag(pen, 'mark', mark, momentText(mark, known)),
    time === null ? null : flag(pen, 'flag', time, `${momentText(time, known)}${away}`),
  ]);
}

function flag(pen: Pen, key: string, t: number, text: string): Shape | null {
  const { layout, view, palette } = pen;
  if (t < view.from || t > view.to) return null;
  const [x, base] = [layout.x(t), layout.rulerHeight];
  const half = textWidth(text, SIZES.label) / 2 + 6;
  const centre = Math.max(layout.x0 + half - 10, Math.min(layout.x1 - half + 14, x));
  const second = key === 'mark';
  const box = { x: centre - half, y: base - 24, width: 2 * half, height: 17, rx: 3 };
  return shape('g', key, { 'data-cursor': key }, [
    shape('line', 'line', { x1: x, x2: x, y1: base - 8, y2: base, stroke: palette.cursor, 'stroke-width': 1.5 }),
    shape('rect', 'box', {
      ...box,
      fill: second ? palette.background : palette.cursor,
      stroke: palette.cursor,
      'stroke-width': 1,
    }),
    textShape(
      'text',
      'time',
      {
        x: centre,
        y: base - 11.5,
        'text-anchor': 'middle',
        'font-size': SIZES.label,
        'font-weight': 600,
        fill: second ? palette.cursor : palette.background,
      },
      text,
    ),
  ]);
}

/** Lanes of the second variant as dashed outlines over those of the same id. */
export function drawSecond(pen: Pen, outlineOf: (lane: Lane, row: LaneRow) => string): Shape {
  const { layout, view, palette } = pen;
  const second = view.second;
  if (!second) return shape('g', 'second');
  const rows = [...layout.doors, ...layout.logic];
  const drawn = rows.map((row) => {
    const lane = second.lanes.find((l) => l.id === row.lane.id);
    if (!lane) return null;
    const d = outlineOf(lane, row);
    return shape('path', lane.id, {
      d,
      fill: 'none',
      stroke: palette.second,
      'stroke-width': lane.kind === 'door' ? 2 : 1.25,
      'stroke-dasharray': '5 3',
    });
  });
  return shape('g', 'second', {}, drawn);
}
