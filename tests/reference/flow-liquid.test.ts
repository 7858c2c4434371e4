/** Liquids through openings: draining and equalising times. Books whose examples are used are named; "recomputed": no published print. */
import { describe, expect, it } from 'vitest';
import { constantLiquid } from '../../server/core/flow/media/liquid';
import { startContents } from '../../server/core/flow/engine';
import type { LiquidOrificeModel } from '../../server/core/flow/liquid-orifice';
import { LiquidOrifice } from '../../server/core/flow/liquid-orifice';
import { rowFlow } from '../../server/core/flow/row-flow';
import type { LiquidLaw } from '../../server/core/flow/media/law';
import { GRAVITY } from '../../server/core/flow/media/constants';
import { hydrostatic, liquidSpeed } from '../../server/core/flow/nozzle';
import { lineNetwork, vessel, strokeOn } from '../support/flow';

const near = (actual: number, expected: number, relative: number): void =>
  expect(Math.abs(actual - expected)).toBeLessThanOrEqual(relative * Math.abs(expected));

const water: LiquidLaw = constantLiquid({
  name: 'water',
  density: 998.2,
  bulkModulus: 2.18e9,
  temperature: 293.15,
  vapourPressure: null,
});
const circle = (d: number): number => (Math.PI / 4) * d * d;

/** Two tanks of floor areas a1, a2 with levels h1, h2 joined by one door of no pocket; levels after some seconds. */
function tanks(
  areas: readonly [number, number],
  levels: readonly [number, number],
  opening: number,
  elevation = 0,
  feed = 0,
) {
  const tall = 100;
  const model: LiquidOrificeModel = {
    law: water,
    network: lineNetwork([areas[0] * tall, areas[1] * tall], [{ open: 0 }]),
    vessels: areas.map((a, k) => vessel(a * tall, 293.15, { floorArea: a, elevation: k === 1 ? elevation : 0 })),
    lines: feed > 0 ? [{ name: 'feed', chamber: 0, sign: 1, rate: feed * 998.2, power: 0, only: null }] : [],
    start: areas.map((a, k) => a * levels[k] * 998.2),
    areas: Float64Array.of(opening),
  };
  return (seconds: number): [number, number] => {
    const contents = startContents(model, Float64Array.of(areas[0] * tall, areas[1] * tall, 0));
    const liquid = new LiquidOrifice(model, contents);
    const duration = Math.round(seconds * 1e6);
    const doors = [{ initial: 0, moves: [{ t: 0, from: 0, to: 1 as const, arrives: 0 }] }];
    const lines = feed > 0 ? [[[0, duration] as const]] : [];
    expect(strokeOn(liquid, { doors, duration, strokes: 1, repeats: false, lines })).toBe(true);
    return [contents.mass[0] / 998.2 / areas[0], contents.mass[1] / 998.2 / areas[1]];
  };
}

/** Time at which a falling value reaches a target, by bisection. */
function timeTo(value: (seconds: number) => number, target: number, high: number): number {
  let [a, b] = [0.001, high];
  for (let k = 0; k < 45; k++) {
    const middle = 0.5 * (a + b);
    if (value(middle) > target) a = middle;
    else b = middle;
  }
  return 0.5 * (a + b);
}

/** A tank that drains into the open: the second chamber is vast and far below, its surface at the outlet. */
const draining = (area: number, level: number, opening: number) => tanks([area, 1e9], [level, 0], opening);
/** Books use g = 9.8 or 9.81; times go with 1/√g. */
const withGravity = (seconds: number, g: number): number => seconds * Math.sqrt(GRAVITY / g);

describe('jets', () => {
  it('Torricelli: 2 m give 6.263114 m/s and 0.3883 L/s through 0.62 · 1 cm2', () => {
    const v = liquidSpeed(hydrostatic(998.2, 2), 998.2);
    near(v, 6.263114, 1e-6);
    near(rowFlow(hydrostatic(998.2, 2), 998.2, [0.62e-4], [0]), 3.883131e-4, 1e-3);
  });

  it('1 bar through 0.62 · 1 cm2: 0.876023 kg/s; 2 m and 50 kPa together: 11.807 m/s (recomputed)', () => {
    near(998.2 * rowFlow(1e5, 998.2, [0.62e-4], [0]), 0.876023, 1e-3);
    near(liquidSpeed(hydrostatic(998.2, 2) + 50e3, 998.2), 11.807071, 1e-6);
  });

  it('Esposito, Fluid Power with Applications, Ex. 8-4: 1 inch hole, C 0.8, 100 psi, SG 0.9: 251.5 gpm', () => {
    const q = rowFlow(100 * 6894.757, 900, [0.8 * circle(0.0254)], [0]);
    near(q / 6.30902e-5, 251.5, 3e-3);
  });

  it('two equal openings in a row pass 1/√2 of one; a pocket that grows between them takes its part', () => {
    const one = rowFlow(1e4, 1000, [1e-3], [0]);
    near(rowFlow(1e4, 1000, [1e-3, 1e-3], [0, 0]), one / Math.SQRT2, 1e-3);
    const q = rowFlow(1e4, 1000, [1e-3, 1e-3], [1e-4, 0]);
    // Losses of both add up to the whole: q² + (q − 1e-4)² = 2 Δp A²/ρ.
    near(q * q + (q - 1e-4) ** 2, (2 * 1e4 * 1e-6) / 1000, 1e-2);
  });
});

describe('draining times', () => {
  it('Schaschke, Fluid Mechanics: Worked Examples, Ex. 6.3: 1 m3 in a 1 m tank, 20 mm, 0.6, g 9.8: 2124 s', () => {
    const area = circle(1);
    const level = 1 / area;
    const run = draining(area, level, 0.6 * circle(0.02));
    near(
      withGravity(
        timeTo((s) => run(s)[0], 1e-4 * level, 4000),
        9.8,
      ),
      2123.957 * (1 - Math.sqrt(1e-4)),
      3e-3,
    );
  });

  it('Das, Fluid Mechanics, ch. 8: 3 m, hole 0.4 m, 0.6, from 4 m to 2 m: 24.80 s', () => {
    const run = draining(circle(3), 4, 0.6 * circle(0.4));
    near(
      timeTo((s) => run(s)[0], 2, 100),
      24.7965,
      1e-3,
    );
  });

  it('Choudhary & Om Prakash, Ex. 6.17: 1.2 m, hole 50 mm, 3 m, 0.6: 750.8 s to empty, half of √ at a quarter of the level', () => {
    const run = draining(circle(1.2), 3, 0.6 * circle(0.05));
    // √ falls evenly with time, so a quarter of the level is left after half of 750.779 s.
    near(
      timeTo((s) => run(s)[0], 0.75, 1000),
      750.779 / 2,
      2e-3,
    );
  });

  it('Schaschke, two tanks of 8 and 4 m2, 0.62 · 0.01 m2, difference 0.3 → 0.1 m, g 9.81: 44.96 s', () => {
    const run = tanks([8, 4], [1.3, 1], 0.62 * 0.01);
    near(
      withGravity(
        timeTo((s) => run(s)[0] - run(s)[1], 0.1, 200),
        9.81,
      ),
      44.95715,
      1e-3,
    );
  });

  it('equal tanks of 2 m2, 0.6 · 5e-3 m2: difference 1 m → 0.01 m in 0.9 of 150.53 s (recomputed)', () => {
    const run = tanks([2, 2], [2, 1], 0.6 * 5e-3);
    near(
      timeTo((s) => run(s)[0] - run(s)[1], 0.01, 300),
      150.5336 * 0.9,
      2e-3,
    );
  });

  it('against a constant inflow: t = −(2A/k²)[Q ln((Q − k√H2)/(Q − k√H1)) + k(√H2 − √H1)]', () => {
    const [A, a, Q, H1, H2] = [1.5, 0.62e-3, 1e-3, 2, 1];
    const k = a * Math.sqrt(2 * GRAVITY);
    const expected =
      -((2 * A) / (k * k)) *
      (Q * Math.log((Q - k * Math.sqrt(H2)) / (Q - k * Math.sqrt(H1))) + k * (Math.sqrt(H2) - Math.sqrt(H1)));
    const run = tanks([A, 1e9], [H1, 0], a, 0, Q);
    near(
      timeTo((s) => run(s)[0], H2, 3000),
      expected,
      2e-3,
    );
  });

  it('a tank that stands higher flows until the surfaces are level', () => {
    const [low, high] = tanks([1, 1], [0.2, 1], 0.01, 1)(2000);
    // 1.2 m in all, low = high + 1.
    expect(high).toBeCloseTo(0.1, 3);
    expect(low).toBeCloseTo(1.1, 3);
  });
});
