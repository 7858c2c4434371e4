/** Readings as they are fitted: those of one quiet stretch averaged in a few bins, so that long logs cost no more than short ones. */
import type { ReadingColumn, RigLog } from './log';
import { scatterOf } from './log-columns';

export interface Sample {
  /** µs from the first moment of the log. */
  readonly t: number;
  /** SI; the mean of `count` readings. */
  readonly value: number;
  readonly count: number;
}

export interface SampledColumn {
  readonly column: ReadingColumn;
  readonly samples: readonly Sample[];
  /** Standard deviation of one reading by itself: its noise, at least what its digits can show. */
  readonly noise: number;
}

/** Bins of a quiet stretch at most; all samples of a column at most. */
const BINS = 6;
const MOST = 500;

/** `without`: moments (µs from the start) near which nothing is read, because something jumps there. */
export function sampledColumns(
  log: RigLog,
  columns: readonly ReadingColumn[],
  quiet: readonly { readonly from: number; readonly to: number }[],
  without: readonly number[],
): SampledColumn[] {
  const origin = log.times[0]!;
  const margin = log.step / 5;
  // The same bins for all columns: one simulation serves them all.
  const moving = log.times.reduce(
    (n, t) => (quiet.some((q) => q.from <= t - origin && t - origin <= q.to) ? n : n + 1),
    0,
  );
  const together = Math.max(1, Math.ceil(moving / MOST));
  const bin = binner(quiet, log.times, together);
  return columns.map((column) => {
    const samples: Sample[] = [];
    let [label, sumT, sum, count] = [NaN, 0, 0, 0];
    const close = (): void => {
      if (count > 0) samples.push({ t: Math.round(sumT / count), value: sum / count, count });
      [sumT, sum, count] = [0, 0, 0];
    };
    log.times.forEach((time, k) => {
      const t = time - origin;
      const value = column.values[k]!;
      if (Number.isNaN(value) || without.some((w) => Math.abs(w - t) < margin)) return;
      const mine = bin(t, k);
      if (mine !== label) close();
      label = mine;
      sumT += t;
      sum += value;
      count++;
    });
    close();
    return { column, samples, noise: Math.max(scatterOf(column.values), column.resolution / Math.sqrt(12)) };
  });
}

/** Label of the bin of a moment. Labels rise. */
function binner(
  quiet: readonly { readonly from: number; readonly to: number }[],
  times: RigLog['times'],
  together: number,
): (t: number, k: number) => number {
  let stretch = 0;
  return (t, k) => {
    if (stretch > 0 && t < quiet[stretch - 1]!.to) stretch = 0;
    while (stretch < quiet.length && quiet[stretch]!.to < t) stretch++;
    const q = quiet[stretch];
    if (!q || t < q.from) return 1e9 * stretch + 10 + Math.floor(k / together);
    const share = Math.min(BINS - 1, Math.floor((BINS * (t - q.from)) / Math.max(1, q.to - q.from)));
    return 1e9 * stretch + 0.5e9 + times.length + share;
  };
}
