/** Zooming and panning along time, as arithmetic on ranges. */

export interface Range {
  readonly from: number;
  readonly to: number;
}

/** Shortest and longest range that can be shown: 200 µs, and twice what was recorded. */
const SHORTEST = 200;

/** The range kept within what can be shown of a record, its length kept where possible. */
export function within(range: Range, record: Range): Range {
  const length = record.to - record.from;
  const span = Math.min(Math.max(range.to - range.from, SHORTEST), Math.max(SHORTEST, length * 2));
  const [low, high] = [record.from - length / 2, record.to + length / 2];
  const middle = (range.from + range.to) / 2;
  const from = Math.min(Math.max(middle - span / 2, low), Math.max(low, high - span));
  return { from: Math.round(from), to: Math.round(from + span) };
}

/** Shown `factor` times larger, with the time `at` staying where it is. */
export function zoomed(range: Range, factor: number, at: number): Range {
  return { from: at - (at - range.from) / factor, to: at + (range.to - at) / factor };
}

export function shifted(range: Range, by: number): Range {
  return { from: range.from + by, to: range.to + by };
}

/** The same length with `t` in the middle, only where `t` is not well inside already. */
export function bringIn(range: Range, t: number): Range {
  const margin = (range.to - range.from) * 0.04;
  if (t >= range.from + margin && t <= range.to - margin) return range;
  return shifted(range, t - (range.from + range.to) / 2);
}
