/** Labels above a ruler that never collide: levelled, the less important ones dropped where there is no room. */

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
}

export interface LabelFrame {
  readonly left: number;
  readonly right: number;
  readonly levels: number;
  /** Clear space between two labels of a level, and between a label and a leader that passes it. */
  readonly space: number;
}

/** Places what fits, heaviest first (equal weights: leftmost first); the result is in order of `x`. */
export function levelLabels(labels: readonly RulerLabel[], frame: LabelFrame): PlacedLabel[] {
  const order = [...labels].sort((a, b) => b.weight - a.weight || a.x - b.x);
  const placed: PlacedLabel[] = [];
  for (const label of order) {
    const found = firstFree(label, placed, frame);
    if (found) placed.push(found);
  }
  return placed.sort((a, b) => a.x - b.x || a.level - b.level);
}

/** Lowest level first; on each, the text centred over its leader, then to its right, then to its left. */
function firstFree(label: RulerLabel, placed: readonly PlacedLabel[], frame: LabelFrame): PlacedLabel | null {
  const lefts = [label.x - label.width / 2, label.x - 3, label.x - label.width + 3];
  for (let level = 0; level < frame.levels; level++) {
    for (const wanted of lefts) {
      const left = Math.max(frame.left, Math.min(frame.right - label.width, wanted));
      const candidate = { ...label, level, left };
      if (placed.every((p) => areClear(candidate, p, frame.space))) return candidate;
    }
  }
  return null;
}

/** Neither text over text on one level, nor the leader of the higher one through the text of the lower one. */
function areClear(a: PlacedLabel, b: PlacedLabel, space: number): boolean {
  if (a.level === b.level) return a.left + a.width + space <= b.left || b.left + b.width + space <= a.left;
  const [low, high] = a.level < b.level ? [a, b] : [b, a];
  return high.x < low.left - space / 2 || high.x > low.left + low.width + space / 2;
}
