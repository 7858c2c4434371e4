/** An edge in the hand: where it stood and stands, and the moments at which requirements end, each with its name. */
import { shape, textShape, type Shape } from '../kit/shape';
import { fitText, textWidth } from '../kit/text-width';
import { say } from '../../words/say';
import { heldRoom, SIZES, STOP_LINE as LINE, type HeldEdge } from './layout';
import { chevron, near, pathOf, type Pen } from './pen';

export function drawHand(pen: Pen): Shape {
  const { hand } = pen.view;
  if (!hand) return shape('g', 'hand');
  return shape('g', 'hand', { 'data-hand': hand.edge }, [...stopLines(pen, hand), heldEdge(pen, hand)]);
}

function heldEdge(pen: Pen, { lane, from, t }: HeldEdge): Shape | null {
  const { layout, palette } = pen;
  const row = [...layout.doors, ...layout.logic].find((r) => r.lane.id === lane);
  if (!row) return null;
  const [x1, x2] = [near(pen, from), near(pen, t)];
  const [top, bottom] = [row.y - 3, row.y + row.height + 3];
  const middle = row.y + row.height / 2;
  const line = { stroke: palette.cursor, fill: 'none' };
  return shape('g', 'held', {}, [
    shape('line', 'from', { x1, x2: x1, y1: top, y2: bottom, ...line, 'stroke-width': 1.5, 'stroke-dasharray': '2 3' }),
    shape('line', 'now', { x1: x2, x2, y1: top, y2: bottom, ...line, 'stroke-width': 3 }),
    Math.abs(x2 - x1) > 8
      ? shape('path', 'way', {
          d:
            pathOf([
              [x1, middle],
              [x2, middle],
            ]) + chevron(x2, middle, x2 > x1 ? 1 : -1),
          ...line,
          'stroke-width': 2,
        })
      : null,
  ]);
}

/** Labels stand under the scale, one under the other, so that they cover nothing. */
function stopLines(pen: Pen, hand: HeldEdge): Shape[] {
  const { layout, view, palette } = pen;
  const seen = hand.stops.filter((s) => s.t >= view.from && s.t <= view.to).sort((a, b) => a.t - b.t);
  return seen.map((stop, k) => {
    const x = layout.x(stop.t);
    const color = stop.beyond === 'met' ? palette.wantedLine : palette.faultLine;
    const later = stop.t >= hand.from;
    const room = later ? layout.x1 - x - 10 : x - layout.x0 - 10;
    const text = fitText(stopWords(stop), SIZES.label, Math.max(60, room));
    const width = textWidth(text, SIZES.label) + 8;
    const y = layout.bodyHeight - heldRoom(hand) + k * LINE;
    const left = later ? x + 3 : x - 3 - width;
    return shape('g', `stop${k}`, { 'data-stop': stop.beyond }, [
      shape('line', 'line', {
        x1: x,
        x2: x,
        y1: 0,
        y2: y,
        stroke: color,
        'stroke-width': 1.5,
        'stroke-dasharray': stop.beyond === 'worst' ? '2 4' : '6 3 1 3',
      }),
      shape('rect', 'ground', { x: left, y, width, height: LINE - 1, rx: 2, fill: palette.background }),
      textShape('text', 'text', { x: left + 4, y: y + 11, 'font-size': SIZES.label, fill: color }, text),
    ]);
  });
}

/** `ends: gap(upper, lower) >= 100 ms` */
function stopWords({ beyond, text }: HeldEdge['stops'][number]): string {
  switch (beyond) {
    case 'broken':
      return say`ends: ${text}`;
    case 'worst':
      return say`ends within tolerance: ${text}`;
    case 'met':
      return say`begins: ${text}`;
  }
}
