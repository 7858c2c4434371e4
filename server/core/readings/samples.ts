/**
 * Readings as they are fitted: those of one quiet stretch averaged in bins, so that long logs cost no more than short ones. What a chamber
 * holds runs along a curve, and the mean of a curve is not its value at the mean moment (a leak over a few minutes is fitted some percent
 * off that way). A mean is therefore held against the mean of two moments with the same mean and scatter as the readings: exact for
 * every cubic, as the rule of Gauss with two points.
 */
import type { ReadingColumn, RigLog } from './log';
import { scatterOf } from './log-columns';

export interface Sample {
  /** µs from the first moment of the log: the mean of its readings' moments. */
  readonly t: number;
  /** Moments whose mean value is that of the sample: one, or two about `t`. */
  readonly moments: readonly number[];
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

/** Bins of a quiet stretch: all stretches together get about `ALL_BINS`, each between these. */
const ALL_BINS = 120;
const [LEAST_BINS, MOST_BINS] = [6, 60];
/** Samples of a column while doors move at most. */
const MOST = 500;

/** `without`: moments (µs from the start) near which nothing is read, because something jumps there; `most`: samples of a column while doors move. */
export function sampledColumns(
  log: RigLog,
  columns: readonly ReadingColumn[],
  quiet: readonly { readonly from: number; readonly to: number }[],
  without: readonly number[],
  most = MOST,
): SampledColumn[] {
  const origin = log.times[0]!;
  const margin = log.step / 5;
  // The same bins for all columns: one simulation serves them all.
  const moving = log.times.reduce(
    (n, t) => (quiet.some((q) => q.from <= t - origin && t - origin <= q.to) ? n : n + 1),
    0,
  );
  const together = Math.max(1, Math.ceil(moving / most));
  const bin = binner(quiet, log.times, together);
  return columns.map((column) => {
    const samples: Sample[] = [];
    let label = NaN;
    let taken: number[] = [];
    let sum = 0;
    const close = (): void => {
      if (taken.length > 0) samples.push({ ...momentsOf(taken), value: sum / taken.length, count: taken.length });
      [taken, sum] = [[], 0];
    };
    log.times.forEach((time, k) => {
      const t = time - origin;
      const value = column.values[k]!;
      if (Number.isNaN(value) || without.some((w) => Math.abs(w - t) < margin)) return;
      const mine = bin(t, k);
      if (mine !== label) close();
      label = mine;
      taken.push(t);
      sum += value;
    });
    close();
    return { column, samples, noise: Math.max(scatterOf(column.values), column.resolution / Math.sqrt(12)) };
  });
}

function momentsOf(taken: readonly number[]): Pick<Sample, 't' | 'moments'> {
  const mean = taken.reduce((a, b) => a + b, 0) / taken.length;
  const t = Math.round(mean);
  const spread = Math.sqrt(taken.reduce((square, v) => square + (v - mean) ** 2, 0) / taken.length);
  const early = Math.max(taken[0]!, Math.round(mean - spread));
  const late = Math.min(taken.at(-1)!, Math.round(mean + spread));
  return { t, moments: late > early ? [early, late] : [t] };
}

/** Label of the bin of a moment. Labels rise. */
function binner(
  quiet: readonly { readonly from: number; readonly to: number }[],
  times: RigLog['times'],
  together: number,
): (t: number, k: number) => number {
  const bins = Math.min(MOST_BINS, Math.max(LEAST_BINS, Math.floor(ALL_BINS / Math.max(1, quiet.length))));
  let stretch = 0;
  return (t, k) => {
    if (stretch > 0 && t < quiet[stretch - 1]!.to) stretch = 0;
    while (stretch < quiet.length && quiet[stretch]!.to < t) stretch++;
    const q = quiet[stretch];
    if (!q || t < q.from) return 1e9 * stretch + 10 + Math.floor(k / together);
    const share = Math.min(bins - 1, Math.floor((bins * (t - q.from)) / Math.max(1, q.to - q.from)));
    return 1e9 * stretch + 0.5e9 + times.length + share;
  };
}
