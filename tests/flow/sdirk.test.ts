/** The integrator of the flow equations: order conditions of its tableau (Hairer, Nørsett & Wanner, II.2), and stiff equations with a known answer. */
import { expect, test } from 'vitest';
import { Sdirk, type Derivative, type Scale } from '../../server/core/flow/sdirk';
import { A as a, C as c, E as e, GAMMA as gamma } from '../../server/core/flow/sdirk-tableau';
import { finish } from '../../server/core/work/work';

const A = c.map((_, i) =>
  c.map((_u, j) => (j < i ? ((a[i] as readonly number[])[j] ?? 0) : i === j && i > 0 ? gamma : 0)),
);
const dot = (x: readonly number[], y: readonly number[]): number => x.reduce((sum, v, k) => sum + v * y[k]!, 0);
const times = (x: readonly number[], y: readonly number[]): number[] => x.map((v, k) => v * y[k]!);
const apply = (x: readonly number[]): number[] => A.map((row) => dot(row, x));
const square = times(c, c);
/** Weights against what each tree of order up to four asks for. */
const TREES: readonly (readonly [order: number, weights: readonly number[], value: number])[] = [
  [1, c.map(() => 1), 1],
  [2, c, 1 / 2],
  [3, square, 1 / 3],
  [3, apply(c), 1 / 6],
  [4, times(square, c), 1 / 4],
  [4, times(c, apply(c)), 1 / 8],
  [4, apply(square), 1 / 12],
  [4, apply(apply(c)), 1 / 24],
];

test('weights are of order four, the embedded ones of order three and no more', () => {
  const weights = A[c.length - 1]!;
  const embedded = weights.map((b, k) => b - e[k]!);
  for (const [order, tree, value] of TREES) {
    expect(dot(weights, tree)).toBeCloseTo(value, 14);
    if (order < 4) expect(dot(embedded, tree)).toBeCloseTo(value, 14);
    else expect(Math.abs(dot(embedded, tree) - value)).toBeGreaterThan(1e-4);
  }
});

test('every stage is where its time is, to order two', () => {
  A.forEach((row, i) => {
    expect(row.reduce((sum, v) => sum + v, 0)).toBeCloseTo(c[i]!, 14);
    expect(dot(row, c)).toBeCloseTo(c[i]! ** 2 / 2, 14);
  });
});

function integrate(f: Derivative, start: readonly number[], end: number, relative: number, states = start.length) {
  const every = start.map((_, k) => k);
  const kernel = new Sdirk(
    start.length,
    every.slice(0, states).map((k) => [k]),
    every.map((k) => (k < states ? every : [])),
  );
  const y = Float64Array.from(start);
  const scale: Scale = {
    relative,
    absolute: new Float64Array(start.length).fill(0.1 * relative),
    ceiling: new Float64Array(start.length).fill(1),
  };
  expect(finish(kernel.run(f, y, end, scale, 1e6))).toBe(true);
  return { y, kernel };
}

test.each([1e-4, 1e-6, 1e-8])(
  'a component a million times faster than the rest costs no steps at %f (Prothero and Robinson)',
  (relative) => {
    // y' = λ (cos t − y) − sin t from the solution cos t; its integral is a sum that nothing depends on.
    const f: Derivative = (t, y, into) => {
      into[0] = 1e6 * (Math.cos(t) - y[0]!) - Math.sin(t);
      into[1] = y[0]!;
    };
    const { y, kernel } = integrate(f, [1, 0], 3, relative, 1);
    expect(Math.abs(y[0]! - Math.cos(3))).toBeLessThan(10 * relative);
    expect(Math.abs(y[1]! - Math.sin(3))).toBeLessThan(10 * relative);
    expect(kernel.steps).toBeLessThan(40 * (1e-4 / relative) ** 0.25);
  },
);

test.each([1e-4, 1e-6])('two volumes equalise through a square root and stay so (tolerance %f)', (relative) => {
  // d' = −2 √d, softened at 1e-5: from 1 down to none at t = 1, where the slope of the root has no end.
  const f: Derivative = (_t, y, into) => {
    const d = y[0]!;
    into[0] = (-2 * d) / Math.sqrt(Math.sqrt(d * d + 1e-10));
  };
  const halfway = integrate(f, [1], 0.5, relative).y[0]!;
  expect(Math.abs(halfway - 0.25)).toBeLessThan(20 * relative + 1e-5);
  const { y, kernel } = integrate(f, [1], 100, relative);
  expect(Math.abs(y[0]!)).toBeLessThan(10 * relative);
  expect(kernel.evaluations).toBeLessThan(1500);
});

test('a rate that a condition turns on within little is not passed over, and its end is found in few tries', () => {
  // x' = 1 from 0, the amount a' = 40 from x = 0.5 on, whole at 1e-4 beyond: 40 (1 − 0.5 − 0.5e-4) at t = 1.
  const share = (x: number): number => (x - 0.5) / 1e-4;
  const f: Derivative = (_t, y, into) => {
    into[0] = 1;
    into[1] = 40 * Math.min(1, Math.max(0, share(y[0]!)));
  };
  const run = (beyond?: (t: number, y: Float64Array) => number): { amount: number; evaluations: number } => {
    const kernel = new Sdirk(2, [[0]], [[0, 1], []]);
    const y = Float64Array.of(0, 0);
    const scale: Scale = {
      relative: 1e-7,
      absolute: Float64Array.of(1e-8, 1e-8),
      ceiling: Float64Array.of(1, 1),
      switched: [{ unknown: 1, most: 40, ...(beyond ? { beyond } : {}) }],
    };
    expect(finish(kernel.run(f, y, 1, scale, 1e6))).toBe(true);
    return { amount: y[1]!, evaluations: kernel.evaluations };
  };
  const right = 40 * (0.5 - 0.5e-4);
  const [blind, told] = [run(), run((_t, y) => share(y[0]!))];
  for (const { amount } of [blind, told]) expect(Math.abs(amount - right)).toBeLessThan(2e-5);
  expect(told.evaluations).toBeLessThan(0.7 * blind.evaluations);
});
