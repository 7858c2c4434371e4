/** Fits of single figures to readings: travel of a door, fraction moved per stroke, discharge coefficient. Plain numbers in and out. */
import type { Fit } from './least-squares';
import { fitLeastSquares } from './least-squares';

/** A fitted figure with its scatter. */
export interface Fitted {
  readonly value: number;
  /** Standard deviation of the value; null where it cannot be told (one observation). */
  readonly deviation: number | null;
  /** What it rests on. */
  readonly observations: number;
  readonly residuals: readonly { readonly t: number; readonly measured: number; readonly fitted: number }[];
}

export interface Travel {
  readonly direction: 'opens' | 'closes';
  /** µs at which it begins, and how long it takes. */
  readonly t: number;
  readonly takes: number;
  /** Standard uncertainty of `takes` by the steps of the log, µs; 0 where a line through several readings gives it. */
  readonly resolution: number;
}

/**
 * Travels in the logged openings of one door, µs. Between the last reading at one end and the first at the other: with two or more
 * readings on the way, by the straight line through them (least squares); else to the middle of the steps in which it left and arrived.
 * Travels that turn round, or that a gap in the log cuts, are left out.
 */
export function travelsOf(
  times: readonly number[],
  openings: readonly (number | null)[],
  inGap: (from: number, to: number) => boolean,
): Travel[] {
  const points = times.flatMap((t, k) =>
    openings[k] === null || openings[k] === undefined ? [] : [{ t, x: openings[k]! }],
  );
  const travels: Travel[] = [];
  let last = points[0];
  let way: { t: number; x: number }[] = [];
  for (const point of points.slice(1)) {
    if (!last) break;
    if (point.x > 0 && point.x < 1) {
      way.push(point);
      continue;
    }
    if (point.x !== last.x && (last.x === 0 || last.x === 1) && !inGap(last.t, point.t)) {
      travels.push(travelOf(last, way, point));
    }
    last = point;
    way = [];
  }
  return travels;
}

function travelOf(
  from: { t: number; x: number },
  way: readonly { t: number; x: number }[],
  to: { t: number; x: number },
): Travel {
  const direction = to.x > from.x ? 'opens' : 'closes';
  const line = way.length >= 2 ? straightLine(way) : null;
  if (line && line.slope !== 0 && line.slope > 0 === (direction === 'opens')) {
    const start = (from.x - line.at0) / line.slope + line.origin;
    return { direction, t: start, takes: Math.abs(1 / line.slope), resolution: 0 };
  }
  const first = way[0] ?? to;
  const last = way[way.length - 1] ?? from;
  const left = 0.5 * (from.t + first.t);
  // Each end lies somewhere in its step, evenly: a standard uncertainty of the step over √12.
  const resolution = Math.hypot(first.t - from.t, to.t - last.t) / Math.sqrt(12);
  return { direction, t: left, takes: 0.5 * (last.t + to.t) - left, resolution };
}

/** Least-squares line x = at0 + slope (t − origin). */
function straightLine(points: readonly { t: number; x: number }[]) {
  const n = points.length;
  const origin = points.reduce((s, p) => s + p.t, 0) / n;
  const mean = points.reduce((s, p) => s + p.x, 0) / n;
  const top = points.reduce((s, p) => s + (p.t - origin) * (p.x - mean), 0);
  const bottom = points.reduce((s, p) => s + (p.t - origin) ** 2, 0);
  return { origin, at0: mean, slope: bottom > 0 ? top / bottom : 0 };
}

/** The figure that fits observations of itself best: their mean. */
export function fitMean(observations: readonly { readonly t: number; readonly value: number }[]): Fitted | null {
  const n = observations.length;
  if (n === 0) return null;
  const value = observations.reduce((s, o) => s + o.value, 0) / n;
  const sum = observations.reduce((s, o) => s + (o.value - value) ** 2, 0);
  return {
    value,
    deviation: n > 1 ? Math.sqrt(sum / (n - 1) / n) : null,
    observations: n,
    residuals: observations.map((o) => ({ t: o.t, measured: o.value, fitted: value })),
  };
}

/** A stroke with what was upstream before it, and what it moved, kg. */
export interface MovedStroke {
  readonly t: number;
  readonly upstream: number;
  readonly moved: number;
}

/** Fraction f of what is upstream that one stroke moves: least squares of moved = f · upstream, in closed form. */
export function fitFraction(strokes: readonly MovedStroke[]): Fitted | null {
  const n = strokes.length;
  const square = strokes.reduce((s, x) => s + x.upstream ** 2, 0);
  if (n === 0 || square === 0) return null;
  const value = strokes.reduce((s, x) => s + x.upstream * x.moved, 0) / square;
  const sum = strokes.reduce((s, x) => s + (x.moved - value * x.upstream) ** 2, 0);
  return {
    value,
    deviation: n > 1 ? Math.sqrt(sum / (n - 1) / square) : null,
    observations: n,
    residuals: strokes.map((x) => ({ t: x.t, measured: x.moved, fitted: value * x.upstream })),
  };
}

/** Discharge coefficient that makes a simulation come nearest to readings; `simulate` gives one figure per reading. */
export function fitDischarge(
  start: number,
  readings: readonly { readonly t: number; readonly value: number }[],
  simulate: (discharge: number) => readonly number[],
): { readonly fitted: Fitted; readonly fit: Fit } {
  const scale = Math.max(...readings.map((r) => Math.abs(r.value)), 1e-300);
  const residuals = ([discharge]: readonly number[]): number[] =>
    simulate(discharge!).map((v, k) => (v - readings[k]!.value) / scale);
  const fit = fitLeastSquares(residuals, [{ start, low: 0.01, high: 1 }], 30);
  const modelled = simulate(fit.values[0]!);
  return {
    fit,
    fitted: {
      value: fit.values[0]!,
      deviation: fit.deviations[0]!,
      observations: readings.length,
      residuals: readings.map((r, k) => ({ t: r.t, measured: r.value, fitted: modelled[k]! })),
    },
  };
}
