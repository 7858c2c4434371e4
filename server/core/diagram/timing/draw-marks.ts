/** Overlaps, gaps and whole paths standing open, over the lanes and between them. */
import { shape, textShape, type Shape } from '../kit/shape';
import { textWidth } from '../kit/text-width';
import { timeText } from '../kit/time-text';
import { chevron, crowds, near, plotId, type Pen } from './pen';
import { pairKey, SIZES, type LaneRow } from './layout';
import type { Band, PairMark, TimingModel } from './model';
import { say } from '../../words/say';

type PatternName = 'hatch' | 'dots' | 'stripes';

/** Ids of the fill patterns, made unique by the view's prefix. */
export function patternId(pen: Pen, name: PatternName): string {
  return `${pen.view.idPrefix}${name}`;
}

function patternFill(pen: Pen, name: PatternName): string {
  return `url(#${patternId(pen, name)})`;
}

/** Second cues of fills: diagonal hatch for faults (without ground where it covers a door), dots for what is wanted. */
export function patterns(pen: Pen): Shape[] {
  const { fault, faultLine, wanted, wantedLine } = pen.palette;
  const base = { patternUnits: 'userSpaceOnUse', width: 6, height: 6 };
  return [
    shape('pattern', 'hatch', { ...base, id: patternId(pen, 'hatch'), patternTransform: 'rotate(45)' }, [
      shape('rect', 'ground', { width: 6, height: 6, fill: fault }),
      shape('rect', 'stripe', { width: 2.2, height: 6, fill: faultLine }),
    ]),
    shape('pattern', 'stripes', { ...base, id: patternId(pen, 'stripes'), patternTransform: 'rotate(45)' }, [
      shape('rect', 'stripe', { width: 2, height: 6, fill: faultLine }),
    ]),
    shape('pattern', 'dots', { ...base, id: patternId(pen, 'dots') }, [
      shape('rect', 'ground', { width: 6, height: 6, fill: wanted }),
      shape('circle', 'dot', { cx: 3, cy: 3, r: 0.9, fill: wantedLine }),
    ]),
  ];
}

const isFault = (mark: PairMark) => mark.verdict === 'short' || mark.verdict === 'unstated';

/** Faults, what is kept by little, and what is kept, each in a colour of its own; gaps that are kept as plain lines. */
function strokeOf({ palette }: Pen, mark: PairMark, plain: string): string {
  if (isFault(mark)) return palette.faultLine;
  return mark.tight !== undefined ? palette.sensorLine : mark.kind === 'gap' ? plain : palette.wantedLine;
}

function ends(pen: Pen, mark: { from: number; to: number | null }): [number, number] {
  return [near(pen, mark.from), near(pen, mark.to ?? pen.view.to * 2)];
}

function inRange(pen: Pen, mark: { from: number; to: number | null }): boolean {
  return mark.from <= pen.view.to && (mark.to === null || mark.to >= pen.view.from);
}

function rowOf(pen: Pen, lane: string): LaneRow | undefined {
  return pen.layout.doors.find((r) => r.lane.id === lane);
}

/** Marks in sight, pair by pair; those of a pair that stand closer than some px are one group. */
function markGroups(model: TimingModel, pen: Pen): PairMark[][] {
  const pairs = new Map<string, PairMark[]>();
  for (const mark of model.marks) {
    if (!inRange(pen, mark)) continue;
    const known = pairs.get(pairKey(mark));
    if (known) known.push(mark);
    else pairs.set(pairKey(mark), [mark]);
  }
  return [...pairs.values()].flatMap((marks) =>
    crowds(
      marks,
      (m) => ends(pen, m)[0],
      (m) => ends(pen, m)[1],
    ),
  );
}

/** Over the openings: shading or hatch in both lanes of a mark, dashed lines through the lanes between. */
export function drawMarkGrounds(model: TimingModel, pen: Pen): Shape {
  const groups = markGroups(model, pen).filter((g) => g.length === 1);
  return shape(
    'g',
    'grounds',
    {},
    groups.map(([mark]) => markGround(pen, mark!)),
  );
}

function markGround(pen: Pen, mark: PairMark): Shape | null {
  const rows = mark.lanes.map((l) => rowOf(pen, l));
  if (!rows[0] || !rows[1]) return null;
  const [x1, x2] = ends(pen, mark);
  const { wantedLine, muted } = pen.palette;
  const stroke = strokeOf(pen, mark, muted);
  const [top, bottom] =
    mark.kind === 'gap'
      ? [rows[0].y + rows[0].height / 2, rows[1].y + rows[1].height / 2]
      : [rows[0].y, rows[1].y + rows[1].height];
  const lines = [x1, x2].map((x, k) =>
    shape('line', `side${k}`, {
      x1: x,
      x2: x,
      y1: top,
      y2: bottom,
      stroke,
      'stroke-width': 1,
      'stroke-dasharray': '3 3',
    }),
  );
  if (mark.kind === 'gap') return shape('g', mark.id, {}, lines);
  const shade = isFault(mark)
    ? { fill: patternFill(pen, 'stripes'), 'fill-opacity': 0.75 }
    : { fill: wantedLine, 'fill-opacity': 0.16 };
  const shades = rows.map((row, k) =>
    shape('rect', `shade${k}`, {
      x: x1,
      y: row!.y,
      width: Math.max(1, x2 - x1),
      height: row!.height,
      ...shade,
    }),
  );
  return shape('g', mark.id, {}, [...shades, ...lines]);
}

/** The bars with their lengths, in the rows between lanes; labels shrink and give way where the next bar of the row begins. */
export function drawMarks(model: TimingModel, pen: Pen): Shape {
  const groups = markGroups(model, pen);
  const drawn = groups.map((group, k) => {
    const next = groups[k + 1]?.[0];
    const until = next && pairKey(next) === pairKey(group[0]!) ? ends(pen, next)[0] : pen.layout.x1 + 12;
    const last = groups[k - 1]?.[0];
    const isFirst = !last || pairKey(last) !== pairKey(group[0]!);
    const [x1, x2] = ends(pen, group[0]!);
    const room = { after: until - x2, before: isFirst ? x1 - pen.layout.x0 : 0 };
    return group.length > 1 ? drawCrowdedMarks(pen, group) : drawMark(pen, group[0]!, room);
  });
  return shape('g', 'marks', {}, drawn);
}

function drawCrowdedMarks(pen: Pen, group: readonly PairMark[]): Shape {
  const first = group[0]!;
  const y = pen.layout.pairs.get(pairKey(first))! + SIZES.markHeight / 2 - 1;
  const worst = group.find(isFault) ?? group.find((m) => m.tight !== undefined) ?? first;
  const stroke = strokeOf(pen, worst, pen.palette.wantedLine);
  const bar = overlapBar(pen, worst, ends(pen, first)[0], ends(pen, group[group.length - 1]!)[1], y, stroke);
  return shape('g', `crowd:${first.id}`, {}, [
    textShape('title', 'title', {}, say`${group.length} marks, too close to tell apart here`),
    ...bar,
  ]);
}

/** Px on either side of a mark in which no other mark of its row stands. */
interface Room {
  readonly after: number;
  readonly before: number;
}

function drawMark(pen: Pen, mark: PairMark, room: Room): Shape {
  const { layout, palette, view } = pen;
  const y = layout.pairs.get(pairKey(mark))! + SIZES.markHeight / 2 - 1;
  const [x1, x2] = ends(pen, mark);
  const stroke = strokeOf(pen, mark, palette.ink);
  const bar = mark.kind === 'gap' ? gapBar(x1, x2, y, stroke, widthOf(mark)) : overlapBar(pen, mark, x1, x2, y, stroke);
  const focus =
    view.purpose === 'page'
      ? {
          role: 'button',
          tabindex: -1,
          'aria-label': `${doorNames(mark)}: ${[mark.label, mark.tight].filter((w) => w).join(', ')}. ${mark.text}`,
          'data-mark': mark.id,
        }
      : {};
  const target = {
    x: Math.max(layout.x0, x1) - 3,
    y: y - 8,
    width: Math.min(layout.x1, x2) - Math.max(layout.x0, x1) + 6,
    height: 16,
    fill: 'transparent',
  };
  return shape('g', mark.id, focus, [
    textShape('title', 'title', {}, mark.text),
    view.purpose === 'page' && shape('rect', 'target', target),
    shape('g', 'clipped', { 'clip-path': `url(#${plotId(view)})` }, bar),
    markLabel(pen, mark, x1, x2, y, room),
  ]);
}

function overlapBar(pen: Pen, mark: PairMark, x1: number, x2: number, y: number, stroke: string): Shape[] {
  const fill = patternFill(pen, isFault(mark) ? 'hatch' : 'dots');
  return [
    shape('rect', 'bar', {
      x: x1,
      y: y - 5,
      width: Math.max(2, x2 - x1),
      height: 10,
      rx: 1.5,
      fill,
      stroke,
      'stroke-width': widthOf(mark),
    }),
  ];
}

/** What is kept by little is drawn heavier: the second cue beside its colour. */
const widthOf = (mark: PairMark): number => (mark.tight === undefined ? 1.25 : 2.25);

function gapBar(x1: number, x2: number, y: number, stroke: string, width: number): Shape[] {
  const line = { stroke, 'stroke-width': width };
  const side = (key: string, x: number) => shape('line', key, { ...line, x1: x, x2: x, y1: y - 6, y2: y + 6 });
  const arrows =
    x2 - x1 > 14 ? [shape('path', 'heads', { ...line, d: chevron(x1, y, -1) + chevron(x2, y, 1), fill: 'none' })] : [];
  return [side('a', x1), side('b', x2), shape('line', 'line', { ...line, x1, x2, y1: y, y2: y }), ...arrows];
}

/** The longest wording that has room: after the bar; before it at the right end of the picture, or where only there the doors can be named. */
function markLabel(pen: Pen, mark: PairMark, x1: number, x2: number, y: number, room: Room): Shape | null {
  const { palette, layout } = pen;
  const warning = isFault(mark) ? '⚠ ' : '';
  const length = mark.to === null ? '' : timeText(mark.to - mark.from);
  const named = areNeighbours(pen, mark) ? [] : [`${warning}${doorNames(mark)}: ${mark.label}`];
  const spare = mark.tight === undefined ? [] : [named[0] ?? mark.label, mark.label].map((w) => `${w}, ${mark.tight}`);
  const wordings = [...spare, ...named, warning + mark.label, warning + length].filter((w) => w !== '');
  const bold = isFault(mark) ? 1.06 : 1;
  const fitting = (space: number) => wordings.find((w) => textWidth(w, SIZES.label) * bold + 8 <= space);
  const attributes = {
    y: y + 4,
    'font-size': SIZES.label,
    fill: isFault(mark) ? palette.faultLine : palette.ink,
    'font-weight': isFault(mark) ? 600 : undefined,
    ...halo(pen),
  };
  const after = fitting(room.after);
  const isNamedBefore = named.length > 0 && after !== named[0] && fitting(room.before) === named[0];
  if (after !== undefined && !isNamedBefore) return textShape('text', 'label', { ...attributes, x: x2 + 6 }, after);
  const before = isNamedBefore || x2 > layout.x1 - 60 ? fitting(x1 - layout.x0) : undefined;
  if (before === undefined) return null;
  return textShape('text', 'label', { ...attributes, x: x1 - 6, 'text-anchor': 'end' }, before);
}

/** A mark between neighbours stands between their lanes; any other has to say which doors it is about. */
function areNeighbours(pen: Pen, mark: PairMark): boolean {
  const [a, b] = mark.lanes.map((lane) => pen.layout.doors.findIndex((r) => r.lane.id === lane)) as [number, number];
  return b - a === 1;
}

function doorNames(mark: PairMark): string {
  return mark.lanes.map((l) => l.slice('door:'.length)).join(', ');
}

/** Clears the ground behind a text, so that lines do not run through it. */
function halo(pen: Pen) {
  return { stroke: pen.palette.background, 'stroke-width': 3.5, 'stroke-linejoin': 'round', 'paint-order': 'stroke' };
}

/** Paths standing open: hatched from the first door lane of the path to the last, named underneath where there is room. */
export function drawBands(model: TimingModel, pen: Pen): Shape {
  const bands = model.bands.filter((b) => inRange(pen, b)).sort((a, b) => a.from - b.from);
  const groups = crowds(
    bands,
    (b) => ends(pen, b)[0],
    (b) => ends(pen, b)[1],
  );
  const drawn = groups.map((group, k) => {
    const next = groups[k + 1]?.[0];
    const until = next ? ends(pen, next)[0] : pen.layout.x1 + 12;
    return group.length > 1
      ? bandBox(pen, group, say`${group.length} paths, too close to tell apart here`)
      : drawBand(pen, group[0]!, until);
  });
  return shape('g', 'bands', {}, drawn);
}

/** The hatch of one band, or of several that run together. */
function bandBox(pen: Pen, group: readonly Band[], words: string): Shape {
  const rows = group.flatMap((b) => b.lanes.flatMap((l) => rowOf(pen, l) ?? []));
  const [top, bottom] = [Math.min(...rows.map((r) => r.y)) - 4, Math.max(...rows.map((r) => r.y + r.height)) + 2];
  const [x1, x2] = [ends(pen, group[0]!)[0], Math.max(...group.map((b) => ends(pen, b)[1]))];
  const rect = {
    x: x1,
    y: top,
    width: Math.max(2, x2 - x1),
    height: bottom - top,
    stroke: pen.palette.faultLine,
    'stroke-width': 1.25,
  };
  return shape('g', `box:${group[0]!.id}`, {}, [
    textShape('title', 'title', {}, words),
    shape('rect', 'band', { ...rect, fill: patternFill(pen, 'stripes'), 'fill-opacity': 0.75 }),
  ]);
}

function drawBand(pen: Pen, band: Band, until: number): Shape {
  const { layout, palette, view } = pen;
  const text = `⚠ ${band.label}`;
  const x = Math.max(ends(pen, band)[0], layout.x0) + 2;
  const width = textWidth(text, SIZES.label) * 1.06 + 6;
  const after = until - x > width;
  const right = Math.min(ends(pen, band)[1], layout.x1);
  const label = {
    x: after ? x : right,
    'text-anchor': after ? undefined : 'end',
    y: (layout.bandRow ?? layout.doorsEnd) + 9,
    'font-size': SIZES.label,
    'font-weight': 600,
    fill: palette.faultLine,
    ...halo(pen),
  };
  const focus = { role: 'button', tabindex: -1, 'aria-label': band.label, 'data-band': band.id };
  return shape('g', band.id, view.purpose === 'page' ? focus : {}, [
    bandBox(pen, [band], band.label),
    (after || right - layout.x0 > width) && textShape('text', 'label', label, text),
  ]);
}
