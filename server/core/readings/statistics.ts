/** The few distributions that intervals of fitted values need. */

/** Normal quantile by Acklam's rational approximation; relative error below 1.2e-9, 0 < p < 1. */
function normalQuantile(p: number): number {
  const [a, b, c, d] = [
    [
      -39.69683028665376, 220.9460984245205, -275.9285104469687, 138.357751867269, -30.66479806614716,
      2.506628277459239,
    ],
    [-54.47609879822406, 161.5858368580409, -155.6989798598866, 66.80131188771972, -13.28068155288572, 1],
    [
      -0.007784894002430293, -0.3223964580411365, -2.400758277161838, -2.549732539343734, 4.374664141464968,
      2.938163982698783,
    ],
    [0.007784695709041462, 0.3224671290700398, 2.445134137142996, 3.754408661907416, 1],
  ] as const;
  const poly = (k: readonly number[], x: number): number => k.reduce((sum, v) => sum * x + v, 0);
  if (p < 0.02425) {
    const q = Math.sqrt(-2 * Math.log(p));
    return poly(c, q) / poly(d, q);
  }
  if (p > 1 - 0.02425) return -normalQuantile(1 - p);
  const q = p - 0.5;
  return (q * poly(a, q * q)) / poly(b, q * q);
}

/**
 * Quantile of Student's t: exact for one and two degrees of freedom, else the expansion of Abramowitz and Stegun 26.7.5 (to 0.5 % from three
 * degrees on, for the usual 95 %).
 */
function studentQuantile(p: number, dof: number): number {
  if (dof <= 1) return Math.tan(Math.PI * (p - 0.5));
  if (dof <= 2) return (2 * p - 1) / Math.sqrt(2 * p * (1 - p));
  const x = normalQuantile(p);
  const g = [
    (x ** 3 + x) / 4,
    (5 * x ** 5 + 16 * x ** 3 + 3 * x) / 96,
    (3 * x ** 7 + 19 * x ** 5 + 17 * x ** 3 - 15 * x) / 384,
    (79 * x ** 9 + 776 * x ** 7 + 1482 * x ** 5 - 1920 * x ** 3 - 945 * x) / 92160,
  ];
  return g.reduce((sum, term, k) => sum + term / dof ** (k + 1), x);
}

/** Upper 1 % point of chi squared over its degrees of freedom (Wilson and Hilferty). */
export const chiSquareLimit = (dof: number): number => {
  const h = 2 / (9 * dof);
  return (1 - h + 2.326 * Math.sqrt(h)) ** 3;
};

export const medianOf = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  const k = sorted.length >> 1;
  return sorted.length === 0 ? NaN : sorted.length % 2 === 1 ? sorted[k]! : 0.5 * (sorted[k - 1]! + sorted[k]!);
};

/** A value with what it is known to: standard deviation, and the interval that holds the truth 95 times in a hundred. */
export interface Estimate {
  readonly value: number;
  readonly deviation: number;
  readonly interval: readonly [number, number];
  /** What it rests on. */
  readonly observations: number;
}

export function estimate(value: number, deviation: number, dof: number, observations: number): Estimate {
  const half = studentQuantile(0.975, Math.max(1, dof)) * deviation;
  return { value, deviation, interval: [value - half, value + half], observations };
}

/**
 * The same value with an independent uncertainty beside its own: anything up to `most` to either side (in its unit). The interval takes all of
 * it: where rig and logger have one clock, the truth lies at an end.
 */
export function widened(found: Estimate, most: number): Estimate {
  if (!(most > 0) || !(found.deviation > 0)) return found;
  return {
    ...found,
    deviation: Math.hypot(found.deviation, most / Math.sqrt(3)),
    interval: [found.interval[0] - most, found.interval[1] + most],
  };
}
