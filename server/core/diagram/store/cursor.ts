/** Curves at one moment: what is read off them, the cursors drawn over them, and the same as contents of the section. */
import { lastAt } from '../../model/motion';
import { paletteOf } from '../kit/palette';
import { round2, shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import { FOLLOWED, momentText, signedTime } from '../kit/time-text';
import type { Contents } from '../section/model';
import type { Series, StoreModel } from './model';
import type { StoreLayout, StoreView } from './svg';

/** Value of a curve at a moment, straight between its points as it is drawn; null outside them. */
export function readOff({ points, breaks = [] }: Pick<Series, 'points' | 'breaks'>, t: number): number | null {
  const k = lastAt(points, t);
  if (k < 0) return null;
  const [here, next] = [points[k]!, points[k + 1]];
  if (!next || breaks.includes(k + 1)) return here.t === t ? here.value : null;
  return next.t === here.t ? here.value : here.value + ((next.value - here.value) * (t - here.t)) / (next.t - here.t);
}

/** Strokes done at a moment of the run; null before it begins. */
export function strokesAt({ strokes }: Pick<StoreModel, 'strokes'>, t: number): number | null {
  return strokes[lastAt(strokes, t)]?.number ?? null;
}

/** `3.21 bar`, and `(+0.2)` where a second moment is given and differs. Null where nothing is known at `t`. */
export function readingText(series: Series, t: number, from: number | undefined): string | null {
  const value = readOff(series, t);
  if (value === null) return null;
  const before = from === undefined ? null : readOff(series, from);
  const away = before === null ? 0 : Number((value - before).toPrecision(3));
  const sign = away < 0 ? '−' : '+';
  return `${Number(value.toPrecision(4))} ${series.unit}${away === 0 ? '' : ` (${sign}${Math.abs(away)})`}`;
}

const KINDS = ['pressure', 'density', 'level'] as const;

/** What a run says of each chamber, its moments counted from `zero`: for the section. */
export function contentsOfRun(model: StoreModel, zero: number): Contents[] {
  return model.series.flatMap(({ id, name, unit, points }) => {
    const kind = KINDS.find((k) => id === `${k}:${name}`);
    if (!kind) return [];
    const most = points.reduce((a, p) => Math.max(a, p.value), 1e-9);
    const limit = model.marks.find((m) => m.id === `limit:${name}` && m.unit === unit)?.value;
    const full = limit ?? (kind === 'level' ? most : most * 1.5);
    const shifted = points.map((p) => ({ t: p.t - zero, value: p.value }));
    return [{ chamber: `chamber:${name}`, kind, unit, full, points: shifted }];
  });
}

/** The second cursor is dashed, and its flag is drawn in outline. */
const CURSORS = [
  { key: 'mark', dash: '4 3' },
  { key: 'time', dash: undefined },
] as const;

const FLAG = { y: 26, height: 16, size: 11 } as const;

/** Lines over all charts with flags that say when. */
export function drawCursors(view: StoreView, layout: StoreLayout, bottom: number): Shape {
  return shape(
    'g',
    'cursors',
    {},
    CURSORS.map(({ key, dash }) => {
      const t = view[key];
      return t === undefined || t < view.from || t > view.to
        ? null
        : drawCursor(view, layout, { key, dash, t, bottom });
    }),
  );
}

interface CursorLook {
  readonly key: 'time' | 'mark';
  readonly dash: string | undefined;
  readonly t: number;
  readonly bottom: number;
}

function drawCursor(view: StoreView, layout: StoreLayout, { key, dash, t, bottom }: CursorLook): Shape {
  const palette = paletteOf(view.look);
  const x = layout.x(t);
  const away = key === 'time' && view.mark !== undefined ? ` (${signedTime(t - view.mark, FOLLOWED)})` : '';
  const text = momentText(t, FOLLOWED) + away;
  const half = textWidth(text, FLAG.size) / 2 + 6;
  const centre = Math.max(layout.x0 + half, Math.min(layout.x1 - half, x));
  const solid = key === 'time';
  return shape('g', key, { 'data-cursor': key }, [
    shape('line', 'line', {
      x1: x,
      x2: x,
      y1: FLAG.y,
      y2: bottom,
      stroke: palette.cursor,
      'stroke-width': 1.5,
      'stroke-dasharray': dash,
    }),
    shape('rect', 'flag', {
      x: centre - half,
      y: FLAG.y,
      width: 2 * half,
      height: FLAG.height,
      rx: 3,
      fill: solid ? palette.cursor : palette.background,
      stroke: palette.cursor,
    }),
    textShape(
      'text',
      'when',
      {
        x: centre,
        y: FLAG.y + 12,
        'text-anchor': 'middle',
        'font-size': FLAG.size,
        'font-weight': 600,
        fill: solid ? palette.background : palette.cursor,
      },
      text,
    ),
  ]);
}

/** A dot on a curve where the time cursor crosses it; null where it does not. */
export function drawDot(
  view: StoreView,
  layout: StoreLayout,
  series: Series,
  y: (value: number) => number,
  fill: string,
): Shape | null {
  const { time } = view;
  const value = time === undefined || time < view.from || time > view.to ? null : readOff(series, time);
  if (value === null) return null;
  const at = { cx: round2(layout.x(time!)), cy: round2(y(value)), r: 3.5 };
  return shape('circle', `dot:${series.id}`, { ...at, fill, stroke: paletteOf(view.look).background });
}
