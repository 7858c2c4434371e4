/** The timing diagram: model and view → shapes, and SVG text for files, Markdown and other programs. */
import { paletteOf, type Look } from '../kit/palette';
import { renderShape, shape, textShape, type Shape } from '../kit/shape';
import { fitText, textWidth } from '../kit/text-width';
import { momentText } from '../kit/time-text';
import { becauseText } from './causes';
import { doorOutline, drawDoorGround, drawDoorLane, drawDwells } from './draw-doors';
import { drawLogicLane, logicOutline } from './draw-logic';
import { drawHand } from './draw-hand';
import { laneLabel } from './draw-labels';
import { firstAtOrAfter, plotId, type Pen } from './pen';
import { drawChain, drawCursor, drawCursorFlag, drawLitLane, drawSecond } from './draw-lit';
import { drawBands, drawMarkGrounds, drawMarks, patterns } from './draw-marks';
import { drawReadings } from './draw-readings';
import { drawRuler, drawScale, drawUnknown, placedLabels } from './draw-ruler';
import {
  inSight,
  layoutTiming,
  SIZES,
  type LaneRow,
  type MeasuredEdge,
  type TimingLayout,
  type TimingView,
} from './layout';
import type { TimingModel } from './model';
import { say } from '../../words/say';

export interface TimingPicture {
  readonly layout: TimingLayout;
  /** Patterns and clip paths that ruler and body refer to. */
  readonly defs: Shape;
  /** Origin at its own top left; `layout.rulerHeight` high. */
  readonly ruler: Shape;
  /** Origin at its own top left; `layout.bodyHeight` high. */
  readonly body: Shape;
}

/** Ruler and body of a timing diagram as shapes; the preview places and patches them, files put them under each other. */
export function drawTiming(model: TimingModel, view: TimingView): TimingPicture {
  const layout = layoutTiming(model, view);
  const pen: Pen = { layout, view, palette: paletteOf(view.look) };
  const font = { 'font-family': pen.palette.fontFamily };
  return {
    layout,
    defs: drawDefs(pen),
    ruler: shape('g', 'ruler-part', font, [drawRuler(model, pen), drawCursorFlag(pen, model)]),
    body: shape('g', 'body-part', font, bodyParts(model, pen)),
  };
}

function drawDefs(pen: Pen): Shape {
  const { layout, view } = pen;
  const rect = { x: layout.x0, y: 0, width: layout.x1 - layout.x0, height: layout.bodyHeight };
  const clip = shape('clipPath', 'clip', { id: plotId(view) }, [shape('rect', 'rect', rect)]);
  return shape('defs', 'defs', {}, [...patterns(pen), clip]);
}

function bodyParts(model: TimingModel, pen: Pen): Shape[] {
  const { layout, view } = pen;
  const doors = layout.doors.filter((r) => inSight(r, view));
  const logic = layout.logic.filter((r) => inSight(r, view));
  const plot = { 'clip-path': `url(#${plotId(view)})` };
  return [
    shape(
      'g',
      'door-grounds',
      {},
      doors.map((row) => drawDoorGround(pen, row)),
    ),
    drawLitLane(pen),
    drawScale(pen),
    shape(
      'g',
      'labels',
      {},
      [...doors, ...logic].map((row) => laneLabel(pen, row)),
    ),
    shape('g', 'plot', plot, [
      ...doors.map((row) => drawDoorLane(pen, row)),
      ...logic.map((row) => drawLogicLane(pen, row)),
      drawMarkGrounds(model, pen),
      drawSecond(pen, (lane, row) =>
        lane.kind === 'door' ? doorOutline(pen, lane, row) : logicOutline(pen, lane, row),
      ),
      drawBands(model, pen),
    ]),
    shape(
      'g',
      'dwells',
      plot,
      doors.map((row) => drawDwells(pen, row)),
    ),
    drawMarks(model, pen),
    shape('g', 'above', plot, [
      drawUnknown(model, pen),
      drawChain(model, pen),
      drawReadings(pen),
      drawCursor(pen),
      ...(view.purpose === 'page' ? [drawHand(pen), drawTargets(model, pen, [...doors, ...logic])] : []),
    ]),
  ];
}

/** More changes than this in sight: they are too close to be pointed at. */
const MOST_TARGETS = 600;

/** Invisible targets over the changes in sight, for pointer and keyboard; in order of lanes and time. */
function drawTargets(model: TimingModel, pen: Pen, rows: readonly LaneRow[]): Shape {
  const { layout, view } = pen;
  const targets: Shape[] = [];
  for (const { lane, y, height } of rows) {
    for (let k = firstAtOrAfter(lane.edges, view.from); k < lane.edges.length && lane.edges[k]!.t <= view.to; k++) {
      if (targets.length >= MOST_TARGETS) return shape('g', 'targets');
      const edge = lane.edges[k]!;
      const attributes = {
        x: layout.x(edge.t) - 5,
        y,
        width: 10,
        height,
        fill: 'transparent',
        role: 'button',
        tabindex: -1,
        'aria-label': `${momentText(edge.t, model)}: ${becauseText(model.lanes, edge.id)}`,
        'data-edge': edge.id,
      };
      targets.push(shape('rect', edge.id, attributes));
    }
  }
  return shape('g', 'targets', {}, targets);
}

// ---------------------------------------------------------------- a picture of its own

export interface TimingSvgOptions {
  readonly look?: Look;
  /** px, default 1000 */
  readonly width?: number;
  /** Default: the model's `home`. */
  readonly range?: { readonly from: number; readonly to: number };
  /** Put before ids, default `caisson-`. Needed where several pictures stand in one document. */
  readonly idPrefix?: string;
  readonly second?: TimingModel | null;
  readonly readings?: readonly MeasuredEdge[];
}

/** The whole picture with heading, notes and legend as SVG text. */
export function renderTimingSvg(model: TimingModel, options: TimingSvgOptions = {}): string {
  return renderShape(timingFigure(model, options)) + '\n';
}

/** The same as a shape. */
export function timingFigure(model: TimingModel, options: TimingSvgOptions = {}): Shape {
  const roomy: TimingView = {
    width: options.width ?? 1000,
    ...(options.range ?? safeRange(model.home)),
    look: options.look ?? 'light',
    purpose: 'file',
    idPrefix: options.idPrefix ?? 'caisson-',
    second: options.second ?? null,
    readings: options.readings ?? [],
  };
  const view = { ...roomy, levels: usedLevels(model, roomy) };
  const { layout, defs, ruler, body } = drawTiming(model, view);
  const pen: Pen = { layout, view, palette: paletteOf(view.look) };
  const heading = drawHeading(model, pen);
  const legend = drawLegend(model, pen);
  const top = heading.height;
  const height = Math.ceil(top + layout.rulerHeight + layout.bodyHeight + legend.height);
  const root = {
    xmlns: 'http://www.w3.org/2000/svg',
    width: view.width,
    height,
    viewBox: `0 0 ${view.width} ${height}`,
    role: 'img',
    'aria-labelledby': `${view.idPrefix}title ${view.idPrefix}desc`,
    'font-family': pen.palette.fontFamily,
  };
  return shape('svg', 'svg', root, [
    textShape('title', 'title', { id: `${view.idPrefix}title` }, say`${model.title}: timing diagram`),
    textShape('desc', 'desc', { id: `${view.idPrefix}desc` }, description(model)),
    defs,
    shape('rect', 'paper', { width: view.width, height, fill: pen.palette.background }),
    heading.shape,
    shape('g', 'at-ruler', { transform: `translate(0 ${top})` }, [ruler]),
    shape('g', 'at-body', { transform: `translate(0 ${top + layout.rulerHeight})` }, [body]),
    shape('g', 'at-legend', { transform: `translate(0 ${top + layout.rulerHeight + layout.bodyHeight})` }, [
      legend.shape,
    ]),
  ]);
}

/** A still picture keeps no empty room over its ruler. */
function usedLevels(model: TimingModel, view: TimingView): number {
  const pen: Pen = { layout: layoutTiming(model, view), view, palette: paletteOf(view.look) };
  return 1 + Math.max(0, ...placedLabels(model, pen).map((l) => l.level));
}

/** A range that can be drawn: at least a microsecond wide. */
export function safeRange(range: { from: number; to: number }): { from: number; to: number } {
  return range.to > range.from ? range : { from: range.from, to: range.from + 1 };
}

/** The picture in one sentence, as its name; everything in it stands in the tables. */
export function pictureName(model: TimingModel): string {
  return say`Timing of ${model.title}: ${model.subtitle}`;
}

/** Rows of each table that go into the picture's description. */
const MOST_WORDS = 12;

/** The picture in words: what is drawn, each door's times, the relations between doors. */
export function description(model: TimingModel): string {
  const described = model.tables
    .filter((t) => !t.columns.includes(say`Because`))
    .flatMap((t) => t.rows.slice(0, MOST_WORDS).map((r) => rowWords(t.columns, r.cells)));
  return [`${model.subtitle}.`, ...described.map((words) => `${words}.`), ...model.notes].join(' ');
}

function rowWords(columns: readonly string[], cells: readonly string[]): string {
  const [first, ...others] = cells;
  // A row of one statement ("stays shut") fills no other column.
  if (others.slice(1).every((cell) => cell === '')) return `${first} ${others[0] ?? ''}`.trim();
  const filled = others.flatMap((cell, k) => (cell === '–' ? [] : [`${columns[k + 1]!.toLowerCase()} ${cell}`]));
  return [first, ...filled].join(', ');
}

function drawHeading(model: TimingModel, pen: Pen): { shape: Shape; height: number } {
  const { palette, layout } = pen;
  const room = layout.width - 24;
  const lines = [
    { text: model.title, size: 17, weight: 600, fill: palette.ink },
    { text: model.subtitle, size: 12, weight: 400, fill: palette.muted },
    ...model.notes.map((text) => ({ text, size: 12, weight: 400, fill: palette.faultLine })),
  ];
  let y = 12;
  const texts = lines.map(({ text, size, weight, fill }, k) => {
    y += Math.round(size * 1.35);
    return textShape(
      'text',
      `line${k}`,
      { x: 10, y, 'font-size': size, 'font-weight': weight, fill },
      fitText(text, size * (weight > 400 ? 1.06 : 1), room),
    );
  });
  return { shape: shape('g', 'heading', {}, texts), height: y + 12 };
}

interface Sample {
  readonly text: string;
  readonly draw: (x: number) => Shape;
}

/** Only what occurs in the picture is explained. */
function legendSamples(model: TimingModel, pen: Pen): Sample[] {
  const { palette, view } = pen;
  const box = (fill: string, stroke: string) => (x: number) =>
    shape('rect', 'box', { x, y: 3, width: 18, height: 10, rx: 1.5, fill, stroke, 'stroke-width': 1.25 });
  const stroke = (color: string, dash: string) => (x: number) =>
    shape('line', 'line', {
      x1: x,
      x2: x + 18,
      y1: 8,
      y2: 8,
      stroke: color,
      'stroke-width': 1.5,
      'stroke-dasharray': dash,
    });
  const has = (...verdicts: string[]) => model.marks.some((m) => verdicts.includes(m.verdict));
  const samples: (Sample | false)[] = [
    model.lanes.some((l) => l.kind === 'door') && {
      text: say`door: opening against time`,
      draw: box(palette.door, palette.doorLine),
    },
    has('wanted') && { text: say`overlap as wanted`, draw: box(`url(#${view.idPrefix}dots)`, palette.wantedLine) },
    (has('short', 'unstated') || model.bands.length > 0) && {
      text: say`fault`,
      draw: box(`url(#${view.idPrefix}hatch)`, palette.faultLine),
    },
    model.marks.some((m) => m.tight !== undefined) && {
      text: say`kept, little to spare`,
      draw: stroke(palette.sensorLine, ''),
    },
    model.marks.some((m) => m.verdict === 'apart' && m.tight === undefined) && {
      text: say`gap kept`,
      draw: stroke(palette.ink, ''),
    },
    model.lanes.some((l) => l.edges.some((e) => e.preset > 0)) && {
      text: say`timer running`,
      draw: stroke(palette.muted, '1.5 2.5'),
    },
    model.lanes.some((l) => l.edges.some((e) => e.min !== null && e.min !== e.max)) && {
      text: say`soft edge: within tolerance`,
      draw: stroke(palette.doorLine, '2 2'),
    },
    !!view.second && { text: say`second variant`, draw: stroke(palette.second, '5 3') },
  ];
  return samples.filter((s): s is Sample => s !== false);
}

function drawLegend(model: TimingModel, pen: Pen): { shape: Shape; height: number } {
  const samples = legendSamples(model, pen);
  let [x, y] = [10, 0];
  const drawn = samples.map((sample, k) => {
    const width = 24 + textWidth(sample.text, SIZES.label) + 20;
    if (x > 10 && x + width > pen.layout.width - 10) [x, y] = [10, y + 18];
    const at = x;
    x += width;
    return shape('g', `sample${k}`, { transform: `translate(0 ${y})` }, [
      sample.draw(at),
      textShape('text', 'text', { x: at + 24, y: 12, 'font-size': SIZES.label, fill: pen.palette.muted }, sample.text),
    ]);
  });
  return { shape: shape('g', 'legend', {}, drawn), height: samples.length > 0 ? y + 26 : 6 };
}
