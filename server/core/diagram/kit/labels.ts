/**
 * Labels above a ruler that never collide: levelled, the less important ones dropped where there is no room. Those that must not go
 * missing share a text where they stand too close to have one each.
 */

export interface RulerLabel {
  /** Where its leader line stands, px. */
  readonly x: number;
  readonly width: number;
  /** Heavier ones are placed first. */
  readonly weight: number;
  readonly text: string;
}

export interface PlacedLabel extends RulerLabel {
  /** 0 is the level next to the ruler. */
  readonly level: number;
  /** Left edge of the text, which may be shifted from the leader to stay in the frame. */
  readonly left: number;
  /** Where its leader lines stand, px, in order: several where labels share a text. */
  readonly leaders: readonly number[];
}

export interface LabelFrame {
  readonly left: number;
  readonly right: number;
  readonly levels: number;
  /** Clear space between two labels of a level, and between a label and a leader that passes it. */
  readonly space: number;
  /** Labels of this weight and more are never dropped: they share a text instead. Absent: any may be dropped. */
  readonly kept?: number;
  /** Width of a text, for texts that are shared. */
  readonly widthOf?: (text: string) => number;
}

/** Labels that share a text, in order of `x`; mostly one. */
type Group = readonly RulerLabel[];

/** More labels than this in one text are written as a range. */
const MOST_IN_A_TEXT = 3;

/** Places what fits, heaviest first (equal weights: leftmost first); the result is in order of `x`. */
export function levelLabels(labels: readonly RulerLabel[], frame: LabelFrame): PlacedLabel[] {
  let groups: Group[] = [...labels].sort((a, b) => a.x - b.x).map((l) => [l]);
  for (;;) {
    const { placed, left } = placeAll(groups, frame);
    if (!left) return placed.sort((a, b) => a.x - b.x || a.level - b.level);
    groups = joined(groups, left, frame);
  }
}

/** Places the groups; `left`: the first one that must not be dropped and found no room. */
function placeAll(groups: readonly Group[], frame: LabelFrame): { placed: PlacedLabel[]; left: Group | null } {
  const order = [...groups].sort((a, b) => weightOf(b) - weightOf(a) || a[0]!.x - b[0]!.x);
  const placed: PlacedLabel[] = [];
  for (const group of order) {
    const label = labelOf(group, frame);
    const found = firstFree(label, placed, frame, isCrowded(group, groups, frame));
    if (found) placed.push(found);
    else if (isKept(group, frame) && groups.some((g) => g !== group && isKept(g, frame)))
      return { placed, left: group };
  }
  return { placed, left: null };
}

const weightOf = (group: Group): number => Math.max(...group.map((l) => l.weight));
const isKept = (group: Group, { kept }: LabelFrame): boolean => kept !== undefined && weightOf(group) >= kept;

/** The groups with one of them joined to the nearest that must not be dropped either; lighter ones between them go. */
function joined(groups: readonly Group[], left: Group, frame: LabelFrame): Group[] {
  const distance = (g: Group): number => Math.max(g[0]!.x - left.at(-1)!.x, left[0]!.x - g.at(-1)!.x);
  const near = groups
    .filter((g) => g !== left && isKept(g, frame))
    .reduce((a, b) => (distance(b) < distance(a) ? b : a));
  const group = [...near, ...left].sort((a, b) => a.x - b.x);
  return groups.flatMap((g) => (g === near ? [group] : g === left ? [] : [g]));
}

/** Is there a label that must not be dropped so close on a side that texts centred over both would collide? */
function isCrowded(group: Group, groups: readonly Group[], frame: LabelFrame): { left: boolean; right: boolean } {
  const others = groups.filter((g) => g !== group && isKept(g, frame));
  const near = (a: Group, b: Group): boolean => {
    const gap = b[0]!.x - a.at(-1)!.x;
    return gap >= 0 && gap < (labelOf(a, frame).width + labelOf(b, frame).width) / 2 + frame.space;
  };
  return { left: others.some((g) => near(g, group)), right: others.some((g) => near(group, g)) };
}

function labelOf(group: Group, { widthOf }: LabelFrame): RulerLabel & { leaders: readonly number[] } {
  const [first, last] = [group[0]!, group.at(-1)!];
  const leaders = group.map((l) => l.x);
  if (group.length === 1) return { ...first, leaders };
  const text = group.length <= MOST_IN_A_TEXT ? group.map((l) => l.text).join(', ') : `${first.text} … ${last.text}`;
  return { x: (first.x + last.x) / 2, width: widthOf?.(text) ?? 0, weight: weightOf(group), text, leaders };
}

/** Lowest level first; on each, the text centred over its leader, then to its right, then to its left; away from a close neighbour first. */
function firstFree(
  label: RulerLabel & { leaders: readonly number[] },
  placed: readonly PlacedLabel[],
  frame: LabelFrame,
  crowded: { readonly left: boolean; readonly right: boolean },
): PlacedLabel | null {
  const [first, last] = [label.leaders[0]!, label.leaders.at(-1)!];
  const [centred, right, left] = [label.x - label.width / 2, first - 3, last - label.width + 3];
  const lefts = crowded.right && !crowded.left ? [left, centred, right] : [centred, right, left];
  for (let level = 0; level < frame.levels; level++) {
    for (const wanted of lefts) {
      const from = Math.max(frame.left, Math.min(frame.right - label.width, wanted));
      const candidate = { ...label, level, left: from };
      if (placed.every((p) => areClear(candidate, p, frame.space))) return candidate;
    }
  }
  return null;
}

/** Neither text over text on one level, nor a leader of the higher one through the text of the lower one. */
function areClear(a: PlacedLabel, b: PlacedLabel, space: number): boolean {
  if (a.level === b.level) return a.left + a.width + space <= b.left || b.left + b.width + space <= a.left;
  const [low, high] = a.level < b.level ? [a, b] : [b, a];
  return high.leaders.every((x) => x < low.left - space / 2 || x > low.left + low.width + space / 2);
}
