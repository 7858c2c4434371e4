/**
 * Compressible flow through openings against published and recomputed values. Names in brackets say where a figure comes from;
 * "recomputed" figures have no published print and were worked independently with scipy (DOP853, rtol 1e-11).
 */
import { describe, expect, it } from 'vitest';
import { startContents } from '../../server/core/flow/engine';
import { gasNozzle } from '../../server/core/flow/nozzle';
import type { GasModel } from '../../server/core/flow/openings';
import { Openings } from '../../server/core/flow/openings';
import type { StrokePattern } from '../../server/core/flow/pattern';
import { air, gasLine, kPa, gasPressure, strokeOn } from '../support/flow';
import { idealGas } from '../../server/core/flow/media/ideal-gas';

/** Mass flow, kg/s, of an ideal gas with gas constant R through Cd·A. */
const massFlow = (g: number, R: number, area: number, p1: number, T: number, p2: number): number =>
  area * gasNozzle(g).flux(p1, p1 / (R * T), p2 / p1);
const near = (actual: number, expected: number, relative: number): void =>
  expect(Math.abs(actual - expected)).toBeLessThanOrEqual(relative * Math.abs(expected));

describe('mass flow through an opening', () => {
  it.each([
    [1.11, 0.58259],
    [1.289, 0.54772],
    [1.3, 0.54573],
    [1.4, 0.52828],
    [1.405, 0.52744],
    [1.6667, 0.48713],
  ])('critical ratio for γ = %f (gas dynamics tables)', (g, ratio) => near(gasNozzle(g).critical, ratio, 1e-5));

  it('Cengel & Boles, Thermodynamics, Ex. 17-5: 6.77 and 7.10 kg/s by tables, 6.7850 and 7.1063 by the formula', () => {
    // Air at 1 MPa, 600 °C, 150 m/s: stagnation 884.2 K (cp 1.005 kJ/(kg K)), p0 = 1.0453 MPa; throat 50 cm2, γ = 1.4, R = 287.
    const T0 = 873.15 + (150 * 150) / (2 * 1005);
    const p0 = 1e6 * Math.pow(T0 / 873.15, 3.5);
    near(massFlow(1.4, 287, 50e-4, p0, T0, 0.7e6), 6.785, 3e-3);
    near(massFlow(1.4, 287, 50e-4, p0, T0, 0.4e6), 7.1063, 3e-3);
  });

  it('Rajput, Engineering Thermodynamics, ch. 16: 25 mm, 293 K, 140 → 100 kPa and 300 → 100 kPa', () => {
    const area = (Math.PI / 4) * 0.025 ** 2;
    near(massFlow(1.4, 287, area, 140 * kPa, 293, 100 * kPa), 0.149273, 1e-3);
    near(massFlow(1.4, 287, area, 300 * kPa, 293, 100 * kPa), 0.347726, 1e-3);
  });

  it('API 520 part 1, example 1: 24 270 kg/h need 3698 mm2 (M 51, k 1.11, Z 0.90, 348 K, 670 kPa, Kd 0.975)', () => {
    const T = 348;
    const density = (670 * kPa) / (0.9 * (8.314462618 / 0.051) * T);
    const flux = gasNozzle(1.11).flux(670 * kPa, density, 0.1);
    near(24270 / 3600 / (0.975 * flux), 3698e-6, 4e-4);
  });

  it('API 520 part 1, examples 1 and 2: choked at 101 kPa, not at 532 kPa behind 670 kPa', () => {
    const nozzle = gasNozzle(1.11);
    near(nozzle.critical * 670, 390.33, 1e-4);
    expect(nozzle.flux(1, 1, 101 / 670)).toBe(nozzle.flux(1, 1, 0.2));
    expect(nozzle.flux(1, 1, 532 / 670)).toBeLessThan(nozzle.flux(1, 1, 0.2));
  });

  it('Cengel & Cimbala, Fluid Mechanics, Ex. 12-4: CO2 at 1.4 MPa: critical pressure 766.8129 kPa', () => {
    near(gasNozzle(1.289).critical * 1400, 766.8129, 1e-6);
  });

  it('air 6 → 1 bar and 2 → 1.5 bar, 0.62 · 1 cm2 (recomputed)', () => {
    near(massFlow(1.4, 287.05, 0.62e-4, 6e5, 293.15, 1e5), 0.0878091, 1e-5);
    near(massFlow(1.4, 287.05, 0.62e-4, 2e5, 293.15, 1.5e5), 0.0258681, 1e-5);
  });

  it('hydrogen and carbon dioxide (recomputed)', () => {
    near(massFlow(1.405, 4124.48, 4e-5, 35e6, 300, 20e6), 0.859178, 1e-5);
    near(massFlow(1.405, 4124.48, 4e-5, 1e6, 300, 0.9e6), 0.0151989, 1e-5);
    near(massFlow(1.289, 188.92, 1.4e-4, 1e6, 300, 1e5), 0.391223, 1e-5);
    near(massFlow(1.289, 188.92, 1.4e-4, 1e6, 300, 8e5), 0.32632, 1e-5);
  });
});

/** Two chambers with one door of no pocket that opens at once and stays open. */
function equalise(
  law: ReturnType<typeof air>,
  volumes: readonly [number, number],
  pressures: readonly [number, number],
  area: number,
): (seconds: number) => [number, number] {
  const model: GasModel = { ...gasLine(law, volumes, pressures, [{ open: 0 }]), law, areas: Float64Array.of(area) };
  return (seconds) => {
    const contents = startContents(model, Float64Array.of(...volumes, 0));
    const pattern: StrokePattern = {
      doors: [{ initial: 0, moves: [{ t: 0, from: 0, to: 1, arrives: 0 }] }],
      duration: Math.round(seconds * 1e6),
      strokes: 1,
      repeats: false,
      lines: [],
    };
    const orifice = new Openings(model, contents, { relative: 1e-9 });
    expect(strokeOn(orifice, pattern)).toBe(true);
    return [gasPressure(orifice, 0, volumes[0]), gasPressure(orifice, 1, volumes[1])];
  };
}

/** Time at which a falling quantity reaches `target`, by bisection. */
function timeTo(at: (seconds: number) => number, target: number, high: number): number {
  let [a, b] = [0, high];
  for (let k = 0; k < 40; k++) {
    const middle = 0.5 * (a + b);
    if (at(middle) > target) a = middle;
    else b = middle;
  }
  return 0.5 * (a + b);
}

describe('blow-down and equalising in time', () => {
  it('isothermal choked blow-down: p = p0 exp(−t/τ), τ = V p0/(ṁ0 R T) (Botros 1989; Lees 1996)', () => {
    const law = air();
    const m0 = massFlow(1.4, 287.05, 0.62e-4, 20e5, 293.15, 1e5);
    const tau = (0.1 * 20e5) / (m0 * 287.05 * 293.15);
    const [p] = equalise(law, [0.1, 1e6], [20e5, 1e5], 0.62e-4)(tau);
    near(p, 20e5 / Math.E, 1e-6);
  });

  it('adiabatic choked blow-down at t = τ: p/p0 = 0.279082 for γ = 1.4 (same source; one printing of Perry has the sign wrong)', () => {
    const law = air(1.4);
    const m0 = massFlow(1.4, 287.05, 0.62e-4, 60e5, 293.15, 1e5);
    const tau = (0.1 * 60e5) / (m0 * 287.05 * 293.15);
    const [p] = equalise(law, [0.1, 1e6], [60e5, 1e5], 0.62e-4)(tau);
    near(p / 60e5, 0.279082, 1e-5);
  });

  it('Murugaperumal, Gas Dynamics, ch. 1: 5 m3, 10 cm2, 333 K, 40 → 2 bar, isothermal choked: 70.76 s', () => {
    const law = idealGas({
      name: 'air',
      title: '',
      gasConstant: 287,
      heatRatio: 1.4,
      temperature: 333,
      exponent: 1,
      error: () => null,
    });
    const run = equalise(law, [5, 1e7], [40e5, 1000], 10e-4);
    near(
      timeTo((s) => run(s)[0], 2e5, 200),
      70.7603,
      1e-4,
    );
  });

  it.each([
    ['air', air(), [0.1, 0.1], [600, 100], 0.62e-4, 350, 5.0282],
    ['air', air(), [0.1, 0.02], [600, 100], 0.62e-4, 516.6667, 1.45126],
    [
      'nitrogen',
      idealGas({
        name: 'N2',
        title: '',
        gasConstant: 296.803,
        heatRatio: 1.4,
        temperature: 298.15,
        exponent: 1,
        error: () => null,
      }),
      [1, 1],
      [110, 100],
      0.61e-4,
      105,
      10.93487,
    ],
  ] as const)(
    'two vessels, %s, %#: difference down to 1 %% (recomputed)',
    (_n, law, volumes, pressures, area, end, seconds) => {
      const run = equalise(law, volumes, [pressures[0] * kPa, pressures[1] * kPa], area);
      const first = (pressures[0] - pressures[1]) * kPa;
      near(
        timeTo((s) => run(s)[0] - run(s)[1], 0.01 * first, 30),
        seconds,
        2e-4,
      );
      const [a, b] = run(200);
      near(a, end * kPa, 1e-6);
      near(b, end * kPa, 1e-6);
    },
  );
});
