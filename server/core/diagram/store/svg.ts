/** The curves as shapes: one chart per unit under each other on one time scale, each curve named at its end. */
import { paletteOf, type Look, type Palette } from '../kit/palette';
import { round2, shape, textShape, type Figure, type Shape } from '../kit/shape';
import { lastAt } from '../../model/motion';
import { drawCursors, drawDot } from './cursor';
import { drawMarks } from './draw-marks';
import type { Point } from './mark-labels';
import type { Series, SeriesMark, StoreModel } from './model';
import { fitText, textWidth } from '../kit/text-width';
import { roundStep, ticks, tickText } from '../kit/time-text';
import { say } from '../../words/say';

export interface StoreView {
  readonly look: Look;
  /** px */
  readonly width: number;
  /** Height that the charts fill, px; absent: their natural height. */
  readonly height?: number;
  /** Shown range, microseconds. */
  readonly from: number;
  readonly to: number;
  readonly idPrefix: string;
  /** A second variant laid over, matched by the ids of its series. */
  readonly second?: StoreModel | null;
  /** Time cursor and second cursor, microseconds of the run. */
  readonly time?: number | undefined;
  readonly mark?: number | undefined;
}

export interface StoreLayout {
  readonly x0: number;
  readonly x1: number;
  readonly x: (t: number) => number;
  readonly time: (x: number) => number;
}

interface Brush extends StoreLayout {
  /** Of one chart, px. */
  readonly chart: number;
  readonly view: StoreView;
  readonly palette: Palette;
}

const SMALLEST_CHART = 110;
const NATURAL_CHART = 150;
const LARGEST_CHART = 320;
const CHART_SPACE = 34;
const TOP = 56;
const LEFT = 64;
const LABEL = 11;
const DASHES = [undefined, '7 3', '2 3', '9 3 2 3'];

/** Range of all curves; at least a microsecond. */
export function storeRange(model: StoreModel): { from: number; to: number } {
  const times = model.series.flatMap((s) => [s.points[0]?.t ?? 0, s.points[s.points.length - 1]?.t ?? 0]);
  // A stroke may begin long after the run does; a run is shown from its zero.
  const [from, to] = [model.moments ? Math.min(...times) : Math.min(0, ...times), Math.max(1, ...times)];
  return { from, to };
}

export function layoutStore(model: StoreModel, view: StoreView): StoreLayout {
  const names = Math.max(40, ...model.series.map((s) => textWidth(s.name, LABEL)));
  const [x0, x1] = [LEFT, Math.max(LEFT + 60, view.width - Math.min(names, view.width * 0.3) - 20)];
  const perPx = (view.to - view.from) / (x1 - x0);
  return { x0, x1, x: (t) => x0 + (t - view.from) / perPx, time: (x) => Math.round(view.from + (x - x0) * perPx) };
}

export function drawStore(model: StoreModel, view: StoreView): Figure {
  const units = [...new Set(model.series.map((s) => s.unit))];
  const chart = chartHeight(view, units.length);
  const brush: Brush = { ...layoutStore(model, view), view, palette: paletteOf(view.look), chart };
  const height = TOP + units.length * (chart + CHART_SPACE) + 10;
  const clip = { x: brush.x0, y: -2, width: brush.x1 - brush.x0, height: chart + 4 };
  const shapes = [
    shape('defs', 'defs', {}, [
      shape('clipPath', 'clip', { id: `${view.idPrefix}chart` }, [shape('rect', 'rect', clip)]),
    ]),
    drawStrokes(brush, model, TOP + units.length * (chart + CHART_SPACE) - CHART_SPACE),
    ...units.map((unit, k) => drawChart(brush, model, unit, TOP + k * (chart + CHART_SPACE), k === units.length - 1)),
    drawCursors(view, brush, height - 10 - CHART_SPACE),
  ];
  return {
    width: view.width,
    height,
    shapes: [shape('g', 'store', { 'font-family': brush.palette.fontFamily }, shapes)],
  };
}

/** Unit of the chart at a height of the figure; null between and beyond the charts. */
export function chartAt(model: StoreModel, view: StoreView, y: number): string | null {
  const units = [...new Set(model.series.map((s) => s.unit))];
  const each = chartHeight(view, units.length) + CHART_SPACE;
  return (y >= TOP - CHART_SPACE / 2 && units[Math.floor((y - TOP + CHART_SPACE / 2) / each)]) || null;
}

function chartHeight(view: StoreView, charts: number): number {
  if (view.height === undefined || charts === 0) return NATURAL_CHART;
  const room = Math.floor((view.height - TOP - 10) / charts) - CHART_SPACE;
  return Math.max(SMALLEST_CHART, Math.min(LARGEST_CHART, room));
}

// ---------------------------------------------------------------- strokes

/** Numbers of strokes over the charts, as many as have room, with a tick each. */
function drawStrokes(brush: Brush, model: StoreModel, bottom: number): Shape {
  const { palette, x0, x1 } = brush;
  let free = x0 - 1;
  const marks = model.strokes.flatMap(({ t, number }, k) => {
    const x = brush.x(t);
    const text = String(number);
    if (x < x0 || x > x1 || number === 0 || number === model.strokes[k - 1]?.number) return [];
    if (x - textWidth(text, 10) / 2 < free) return [];
    free = x + textWidth(text, 10) / 2 + 14;
    return [
      shape('g', `stroke/${number}`, {}, [
        textShape('text', 'number', { x, y: 20, 'text-anchor': 'middle', 'font-size': 10, fill: palette.muted }, text),
        shape('line', 'tick', { x1: x, x2: x, y1: 24, y2: bottom, stroke: palette.grid, 'stroke-width': 0.75 }),
      ]),
    ];
  });
  const name = textShape(
    'text',
    'name',
    { x: x0 - 8, y: 20, 'text-anchor': 'end', 'font-size': 10, fill: palette.muted },
    say`strokes`,
  );
  return shape('g', 'strokes', {}, marks.length > 0 ? [name, ...marks] : []);
}

// ---------------------------------------------------------------- one chart

export interface Scale {
  readonly y: (value: number) => number;
  readonly low: number;
  readonly high: number;
  readonly step: number;
}

function drawChart(brush: Brush, model: StoreModel, unit: string, top: number, isLast: boolean): Shape {
  const series = model.series.filter((s) => s.unit === unit);
  const marks = model.marks.filter((m) => m.unit === unit);
  const second = (brush.view.second?.series ?? []).filter((s) => series.some((own) => own.id === s.id));
  const scale = scaleOf([...series, ...second], marks, brush.chart);
  const clip = { 'clip-path': `url(#${brush.view.idPrefix}chart)` };
  const [secondLines, lines] = [second, series].map((list) => list.map((s) => linePoints(brush, s, scale)));
  return shape('g', `chart:${unit}`, { transform: `translate(0 ${top})` }, [
    ...valueAxis(brush, scale, unit),
    ...timeAxis(brush, isLast),
    shape('g', 'curves', clip, [
      ...second.map((s, k) =>
        curve(s.id, secondLines![k]!, { stroke: brush.palette.second, 'stroke-dasharray': '5 3' }),
      ),
      ...series.map((s, k) => curve(s.id, lines![k]!, lineLook(brush, k))),
    ]),
    ...series.map((s, k) => drawDot(brush.view, brush, s, scale.y, lineLook(brush, k).stroke)),
    ...drawMarks({ ...brush, scale }, marks, [...secondLines!, ...lines!]),
    ...names(brush, series, scale),
  ]);
}

/** Colour and dashes of the k-th curve of a chart. */
function lineLook(brush: Brush, k: number) {
  const { doorLine, sensorLine, wantedLine, logicLine } = brush.palette;
  return {
    stroke: [doorLine, sensorLine, wantedLine, logicLine][k % 4]!,
    // No two of sixteen curves share both.
    'stroke-dasharray': DASHES[(k + Math.floor(k / 4)) % 4],
  };
}

/** Round steps that hold all curves, and all marks but those far beyond the curves. */
function scaleOf(series: readonly Series[], marks: readonly SeriesMark[], height: number): Scale {
  const values = series.flatMap((s) => s.points.map((p) => p.value)).filter(Number.isFinite);
  const highest = values.reduce((a, b) => Math.max(a, b), 0);
  const near = marks.map((m) => m.value).filter((v) => v <= 3 * highest);
  const top = Math.max(highest, ...near) * 1.06 || 1;
  const bottom = Math.min(
    0,
    values.reduce((a, b) => Math.min(a, b), 0),
  );
  const step = roundValue((top - bottom) / 4);
  const [low, high] = [Math.floor(bottom / step) * step, Math.ceil(top / step) * step];
  return { low, high, step, y: (value) => height - ((value - low) / (high - low)) * height };
}

/** 1, 2 or 5 times a power of ten, at least `least`. */
export function roundValue(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].find((m) => m * power >= least * (1 - 1e-9))! * power;
}

function valueAxis(brush: Brush, scale: Scale, unit: string): Shape[] {
  const { palette, x0, x1 } = brush;
  const count = Math.round((scale.high - scale.low) / scale.step);
  // A unit follows the numbers of the axis; a longer name begins at the margin.
  const isLong = textWidth(unit, LABEL) > x0 - 12;
  const place = isLong ? { x: 4, 'text-anchor': 'start' } : { x: x0 - 8, 'text-anchor': 'end' };
  const lines = Array.from({ length: count + 1 }, (_, k) => {
    const value = scale.low + k * scale.step;
    const y = scale.y(value);
    const text = String(Number(value.toPrecision(6)));
    return shape('g', `value/${k}`, {}, [
      shape('line', 'grid', { x1: x0, x2: x1, y1: y, y2: y, stroke: palette.grid, 'stroke-width': 1 }),
      textShape(
        'text',
        'text',
        { x: x0 - 8, y: y + 3.5, 'text-anchor': 'end', 'font-size': 10, fill: palette.muted },
        text,
      ),
    ]);
  });
  return [
    ...lines,
    textShape('text', 'unit', { ...place, y: -11, 'font-size': LABEL, 'font-weight': 600, fill: palette.ink }, unit),
  ];
}

function timeAxis(brush: Brush, withTimes: boolean): Shape[] {
  const { view, palette, x0, x1 } = brush;
  const step = roundStep(Math.max(1, ((view.to - view.from) / (x1 - x0)) * 80));
  const marks = ticks(view.from, view.to, step).map((t) => {
    const x = brush.x(t);
    return shape('g', `tick/${t}`, {}, [
      shape('line', 'tick', {
        x1: x,
        x2: x,
        y1: brush.chart,
        y2: brush.chart + 4,
        stroke: palette.muted,
        'stroke-width': 1,
      }),
      withTimes &&
        textShape(
          'text',
          'time',
          { x, y: brush.chart + 17, 'text-anchor': 'middle', 'font-size': 10, fill: palette.muted },
          tickText(t, step),
        ),
    ]);
  });
  return [
    shape('line', 'base', {
      x1: x0,
      x2: x1,
      y1: brush.chart,
      y2: brush.chart,
      stroke: palette.muted,
      'stroke-width': 1,
    }),
    ...marks,
  ];
}

/** Points of a curve in sight (one beyond on each side), no more than two per px. */
function linePoints(brush: Brush, series: Series, scale: Scale): Point[] {
  const { view } = brush;
  const first = Math.max(0, lastAt(series.points, view.from));
  const last = Math.min(series.points.length, lastAt(series.points, view.to) + 2);
  const shown = series.points.slice(first, last);
  const every = Math.max(1, Math.floor(shown.length / Math.max(1, 2 * (brush.x1 - brush.x0))));
  const starts = new Set((series.breaks ?? []).map((k) => k - first));
  return shown.flatMap((p, k) => {
    const isStart = starts.has(k);
    const isKept = isStart || starts.has(k + 1) || k % every === 0 || k === shown.length - 1;
    return isKept ? [{ x: brush.x(p.t), y: scale.y(p.value), ...(isStart ? { isStart } : {}) }] : [];
  });
}

function curve(
  id: string,
  points: readonly Point[],
  look: { stroke: string; 'stroke-dasharray': string | undefined },
): Shape {
  const d = points.map((p, k) => `${k === 0 || p.isStart ? 'M' : 'L'}${round2(p.x)} ${round2(p.y)}`).join('');
  return shape('path', id, { d, fill: 'none', 'stroke-width': 1.75, 'stroke-linejoin': 'round', ...look });
}

/** Names at the right ends of the curves, moved apart where they would overlap. */
function names(brush: Brush, series: readonly Series[], scale: Scale): Shape[] {
  const ends = series
    .map((s, k) => ({ series: s, k, y: scale.y(valueBefore(s, brush.view.to)) }))
    .sort((a, b) => a.y - b.y);
  let free = -Infinity;
  return ends.map(({ series: s, k, y }) => {
    const at = Math.max(y + 4, free);
    free = at + 13;
    const text = fitText(s.name, LABEL, brush.view.width - brush.x1 - 10);
    return textShape(
      'text',
      `name:${s.id}`,
      { x: brush.x1 + 6, y: at, 'font-size': LABEL, fill: lineLook(brush, k).stroke },
      text,
    );
  });
}

function valueBefore(series: Series, t: number): number {
  return series.points[Math.max(0, lastAt(series.points, t))]?.value ?? 0;
}
