/** The ruler above (cumulative times of every change, levelled), the scale beneath, the grid between them. */
import { levelLabels, type PlacedLabel, type RulerLabel } from '../kit/labels';
import { shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import { momentText, roundStep, ticks, tickText, timeText } from '../kit/time-text';
import { chevron, firstAtOrAfter, near, type Pen } from './pen';
import { SIZES } from './layout';
import type { TimingModel } from './model';
import { say } from '../../words/say';

/** Doors first, then the trigger (the scale beneath has its zero too), other signals where there is room left. */
const WEIGHTS: Record<string, number> = { opens: 5, shuts: 5, opened: 4, closes: 4, turns: 3, on: 1, off: 1 };
const TRIGGER_WEIGHT = 2;

/** More moments than this in sight: they cannot be distinguished, and the scale beneath has to do. */
const MOST_LABELS = 300;

/** Times in sight as labels: one for each moment, weighed by the heaviest change at it. */
export function rulerLabels(model: TimingModel, pen: Pen): RulerLabel[] {
  const weights = new Map<number, number>();
  for (const lane of model.lanes) {
    const first = firstAtOrAfter(lane.edges, pen.view.from);
    for (let k = first; k < lane.edges.length && lane.edges[k]!.t <= pen.view.to; k++) {
      if (weights.size > MOST_LABELS) return [];
      const edge = lane.edges[k]!;
      const weight = edge.t === 0 && edge.cause === null ? TRIGGER_WEIGHT : WEIGHTS[edge.kind]!;
      weights.set(edge.t, Math.max(weight, weights.get(edge.t) ?? 0));
    }
  }
  return [...weights].map(([t, weight]) => {
    const text = momentText(t, model);
    return { x: pen.layout.x(t), width: textWidth(text, SIZES.label), weight, text };
  });
}

/** The labels that are drawn, placed. */
export function placedLabels(model: TimingModel, pen: Pen): PlacedLabel[] {
  const { x0, x1, labelWidth } = pen.layout;
  return levelLabels(rulerLabels(model, pen), {
    left: Math.min(x0 - 10, labelWidth),
    right: x1 + 14,
    levels: pen.layout.levels,
    space: 7,
    kept: WEIGHTS.opens!,
    widthOf: (text) => textWidth(text, SIZES.label),
  });
}

/** The ruler; its base line is at its bottom. */
export function drawRuler(model: TimingModel, pen: Pen): Shape {
  const { layout, palette } = pen;
  const base = layout.rulerHeight - 1;
  const labels = placedLabels(model, pen);
  return shape('g', 'ruler', {}, [
    ...repeatLine(model, pen),
    ...labels.map((label) => drawLabel(pen, label, base)),
    shape('line', 'base', {
      x1: layout.x0,
      x2: layout.x1,
      y1: base,
      y2: base,
      stroke: palette.muted,
      'stroke-width': 1,
    }),
  ]);
}

function drawLabel(pen: Pen, label: PlacedLabel, base: number): Shape {
  const { palette } = pen;
  const y = base - 8 - label.level * SIZES.levelHeight;
  const heavy = label.weight > 1;
  return shape('g', `t:${label.text}`, {}, [
    ...label.leaders.map((x, k) =>
      shape('line', `leader${k}`, { x1: x, x2: x, y1: y + 3, y2: base, stroke: palette.muted, 'stroke-width': 0.75 }),
    ),
    textShape(
      'text',
      'time',
      {
        x: label.left + label.width / 2,
        y,
        'text-anchor': 'middle',
        'font-size': SIZES.label,
        fill: heavy ? palette.ink : palette.muted,
      },
      label.text,
    ),
  ]);
}

/** `repeats every 11.8 s` as a dimension line from the first opening to the first one of the next stroke, as far as in sight. */
function repeatLine(model: TimingModel, pen: Pen): Shape[] {
  if (!model.repeat) return [];
  const { layout, palette, view } = pen;
  const { at, interval } = model.repeat;
  const [start, end] = [at, at + interval];
  if (end < view.from || start > view.to) return [];
  const [left, right] = [Math.max(layout.x0, layout.x(start)), Math.min(layout.x1, layout.x(end))];
  const text = say`repeat ${timeText(interval)}`;
  const half = textWidth(text, SIZES.label) / 2 + 6;
  const y = 9;
  const centre = (left + right) / 2;
  const line = { y1: y, y2: y, stroke: palette.muted, 'stroke-width': 1 };
  const fits = right - left > 2 * half + 12;
  const ends = [
    ...(start >= view.from
      ? [shape('line', 'from', { x1: left, x2: left, y1: y - 5, y2: y + 5, stroke: palette.muted, 'stroke-width': 1 })]
      : []),
    shape('path', 'to', { d: chevron(right, y, 1), fill: 'none', stroke: palette.muted, 'stroke-width': 1 }),
    ...(end <= view.to
      ? [
          shape('line', 'until', {
            x1: right,
            x2: right,
            y1: y - 5,
            y2: y + 5,
            stroke: palette.muted,
            'stroke-width': 1,
          }),
        ]
      : []),
  ];
  if (!fits) return [shape('g', 'repeat', {}, [shape('line', 'line', { ...line, x1: left, x2: right }), ...ends])];
  return [
    shape('g', 'repeat', {}, [
      shape('line', 'line', { ...line, x1: left, x2: centre - half }),
      shape('line', 'line2', { ...line, x1: centre + half, x2: right }),
      ...ends,
      textShape(
        'text',
        'text',
        { x: centre, y: y + 4, 'text-anchor': 'middle', 'font-size': SIZES.label, fill: palette.ink },
        text,
      ),
    ]),
  ];
}

/** Round times: grid lines through the lanes, and the scale under them. */
export function drawScale(pen: Pen): Shape {
  const { layout, view, palette } = pen;
  const perPx = (view.to - view.from) / (layout.x1 - layout.x0);
  const step = roundStep(Math.max(1, perPx * 72));
  const { lanesEnd } = layout;
  const marks = ticks(view.from, view.to, step).map((t) => {
    const x = layout.x(t);
    return shape('g', `tick/${t}`, {}, [
      shape('line', 'grid', {
        x1: x,
        x2: x,
        y1: 0,
        y2: lanesEnd + 5,
        stroke: palette.grid,
        'stroke-width': t === 0 ? 1.5 : 1,
      }),
      textShape(
        'text',
        'time',
        {
          x,
          y: lanesEnd + SIZES.axisHeight - 4,
          'text-anchor': 'middle',
          'font-size': SIZES.tick,
          fill: palette.muted,
        },
        tickText(t, step),
      ),
    ]);
  });
  return shape('g', 'scale', {}, marks);
}

/** Where nothing is recorded any more: stated, so that it is not read as "all shut". Before the record the rig is at rest. */
export function drawUnknown(model: TimingModel, pen: Pen): Shape {
  const { layout, palette, view } = pen;
  const from = near(pen, Math.max(view.from, Math.min(view.to, model.end)));
  if (layout.x1 - from < 1) return shape('g', 'unknown');
  const veil = {
    x: from,
    y: 0,
    width: layout.x1 - from,
    height: layout.lanesEnd,
    fill: palette.background,
    'fill-opacity': 0.7,
  };
  return shape('g', 'unknown', {}, [
    textShape('title', 'title', {}, say`not computed beyond this time`),
    shape('rect', 'veil', veil),
  ]);
}
