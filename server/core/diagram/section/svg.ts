/** The section as shapes at one moment: chambers with what they hold, doors as leaves that draw back to both sides. */
import { paletteOf, type Look, type Palette } from '../kit/palette';
import { round2, shape, textShape, type Figure, type Shape } from '../kit/shape';
import { lastAt } from '../../model/motion';
import { positionAt } from '../kit/state';
import { layoutSection, type SectionBox, type SectionLayout, type SectionNeck } from './layout';
import type { Contents, SectionChamber, SectionDoor, SectionModel } from './model';
import { formatSi } from '../../units/units';
import type { TimingModel } from '../timing/model';
import { timeText } from '../kit/time-text';
import { say } from '../../words/say';
import { flowAt, pocketAt, type SectionFlow } from './stroke-flows';

export interface SectionView {
  readonly look: Look;
  /** Where the doors are over time. */
  readonly timing: TimingModel;
  /** What chambers hold, where that is known. */
  readonly contents?: readonly Contents[];
  /** What flows, and pressures of pockets, where that is known. */
  readonly flow?: SectionFlow | null;
  /** Microseconds of the timing model. */
  readonly time: number;
  readonly purpose: 'file' | 'page';
}

interface Brush {
  readonly view: SectionView;
  readonly palette: Palette;
}

/** The stack at a moment. */
export function drawSection(model: SectionModel, view: SectionView): Figure {
  const layout = layoutSection(model);
  const palette = paletteOf(view.look);
  const brush: Brush = { view, palette };
  const shapes = [
    // All walls first: necks that meet open into each other.
    ...layout.necks.map((neck) => neckPath(neck, 'wall', palette.ink, neck.width + 3)),
    ...layout.necks.map((neck) => neckPath(neck, 'inside', inside(palette), neck.width)),
    ...layout.boxes.map((box) =>
      box.member.kind === 'chamber' ? drawChamber(brush, box, box.member) : drawDoor(brush, box, box.member),
    ),
    ...layout.necks.map((neck) => drawFlow(brush, neck)),
    ...layout.boxes.map((box) => drawLabel(brush, box)),
    drawScaleBar(brush, layout),
    drawEnd(brush, layout),
  ];
  return {
    width: layout.width,
    height: layout.height,
    shapes: [shape('g', 'section', { 'font-family': palette.fontFamily }, shapes)],
  };
}

function target(brush: Brush, box: SectionBox, words: string) {
  if (brush.view.purpose === 'file') return { 'data-id': box.member.id };
  return { 'data-id': box.member.id, role: 'button', tabindex: -1, 'aria-label': `${box.member.name}: ${words}` };
}

// ---------------------------------------------------------------- necks

/** From the foot of one member to the head of the next; bent where they do not stand in one line. */
function neckPath(neck: SectionNeck, part: 'wall' | 'inside', stroke: string, width: number): Shape {
  const { from, to } = neck;
  const [x1, y1] = [round2(from.x + from.width / 2), round2(from.y + from.height - 1)];
  const [x2, y2] = [round2(to.x + to.width / 2), round2(to.y + 1)];
  const d = x1 === x2 ? `M${x1} ${y1}V${y2}` : `M${x1} ${y1}V${round2((y1 + y2) / 2)}H${x2}V${y2}`;
  return shape('path', `${part}:${neck.id}`, { d, fill: 'none', stroke, 'stroke-width': width });
}

/** Ground of what is inside walls. */
function inside(palette: Palette): string {
  return palette.lane === 'none' ? palette.background : palette.lane;
}

// ---------------------------------------------------------------- chambers

function drawChamber(brush: Brush, box: SectionBox, chamber: SectionChamber): Shape {
  const { palette } = brush;
  const outline = { x: box.x, y: box.y, width: box.width, height: box.height, rx: 4 };
  const dashes = box.toScale ? undefined : '5 3';
  const contents = contentsOf(brush, chamber);
  const value = contents ? contentsAt(contents, brush.view.time) : null;
  const words = [chamber.detail, value ?? ''].filter((w) => w !== '').join(`, ${say`now`} `);
  return shape('g', chamber.id, target(brush, box, words), [
    textShape('title', 'title', {}, `${chamber.name}: ${words}`),
    shape('rect', 'inside', { ...outline, fill: inside(palette) }),
    contents ? shade(brush, box, contents) : null,
    shape('rect', 'wall', {
      ...outline,
      fill: 'none',
      stroke: palette.ink,
      'stroke-width': 2,
      'stroke-dasharray': dashes,
    }),
  ]);
}

function contentsOf(brush: Brush, chamber: SectionChamber): Contents | undefined {
  return brush.view.contents?.find((c) => c.chamber === chamber.id);
}

/** Value at a moment, linear between points; null before the first one. */
export function valueOf(contents: Contents, t: number): number | null {
  const k = lastAt(contents.points, t);
  if (k < 0) return null;
  const [here, next] = [contents.points[k]!, contents.points[k + 1]];
  if (!next || next.t === here.t) return here.value;
  return here.value + ((next.value - here.value) * (t - here.t)) / (next.t - here.t);
}

function contentsAt(contents: Contents, t: number): string | null {
  const value = valueOf(contents, t);
  return value === null ? null : `${Number(value.toPrecision(4))} ${contents.unit}`;
}

/** A gas by how dark the whole chamber is, a liquid by how high it stands. */
function shade(brush: Brush, box: SectionBox, contents: Contents): Shape | null {
  const value = valueOf(contents, brush.view.time);
  if (value === null) return null;
  const part = Math.max(0, Math.min(1, contents.full > 0 ? value / contents.full : 0));
  const fill = brush.palette.contents;
  if (contents.kind !== 'level') {
    return shape('rect', 'contents', {
      x: box.x,
      y: box.y,
      width: box.width,
      height: box.height,
      rx: 4,
      fill,
      'fill-opacity': 0.08 + 0.72 * part,
    });
  }
  const height = box.height * part;
  const top = box.y + box.height - height;
  return shape('g', 'contents', {}, [
    shape('rect', 'liquid', { x: box.x, y: top, width: box.width, height, fill, 'fill-opacity': 0.55 }),
    shape('line', 'surface', { x1: box.x, x2: box.x + box.width, y1: top, y2: top, stroke: fill, 'stroke-width': 2 }),
  ]);
}

// ---------------------------------------------------------------- doors

function positionOf(brush: Brush, door: SectionDoor): number {
  const lane = brush.view.timing.lanes.find((l) => l.id === door.id);
  return lane?.kind === 'door' ? positionAt(lane.points, brush.view.time) : 0;
}

/** State words as the table has them. */
function doorState(position: number): string {
  if (position === 0) return say`shut`;
  return position === 1 ? say`fully open` : say`${Math.round(position * 100)} % open`;
}

function drawDoor(brush: Brush, box: SectionBox, door: SectionDoor): Shape {
  const { palette } = brush;
  const position = positionOf(brush, door);
  const { x, y, width, height } = box;
  const open = width * position;
  const leaf = width / 2;
  const [left, right] = [x + width / 2 - open / 2 - leaf, x + width / 2 + open / 2];
  const leafLook = {
    y: y + 2,
    width: leaf,
    height: height - 4,
    fill: palette.on,
    stroke: palette.ink,
    'stroke-width': 1.25,
  };
  const housing = {
    x: x - leaf,
    y,
    width: width * 2,
    height,
    rx: 3,
    fill: palette.lane === 'none' ? 'none' : palette.lane,
    stroke: palette.muted,
    'stroke-width': 1,
  };
  return shape('g', door.id, target(brush, box, doorState(position)), [
    textShape('title', 'title', {}, `${door.name}: ${doorState(position)}`),
    shape('rect', 'housing', { ...housing, 'stroke-dasharray': box.toScale ? undefined : '5 3' }),
    position > 0 && shape('rect', 'open', { x: x + width / 2 - open / 2, y, width: open, height, fill: palette.door }),
    shape('rect', 'left', { ...leafLook, x: left }),
    shape('rect', 'right', { ...leafLook, x: right }),
    ...seats(brush, box, position),
  ]);
}

/** The seat across the bore, over and under a shut door: the second cue besides the leaves. */
function seats(brush: Brush, box: SectionBox, position: number): Shape[] {
  const middle = box.x + box.width / 2;
  const half = (box.bore + 3) / 2;
  const shut = position === 0;
  const line = {
    x1: middle - half,
    x2: middle + half,
    stroke: shut ? brush.palette.ink : brush.palette.muted,
    'stroke-width': shut ? 3 : 1,
    'stroke-dasharray': shut ? undefined : '2 3',
  };
  return [
    shape('line', 'seat', { ...line, y1: box.y, y2: box.y }),
    shape('line', 'foot', { ...line, y1: box.y + box.height, y2: box.y + box.height }),
  ];
}

// ---------------------------------------------------------------- flow

/** An arrow in a neck, the way the medium goes, larger where more does; nothing where nothing flows or that is not known. */
function drawFlow({ view, palette }: Brush, { id, from, to, width }: SectionNeck): Shape | null {
  const { flow } = view;
  const now = flow ? flowAt(flow, from.member.id, to.member.id, view.time) : null;
  if (!flow || now === null || now === 0) return null;
  const part = Math.sqrt(Math.abs(now) / flow.most);
  const half = Math.max(4, Math.min(9, (0.3 + 0.7 * part) * Math.max(10, width / 2)));
  // At the door: a neck may be bent, and several may meet at a chamber.
  const isAbove = to.member.kind === 'door';
  const x = isAbove ? to.x + to.width / 2 : from.x + from.width / 2;
  const y = isAbove ? to.y - half - 1 : from.y + from.height + half + 1;
  const [tip, tail] = now > 0 ? [y + half, y - half] : [y - half, y + half];
  const d = `M${round2(x - half)} ${round2(tail)}H${round2(x + half)}L${round2(x)} ${round2(tip)}Z`;
  const way =
    now > 0 ? say`${from.member.name} into ${to.member.name}` : say`${to.member.name} back into ${from.member.name}`;
  const words = `${way}: ${formatSi(Math.abs(now), 'mass_flow')}`;
  return shape('g', `flow:${id}`, { 'data-flow': now > 0 ? 'down' : 'up' }, [
    textShape('title', 'title', {}, words),
    shape('path', 'arrow', { d, fill: palette.contents, stroke: palette.ink, 'stroke-width': 1 }),
  ]);
}

// ---------------------------------------------------------------- words

function drawLabel(brush: Brush, box: SectionBox): Shape {
  const { palette, view } = brush;
  const { member } = box;
  const y = box.y + box.height / 2;
  const contents = member.kind === 'chamber' ? contentsOf(brush, member) : undefined;
  const held = contents ? (contentsAt(contents, view.time) ?? '') : '';
  const state =
    member.kind === 'door'
      ? [doorState(positionOf(brush, member)), pocketText(view, member.id)].filter((w) => w !== '').join(', ')
      : held;
  const name = { 'font-size': 13, 'font-weight': 600 };
  return shape('g', `label:${member.id}`, { 'data-id': member.id }, [
    shape('text', 'name', { x: box.labelX, y: y - 4, fill: palette.ink }, [
      textShape('tspan', 'name', name, member.name),
      state !== '' && textShape('tspan', 'state', { dx: 6, 'font-size': 12 }, state),
    ]),
    textShape('text', 'detail', { x: box.labelX, y: y + 11, 'font-size': 10.5, fill: palette.muted }, member.detail),
  ]);
}

function pocketText({ flow, time }: SectionView, door: string): string {
  const value = flow ? pocketAt(flow, door, time) : null;
  return value === null ? '' : `${Number(value.toPrecision(4))} bar`;
}

const BARS = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100];

/** A bar of round length, and what the shapes mean. */
function drawScaleBar(brush: Brush, layout: SectionLayout): Shape {
  const { ink, muted } = brush.palette;
  const length = [...BARS].reverse().find((b) => b * layout.scale <= 140) ?? BARS[0]!;
  const [x, y, width] = [24, layout.height - 26, length * layout.scale];
  const words = length < 1 ? `${length * 1000} mm` : `${length} m`;
  const d = `M${x} ${y - 4}V${y + 4}M${x} ${y}H${round2(x + width)}M${round2(x + width)} ${y - 4}V${y + 4}`;
  const note = layout.boxes.every((b) => b.toScale) ? say`volumes and bores to scale` : say`dashed: not to scale`;
  return shape('g', 'scale', {}, [
    shape('path', 'bar', { d, fill: 'none', stroke: ink, 'stroke-width': 1.25 }),
    textShape('text', 'length', { x: x + width + 8, y: y + 4, 'font-size': 10.5, fill: ink }, words),
    textShape('text', 'note', { x, y: y + 19, 'font-size': 10.5, fill: muted }, note),
  ]);
}

/** Of a long run only the beginning is kept: then nothing is drawn of what flows, and that is said. */
function drawEnd({ view, palette }: Brush, layout: SectionLayout): Shape | null {
  const ends = view.flow?.ends ?? null;
  if (ends === null || view.time <= ends) return null;
  const words = say`what flows is kept up to ${timeText(ends)}`;
  const place = { x: 24, y: layout.height - 40, 'font-size': 10.5, fill: palette.muted };
  return textShape('text', 'flow-ends', place, words);
}
