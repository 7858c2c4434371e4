/** A plot as shapes: curves over two quantities with their units on the axes, each curve named in a legend, one point read out. */
import { scaleLinear, type ScaleLinear } from 'd3-scale';
import { paletteOf, type Look, type Palette } from '../kit/palette';
import { round2, shape, textShape, type Figure, type Shape } from '../kit/shape';
import { fitText, textWidth } from '../kit/text-width';
import { formatNumber } from '../../units/units';
import { boxAt, isFree, type Box, type Point } from './mark-labels';
import type { PlotAxis, PlotCurve, PlotModel } from './plot-model';

export interface PlotView {
  readonly look: Look;
  /** px */
  readonly width: number;
  /** Height that the plot fills, px; absent: its natural height. */
  readonly height?: number;
  readonly idPrefix: string;
  /** The point that is read out. */
  readonly at?: PlotPlace | null;
}

/** A point of a curve, by their places in the model. */
export interface PlotPlace {
  readonly curve: number;
  readonly point: number;
}

export interface PlotLayout {
  readonly x: ScaleLinear<number, number>;
  readonly y: ScaleLinear<number, number>;
  readonly x0: number;
  readonly x1: number;
  /** Top and bottom of the chart. */
  readonly top: number;
  readonly bottom: number;
  readonly height: number;
}

const [LEFT, RIGHT, BOTTOM] = [64, 24, 46];
const LEGEND_LINE = 18;
const [NATURAL, SMALLEST, LARGEST] = [420, 260, 760];
const [LABEL, SMALL] = [11, 10];
const DASHES = [undefined, '7 3', '2 3', '9 3 2 3'];

export function layoutPlot(model: PlotModel, view: PlotView): PlotLayout {
  const points = model.curves.flatMap((c) => c.points);
  const height = Math.max(SMALLEST, Math.min(LARGEST, view.height ?? NATURAL));
  const [x0, x1] = [LEFT, Math.max(LEFT + 80, view.width - RIGHT)];
  const [top, bottom] = [34 + LEGEND_LINE * legendLines(model, x1 - x0).length, height - BOTTOM];
  const far = points.reduce((most, p) => Math.max(most, p.x), 0);
  const near = model.marks.map((m) => m.value).filter((v) => v <= 1.5 * far);
  const x = scaleOver([...points.map((p) => p.x), ...near]).range([x0, x1]);
  // Zero is on the axis of masses and pressures: what is small must look small.
  const y = scaleOver([0, ...points.map((p) => p.y)]).range([bottom, top]);
  return { x, y, x0, x1, top, bottom, height };
}

function scaleOver(values: readonly number[]): ScaleLinear<number, number> {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  if (!Number.isFinite(low)) return scaleLinear().domain([0, 1]);
  return scaleLinear()
    .domain(low === high ? [low, low + (Math.abs(low) || 1)] : [low, high])
    .nice();
}

export function drawPlot(model: PlotModel, view: PlotView): Figure {
  const palette = paletteOf(view.look);
  const layout = layoutPlot(model, view);
  const size = { width: view.width, height: layout.height };
  const look = { 'font-family': palette.fontFamily };
  if (model.curves.length === 0)
    return { ...size, shapes: [shape('g', 'plot', look, emptyWords(model, view, palette))] };
  const lines = model.curves.map(({ points }) => points.map((p) => ({ x: layout.x(p.x), y: layout.y(p.y) })));
  const shapes = [
    ...horizontal(layout, model.y, palette),
    ...vertical(layout, model.x, palette),
    ...legend(model, layout, palette),
    ...lines.map((line, k) => drawLine(model.curves[k]!, line, k, palette)),
    ...drawMarks(model, layout, lines, palette),
    view.at ? drawPoint(model, view.at, layout, palette) : null,
  ];
  return { ...size, shapes: [shape('g', 'plot', look, shapes)] };
}

function emptyWords(model: PlotModel, view: PlotView, palette: Palette): Shape[] {
  const text = fitText(model.sentence, 13, view.width - 2 * RIGHT);
  return [textShape('text', 'why', { x: RIGHT, y: 60, 'font-size': 13, fill: palette.ink }, text)];
}

/** Colour and dashes of the k-th curve: no two of sixteen have both. */
const lineLook = ({ doorLine, sensorLine, wantedLine, logicLine }: Palette, k: number) => ({
  stroke: [doorLine, sensorLine, wantedLine, logicLine][k % 4]!,
  'stroke-dasharray': DASHES[(k + Math.floor(k / 4)) % 4],
});

// ---------------------------------------------------------------- axes

function horizontal({ y, x0, x1, top }: PlotLayout, axis: PlotAxis, palette: Palette): Shape[] {
  const format = y.tickFormat(6);
  const text = { 'text-anchor': 'end', 'font-size': SMALL, fill: palette.muted };
  return [
    ...y.ticks(6).map((value) =>
      shape('g', `y/${value}`, {}, [
        shape('line', 'grid', {
          x1: x0,
          x2: x1,
          y1: y(value),
          y2: y(value),
          stroke: value === 0 ? palette.muted : palette.grid,
        }),
        textShape('text', 'value', { x: x0 - 8, y: y(value) + 3.5, ...text }, format(value)),
      ]),
    ),
    textShape(
      'text',
      'y',
      { x: 8, y: top - 12, 'font-size': LABEL, 'font-weight': 600, fill: palette.ink },
      `${axis.name}, ${axis.unit}`,
    ),
  ];
}

function vertical({ x, x0, x1, top, bottom }: PlotLayout, axis: PlotAxis, palette: Palette): Shape[] {
  const count = Math.max(2, Math.floor((x1 - x0) / 90));
  const format = x.tickFormat(count);
  const text = { 'text-anchor': 'middle', 'font-size': SMALL, fill: palette.muted };
  return [
    ...x
      .ticks(count)
      .map((value) =>
        shape('g', `x/${value}`, {}, [
          shape('line', 'grid', { x1: x(value), x2: x(value), y1: top, y2: bottom, stroke: palette.grid }),
          textShape('text', 'value', { x: x(value), y: bottom + 16, ...text }, format(value)),
        ]),
      ),
    shape('line', 'base', { x1: x0, x2: x1, y1: bottom, y2: bottom, stroke: palette.muted }),
    textShape(
      'text',
      'x',
      {
        x: (x0 + x1) / 2,
        y: bottom + 34,
        'text-anchor': 'middle',
        'font-size': LABEL,
        'font-weight': 600,
        fill: palette.ink,
      },
      `${axis.name}, ${axis.unit}`,
    ),
  ];
}

// ---------------------------------------------------------------- curves

function drawLine({ id }: PlotCurve, line: readonly Point[], k: number, palette: Palette): Shape {
  const d = line.map((p, n) => `${n === 0 ? 'M' : 'L'}${round2(p.x)} ${round2(p.y)}`).join('');
  return shape('path', id, {
    d,
    fill: 'none',
    'stroke-width': 1.75,
    'stroke-linejoin': 'round',
    ...lineLook(palette, k),
  });
}

const SWATCH = 26;
const widthOf = ({ name }: PlotCurve): number => SWATCH + 6 + textWidth(name, LABEL) + 18;

/** Curves by the lines of the legend, as many in a line as have room. */
function legendLines({ curves }: PlotModel, room: number): number[][] {
  const lines: number[][] = [];
  let free = 0;
  curves.forEach((curve, k) => {
    if (lines.length === 0 || widthOf(curve) > free) {
      lines.push([]);
      free = room;
    }
    lines.at(-1)!.push(k);
    free -= widthOf(curve);
  });
  return lines;
}

function legend(model: PlotModel, { x0, x1 }: PlotLayout, palette: Palette): Shape[] {
  return legendLines(model, x1 - x0).flatMap((line, row) => {
    let x = x0;
    return line.map((k) => {
      const curve = model.curves[k]!;
      const [at, y] = [x, 14 + row * LEGEND_LINE];
      x += widthOf(curve);
      const words = fitText(curve.name, LABEL, x1 - at - SWATCH - 6);
      return shape('g', `legend:${curve.id}`, {}, [
        shape('line', 'line', {
          x1: at,
          x2: at + SWATCH,
          y1: y - 4,
          y2: y - 4,
          'stroke-width': 1.75,
          ...lineLook(palette, k),
        }),
        textShape('text', 'name', { x: at + SWATCH + 6, y, 'font-size': LABEL, fill: palette.ink }, words),
      ]);
    });
  });
}

// ---------------------------------------------------------------- marks

const MARK_DASHES = { target: '1 4', limit: undefined, ceiling: '8 4' } as const;

/** Lines upwards at values of x, with words beside them that lie over no curve; one beyond the axis is named at its right end. */
function drawMarks(
  model: PlotModel,
  layout: PlotLayout,
  curves: readonly (readonly Point[])[],
  palette: Palette,
): Shape[] {
  const taken: Box[] = [];
  return model.marks.map((mark) => {
    const isBeyond = mark.value > layout.x.domain()[1]!;
    const x = isBeyond ? layout.x1 : layout.x(mark.value);
    const text = isBeyond ? `${mark.label} →` : mark.label;
    const place = markPlace(x, textWidth(text, SMALL), layout, curves, taken);
    taken.push(boxAt(place, textWidth(text, SMALL)));
    const color = mark.kind === 'limit' ? palette.faultLine : palette.muted;
    const line = { x1: x, x2: x, y1: layout.top, y2: layout.bottom, stroke: color, 'stroke-width': 1.25 };
    const halo = { stroke: palette.background, 'stroke-width': 3, 'paint-order': 'stroke' };
    return shape('g', mark.id, {}, [
      !isBeyond && shape('line', 'line', { ...line, 'stroke-dasharray': MARK_DASHES[mark.kind] }),
      textShape('text', 'label', { x: place.x, y: place.y, 'font-size': SMALL, fill: color, ...halo }, text),
    ]);
  });
}

/** Left or right of the line, from the top down; where nothing is free, above the chart. */
function markPlace(
  x: number,
  width: number,
  { x0, x1, top, bottom }: PlotLayout,
  curves: readonly (readonly Point[])[],
  taken: readonly Box[],
): Point {
  const sides = [x - width - 6, x + 6].filter((at) => at >= x0 && at + width <= x1);
  for (let y = top + 14; y < bottom - 4; y += 14)
    for (const at of sides) if (isFree(boxAt({ x: at, y }, width), curves, taken)) return { x: at, y };
  return { x: Math.max(x0, Math.min(x - width / 2, x1 - width)), y: top - 2 };
}

// ---------------------------------------------------------------- reading

/** The point of any curve that is nearest on the screen; null where there are none. */
export function nearestPlace(model: PlotModel, layout: PlotLayout, at: Point): PlotPlace | null {
  let [best, found]: [number, PlotPlace | null] = [Infinity, null];
  model.curves.forEach(({ points }, curve) =>
    points.forEach((p, point) => {
      const distance = Math.hypot(layout.x(p.x) - at.x, layout.y(p.y) - at.y);
      if (distance < best) [best, found] = [distance, { curve, point }];
    }),
  );
  return found;
}

/** `store: 0.412 kg at 3.2 bar` */
export function placeText({ curves, x, y }: PlotModel, { curve, point }: PlotPlace): string {
  const { name, points } = curves[curve]!;
  const at = points[point]!;
  return `${name}: ${formatNumber(at.y)} ${y.unit} at ${formatNumber(at.x)} ${x.unit}`;
}

function drawPoint(
  { curves }: PlotModel,
  { curve, point }: PlotPlace,
  layout: PlotLayout,
  palette: Palette,
): Shape | null {
  const at = curves[curve]?.points[point];
  if (!at) return null;
  const place = { cx: round2(layout.x(at.x)), cy: round2(layout.y(at.y)), r: 4.5 };
  const { stroke } = lineLook(palette, curve);
  return shape('circle', 'at', { ...place, fill: stroke, stroke: palette.background, 'stroke-width': 1.5 });
}
