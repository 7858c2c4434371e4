/** Names and details of lanes, left of the drawing. */
import { shape, textShape, type Shape } from '../kit/shape';
import { fitText } from '../kit/text-width';
import { laneName, SIZES, type LaneRow } from './layout';
import type { Pen } from './pen';

/** Name and detail of a lane in the label column. */
export function laneLabel(pen: Pen, row: LaneRow): Shape {
  const { layout, palette } = pen;
  const { lane } = row;
  const middle = row.y + row.height / 2;
  const isDoor = lane.kind === 'door';
  const name = textShape(
    'text',
    'name',
    {
      x: isDoor ? 10 : lane.kind === 'element' ? 18 : 10,
      y: isDoor ? middle - 1 : middle + 4,
      'font-size': isDoor ? SIZES.name : SIZES.name - 1.5,
      'font-weight': isDoor ? 600 : 400,
      fill: lane.kind === 'element' ? palette.muted : palette.ink,
    },
    laneName(lane.name, layout),
  );
  const detail =
    isDoor &&
    textShape(
      'text',
      'detail',
      { x: 10, y: middle + 13, 'font-size': SIZES.detail, fill: palette.muted },
      fitText(lane.detail, SIZES.detail, layout.labelWidth - 14),
    );
  return shape('g', `label:${lane.id}`, { 'data-lane': lane.id }, [
    textShape('title', 'title', {}, lane.name),
    name,
    detail,
  ]);
}
