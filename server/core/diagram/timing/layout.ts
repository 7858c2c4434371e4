/** Where everything of a timing diagram stands: model and view → rows and a time scale. No colours, no shapes. */
import type { Look } from '../kit/palette';
import { fitText, textWidth } from '../kit/text-width';
import type { DoorLane, Lane, LogicLane, PairMark, TimingModel } from './model';

/** What part is drawn, how wide and how. */
export interface TimingView {
  /** px */
  readonly width: number;
  /** Shown range, microseconds; `from` < `to`. */
  readonly from: number;
  readonly to: number;
  readonly look: Look;
  /** `file`: a picture of its own with heading and legend; `page`: for the preview, with targets for pointer and keyboard. */
  readonly purpose: 'file' | 'page';
  /** Put before ids inside the picture, so that several can stand in one document. */
  readonly idPrefix: string;
  readonly litLane?: string | null;
  readonly litEdge?: string | null;
  /** Time cursor. */
  readonly time?: number | null;
  /** Second cursor, from which differences are counted. */
  readonly mark?: number | null;
  /** An edge that is being moved. */
  readonly hand?: HeldEdge | null;
  /** A second variant laid over, matched by lane ids. */
  readonly second?: TimingModel | null;
  /** Edges measured on the built rig. */
  readonly readings?: readonly MeasuredEdge[];
  /** Levels of labels to keep room for; absent: as many as there can be, so that nothing moves when the view does. */
  readonly levels?: number;
  /** Part of the body that is in sight, px from its top: lanes outside are left out. Absent: all. */
  readonly sight?: { readonly top: number; readonly bottom: number };
}

/** An edge as measured on the built rig, half way; in microseconds of the picture, null where it was not due or not seen. */
export interface MeasuredEdge {
  /** Id of its lane. */
  readonly lane: string;
  readonly expected: number | null;
  readonly measured: number | null;
  readonly within: boolean;
  /** `120 ms late`, `not seen` */
  readonly length: string;
  /** `upper opens, measured: 120 ms late` */
  readonly text: string;
}

/** An edge that is being moved: where it stood, where it stands, and where requirements end. */
export interface HeldEdge {
  readonly edge: string;
  readonly lane: string;
  readonly from: number;
  readonly t: number;
  readonly stops: readonly { readonly t: number; readonly text: string; readonly beyond: 'broken' | 'worst' | 'met' }[];
}

/** Height of a line of text about the end of a requirement, px. */
export const STOP_LINE = 15;

/** Room under the scale for what is written about an edge in the hand. */
export function heldRoom(hand: HeldEdge | null): number {
  return hand && hand.stops.length > 0 ? hand.stops.length * STOP_LINE + 6 : 0;
}

export interface LaneRow<L extends Lane = Lane> {
  readonly lane: L;
  /** Top, px from the top of the body. */
  readonly y: number;
  readonly height: number;
}

export interface TimingLayout {
  readonly width: number;
  readonly labelWidth: number;
  /** Left and right end of the time scale, px. */
  readonly x0: number;
  readonly x1: number;
  /** Time → px, not clipped. */
  readonly x: (t: number) => number;
  /** px → time, whole microseconds. */
  readonly time: (x: number) => number;
  /** Levels of labels over the ruler. */
  readonly levels: number;
  readonly rulerHeight: number;
  readonly doors: readonly LaneRow<DoorLane>[];
  readonly logic: readonly LaneRow<LogicLane>[];
  /** Top of the row of each pair's marks, by `pairKey`. */
  readonly pairs: ReadonlyMap<string, number>;
  /** Top of the row with the labels of whole paths; null where there is none. */
  readonly bandRow: number | null;
  /** Bottom end of the door lanes and of all lanes. */
  readonly doorsEnd: number;
  readonly lanesEnd: number;
  readonly bodyHeight: number;
}

export const SIZES = {
  name: 13,
  detail: 10.5,
  label: 11,
  tick: 10,
  doorHeight: 48,
  logicHeight: 24,
  markHeight: 18,
  /** Between lanes. */
  space: 8,
  levels: 3,
  levelHeight: 14,
  axisHeight: 24,
} as const;

/** Marks of one pair share a row. */
export function pairKey(mark: PairMark): string {
  return mark.lanes.join('+');
}

export function layoutTiming(model: TimingModel, view: TimingView): TimingLayout {
  const doors = model.lanes.filter((l): l is DoorLane => l.kind === 'door');
  const logic = model.lanes.filter((l): l is LogicLane => l.kind !== 'door');
  const labelWidth = labelColumn(model.lanes, view.width);
  const x0 = labelWidth + 12;
  const x1 = Math.max(x0 + 40, view.width - 18);
  const perPx = (view.to - view.from) / (x1 - x0);
  const levels = view.levels ?? SIZES.levels;
  const rows = stackRows(model, doors, logic);
  return {
    ...rows,
    bodyHeight: rows.bodyHeight + heldRoom(view.hand ?? null),
    width: view.width,
    labelWidth,
    x0,
    x1,
    x: (t) => x0 + (t - view.from) / perPx,
    time: (x) => Math.round(view.from + (x - x0) * perPx),
    levels,
    rulerHeight: levels * SIZES.levelHeight + (model.repeat ? 18 : 0) + 8,
  };
}

/** Wide enough for the longest name, within reason; longer ones are cut with an ellipsis. */
function labelColumn(lanes: readonly Lane[], width: number): number {
  const widths = lanes.map((l) => {
    const detail = l.kind === 'door' ? Math.min(150, textWidth(l.detail, SIZES.detail)) : 0;
    return Math.max(textWidth(l.name, SIZES.name) * 1.06, detail);
  });
  const longest = Math.max(0, ...widths);
  return Math.round(Math.max(84, Math.min(longest + 20, 230, width * 0.3)));
}

function stackRows(model: TimingModel, doors: readonly DoorLane[], logic: readonly LogicLane[]) {
  const pairs = new Map<string, number>();
  let y = 6;
  const doorRows = doors.map((lane) => {
    for (const mark of model.marks) {
      if (mark.lanes[1] !== lane.id || pairs.has(pairKey(mark))) continue;
      pairs.set(pairKey(mark), y);
      y += SIZES.markHeight;
    }
    const row = { lane, y, height: SIZES.doorHeight };
    y += SIZES.doorHeight + SIZES.space;
    return row;
  });
  const bandRow = model.bands.length > 0 ? y : null;
  if (bandRow !== null) y += SIZES.markHeight;
  const doorsEnd = y - SIZES.space;
  if (logic.length > 0 && doors.length > 0) y += 12;
  const logicRows = logic.map((lane) => {
    const row = { lane, y, height: SIZES.logicHeight };
    y += SIZES.logicHeight;
    return row;
  });
  return {
    pairs,
    doors: doorRows,
    logic: logicRows,
    bandRow,
    doorsEnd,
    lanesEnd: y,
    bodyHeight: y + 4 + SIZES.axisHeight,
  };
}

/** A lane's name as it fits in the label column. */
export function laneName(name: string, layout: TimingLayout): string {
  return fitText(name, SIZES.name * 1.06, layout.labelWidth - 16);
}

/** Is any part of the row in the part of the body that is looked at? */
export function inSight(row: { y: number; height: number }, view: TimingView): boolean {
  return !view.sight || (row.y + row.height >= view.sight.top && row.y <= view.sight.bottom);
}
