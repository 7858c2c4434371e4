/**
 * Where chambers and doors of the section stand, to one scale: volumes as cylinders as tall as wide (or on their floor area, where
 * given), bores as the width of the necks between them. Rows go down with the flow; stacks stand side by side; a chamber shared by
 * several stacks stands once, between them.
 */
import type { SectionDoor, SectionMember, SectionModel } from './model';
import { textWidth } from '../kit/text-width';

export interface SectionBox {
  readonly member: SectionMember;
  /** Outline of the chamber, or of the fully open pocket of a door; px. */
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  /** Width of a door's bore, px; 0 for chambers. */
  readonly bore: number;
  /** False where a size is missing in the text, or too small to be drawn at this scale. */
  readonly toScale: boolean;
  /** Left edge of its label. */
  readonly labelX: number;
}

export interface SectionNeck {
  readonly id: string;
  readonly from: SectionBox;
  readonly to: SectionBox;
  /** px */
  readonly width: number;
}

export interface SectionLayout {
  readonly width: number;
  readonly height: number;
  /** px per metre */
  readonly scale: number;
  readonly boxes: readonly SectionBox[];
  readonly necks: readonly SectionNeck[];
}

/** Height that the drawn members get together, px; and how small and how long a neck may be. */
const STACK_HEIGHT = 520;
const SMALLEST = 16;
const NECK = 20;
/** Of a chamber's width. */
const WIDEST_NECK = 0.8;
const MARGIN = 24;
const LABEL_SIZE = 13;
const LARGEST_SHARE = 0.45;

/** Width and height of a member in metres; null where its size is not known. */
function metres(member: SectionMember): { width: number; height: number } | null {
  const volume = member.kind === 'chamber' ? member.volume : member.pocket;
  if (volume === null) return null;
  if (member.kind === 'chamber' && member.floorArea !== null) {
    return { width: Math.sqrt((4 * member.floorArea) / Math.PI), height: volume / member.floorArea };
  }
  const side = Math.cbrt((4 * volume) / Math.PI);
  return { width: side, height: side };
}

/** Longest path from the top of a stack, so that shared chambers stand below everything that leads into them. */
function rowsOf(model: SectionModel): Map<string, number> {
  const row = new Map(model.members.map((m) => [m.id, 0]));
  for (let pass = 0; pass < model.members.length; pass++) {
    let moved = false;
    for (const stack of model.stacks) {
      stack.members.slice(1).forEach((id, k) => {
        const least = row.get(stack.members[k]!)! + 1;
        if (row.get(id)! >= least) return;
        row.set(id, least);
        moved = true;
      });
    }
    // A ring of chambers has no longest path; a row per member is enough for it too.
    if (!moved) break;
  }
  return row;
}

interface Sized {
  readonly member: SectionMember;
  readonly row: number;
  readonly column: number;
  readonly width: number;
  readonly height: number;
  readonly toScale: boolean;
}

function sizedMembers(model: SectionModel, scale: number, rows: ReadonlyMap<string, number>): Sized[] {
  const known = model.members.map(metres).filter((m) => m !== null);
  const middle = known.sort((a, b) => a.width - b.width)[known.length >> 1] ?? { width: 1, height: 1 };
  return model.members.map((member) => {
    const size = metres(member);
    const { width, height } = size ?? middle;
    const [w, h] = [width * scale, height * scale];
    const columns = columnsOf(model, member.id);
    const column = columns.reduce((sum, k) => sum + k, 0) / Math.max(1, columns.length);
    const toScale = size !== null && w >= SMALLEST && h >= SMALLEST;
    return {
      member,
      row: rows.get(member.id)!,
      column,
      width: Math.max(SMALLEST, w),
      height: Math.max(SMALLEST, h),
      toScale,
    };
  });
}

/** The stacks that a member stands in; of a chamber in the middle of some (a vent leads off it), those: it stays in their line. */
function columnsOf({ stacks }: SectionModel, id: string): number[] {
  const within = stacks.flatMap(({ members }, k) => (members.includes(id) ? [k] : []));
  const through = within.filter((k) => stacks[k]!.members.slice(1, -1).includes(id));
  return through.length > 0 ? through : within;
}

/** Scale at which the tallest stack has the wished height and no member takes more than its share of it. */
function scaleOf(model: SectionModel): number {
  const sizes = new Map(model.members.map((m) => [m.id, metres(m) ?? { width: 0, height: 0 }]));
  const totals = model.stacks.map((s) => s.members.reduce((sum, id) => sum + sizes.get(id)!.height, 0));
  const tallest = Math.max(...totals, 1e-9);
  const largest = Math.max(...[...sizes.values()].flatMap((s) => [s.width, s.height]), 1e-9);
  return Math.min(STACK_HEIGHT / tallest, (STACK_HEIGHT * LARGEST_SHARE) / largest);
}

/** Room that a member takes to the side: a door's leaves draw back by half their width on each side. */
function halfSpan(sized: Sized): number {
  return sized.member.kind === 'door' ? sized.width : sized.width / 2;
}

export function layoutSection(model: SectionModel): SectionLayout {
  const scale = scaleOf(model);
  const rows = rowsOf(model);
  const sized = sizedMembers(model, scale, rows);
  const tops = rowTops(sized);
  const columns = columnsAcross(sized, model.stacks.length);
  const centres = sized.map((s) => centreOf(s, columns));
  const left = Math.min(...sized.map((s, k) => centres[k]! - halfSpan(s)), MARGIN);
  const boxes = sized.map((s, k): SectionBox => {
    const centre = centres[k]! + MARGIN - left;
    const column = Number.isInteger(s.column) ? columns[s.column] : undefined;
    return {
      member: s.member,
      x: centre - s.width / 2,
      y: tops.get(s.row)!,
      width: s.width,
      height: s.height,
      bore: boreOf(s, scale),
      toScale: s.toScale,
      labelX: centre + (column?.half ?? halfSpan(s)) + GAP,
    };
  });
  const bottom = Math.max(MARGIN, ...boxes.map((b) => b.y + b.height));
  const right = Math.max(MARGIN, ...boxes.map((b) => b.labelX + labelWidth(b.member)));
  return { width: right + GAP, height: bottom + MARGIN + 30, scale, boxes, necks: necksOf(model, boxes) };
}

/** Between a member and its label. */
const GAP = 12;

/** Where the members of one stack stand: the middle, and the room to either side of it that they take. */
interface Column {
  readonly centre: number;
  readonly half: number;
}

/** One column for each stack, each as wide as its own members and their labels. */
function columnsAcross(sized: readonly Sized[], count: number): Column[] {
  const columns: Column[] = [];
  let x = MARGIN;
  for (let k = 0; k < Math.max(1, count); k++) {
    const own = sized.filter((s) => s.column === k);
    const half = Math.max(SMALLEST, ...own.map(halfSpan));
    columns.push({ centre: x + half, half });
    x += 2 * half + 2 * GAP + Math.max(60, ...own.map(({ member }) => labelWidth(member)));
  }
  return columns;
}

/** A member of several stacks stands between them. */
function centreOf({ column }: Sized, columns: readonly Column[]): number {
  const [before, after] = [columns[Math.floor(column)]!.centre, columns[Math.ceil(column)]!.centre];
  return before + (after - before) * (column - Math.floor(column));
}

const labelWidth = (member: SectionMember): number => Math.max(nameWidth(member), textWidth(member.detail, 10.5));

function rowTops(sized: readonly Sized[]): Map<number, number> {
  const tops = new Map<number, number>();
  let y = MARGIN;
  for (const row of [...new Set(sized.map((s) => s.row))].sort((a, b) => a - b)) {
    tops.set(row, y);
    y += Math.max(30, ...sized.filter((s) => s.row === row).map((s) => s.height)) + NECK;
  }
  return tops;
}

/** The bore to scale, within what the pocket's width allows; half of it where it is not known. */
function boreOf(sized: Sized, scale: number): number {
  if (sized.member.kind !== 'door') return 0;
  const { bore } = sized.member satisfies SectionDoor;
  return Math.max(4, Math.min(sized.width, bore === null ? sized.width / 2 : bore * scale));
}

function necksOf(model: SectionModel, boxes: readonly SectionBox[]): SectionNeck[] {
  const byId = new Map(boxes.map((b) => [b.member.id, b]));
  return model.stacks.flatMap((stack) =>
    stack.members.slice(1).flatMap((id, k) => {
      const [from, to] = [byId.get(stack.members[k]!), byId.get(id)];
      if (!from || !to) return [];
      // The neck below a door has that door's bore, the one above the first door its own; no neck is wider than the chamber that it enters.
      const most = [from, to].flatMap((box) => (box.member.kind === 'chamber' ? [box.width * WIDEST_NECK] : []));
      const width = Math.min(from.bore || to.bore || SMALLEST / 2, ...most);
      return [{ id: `neck:${from.member.id}>${id}`, from, to, width }];
    }),
  );
}

/** A name with the longest state beside it. */
const nameWidth = ({ name, kind }: SectionMember): number =>
  textWidth(name, LABEL_SIZE) * 1.06 + 8 + textWidth(kind === 'door' ? 'fully open, 88.88 bar' : '88.88 kg/m3', 12);
