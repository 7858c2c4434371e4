/** Openings stated as area, Kv (IEC 60534) and conductance (ISO 6358) against published forms and figures. */
import { describe, expect, it } from 'vitest';
import { gasNozzle, liquidSpeed } from '../../server/core/flow/nozzle';
import {
  conductanceOpening,
  kvOpening,
  leakLaw,
  openingLaw,
  type OpeningLaw,
} from '../../server/core/flow/opening-laws';
import { rigFrom } from '../support/rig';

const within = (actual: number, expected: number, relative: number): void =>
  expect(Math.abs(actual / expected - 1)).toBeLessThanOrEqual(relative);
const door = (properties: string) => rigFrom(`rig r {\ndoor d { ${properties} }\n}`).rig.doors[0]!;
const flow = ({ area, nozzle }: OpeningLaw, p1: number, rho1: number, p2: number): number =>
  area * nozzle.flux(p1, rho1, p2 / p1);

describe('ISO 6358', () => {
  // ṁ = C p1 ρ0 √(T0/T1) √(1 − ((r − b)/(1 − b))²), ρ0 = 1.185 kg/m3, T0 = 293.15 K; C = 1e-8 m3/(s Pa), b = 0.35, p1 = 7 bar.
  const law = conductanceOpening(1e-8, 0.35, 1.4);
  const density = (p: number, T: number): number => (p * 1.185 * 293.15) / (1e5 * T);

  it.each([
    [1, 0.008295],
    [5, 0.00686988],
    [6.5, 0.00378041],
  ])('from 7 bar to %d bar at 20 °C: %d kg/s', (p2, rate) =>
    within(flow(law, 7e5, density(7e5, 293.15), p2 * 1e5), rate, 1e-5),
  );

  it('falls with the root of the temperature', () =>
    within(flow(law, 7e5, density(7e5, 393.15), 1e5), 0.008295 * Math.sqrt(293.15 / 393.15), 1e-5));

  it('is choked up to its ratio b exactly', () => {
    expect(law.nozzle.critical).toBe(0.35);
    within(flow(law, 7e5, 8, 0.35 * 7e5), flow(law, 7e5, 8, 1e3), 1e-9);
    expect(flow(law, 7e5, 8, 0.4 * 7e5)).toBeLessThan(flow(law, 7e5, 8, 1e3));
  });

  it('with the ratio of an ideal nozzle it is within 0.2 % of isentropic flow at r = 0.8', () => {
    // Relative to the choked flow: ellipse 0.81744, isentropic 0.81880 (formulas as above).
    const ellipse = conductanceOpening(1e-8, 0.5283, 1.4);
    within(flow(ellipse, 1e5, 1, 0.8e5) / flow(ellipse, 1e5, 1, 0), 0.81744, 2e-5);
    const nozzle = gasNozzle(1.4);
    within(nozzle.flux(1e5, 1, 0.8) / nozzle.flux(1e5, 1, 0), 0.8188, 1e-4);
  });

  it('hydrogen flows faster by the root of the ratio of the gas constants, helium also by its critical flow function', () => {
    const at = (gasConstant: number, heatRatio: number): number =>
      flow(conductanceOpening(1e-8, 0.35, heatRatio), 7e5, 7e5 / (gasConstant * 293.15), 1e5);
    within(at(4124.5, 1.4) / at(287.05, 1.4), Math.sqrt(287.05 / 4124.5), 1e-9);
    within(at(2077.26, 1.6667) / at(2077.26, 1.4), 0.72619 / 0.68473, 1e-4);
  });
});

describe('Kv', () => {
  it('is the flow of water at 1 bar, and follows the root of difference and density (IEC 60534-1)', () => {
    const { area } = kvOpening(10 / 3600, 0.7, 1.4);
    within(area * liquidSpeed(1e5, 1000) * 3600, 10, 1e-12);
    within(area * liquidSpeed(4e5, 1000) * 3600, 20, 1e-12);
    within(area * liquidSpeed(1e5, 900) * 3600, 10 / Math.sqrt(0.9), 1e-12);
  });

  // IEC 60534-2-1, mass flow of gas: W = N6 C Y √(x p1 ρ1), N6 = 31.6 with kg/h, Kv, bar and kg/m3.
  it.each([
    [0.1, 1.4, 0.72],
    [0.4, 1.3, 0.72],
    [0.9, 1.4, 0.72],
    [0.5, 1.4, 0.2],
  ])('gas at x = %d, γ = %d, xT = %d', (x, gamma, xt) => {
    const fx = (gamma / 1.4) * xt;
    const used = Math.min(x, fx);
    const expected = 31.6 * 25 * (1 - used / (3 * fx)) * Math.sqrt(used * 6 * 7.1);
    within(flow(kvOpening(25 / 3600, xt, gamma), 6e5, 7.1, 6e5 * (1 - x)) * 3600, expected, 1e-3);
  });

  it('chokes at Y = 2/3', () => {
    const law = kvOpening(25 / 3600, 0.72, 1.4);
    within(law.nozzle.critical, 0.28, 1e-9);
    within(flow(law, 6e5, 7.1, 1e3) * 3600, 31.6228 * 25 * (2 / 3) * Math.sqrt(0.72 * 6 * 7.1), 1e-5);
  });

  it('air through a Kv of 1 from 7 to 6 bar, about 82 normal m3/h (514 Kv √(Δp p2 / (ρn T1)), common form of makers)', () => {
    // 514 · 1 · √(1 · 6 / (1.293 · 293)): absolute pressures in bar, ρn = 1.293 kg/m3 at 0 °C.
    const normal = 514 * Math.sqrt(6 / (1.293 * 293));
    const law = kvOpening(1 / 3600, 0.7, 1.4);
    const mass = flow(law, 7e5, 7e5 / (287.05 * 293), 6e5) * 3600;
    within(mass / 1.293, normal, 0.03);
  });
});

describe('openings of doors', () => {
  it('bore with its discharge', () => {
    within(openingLaw(door('bore 20 mm discharge 0.8'), 1.4)!.area, 0.8 * Math.PI * 1e-4, 1e-12);
    within(openingLaw(door('area 1 cm2'), 1.4)!.area, 0.62e-4, 1e-12);
  });

  it('kv and conductance come before the bore, which then is the size of the leaf only', () => {
    within(openingLaw(door('bore 20 mm kv 3.6 m3/h'), 1.4)!.area, 1e-3 * Math.sqrt(1000 / 2e5), 1e-12);
    expect(openingLaw(door('conductance 5 L/s/bar ratio 0.3'), 1.4)!.nozzle.critical).toBe(0.3);
    expect(openingLaw(door('travel 1 s'), 1.4)).toBeNull();
  });

  it('all three agree on a small difference of a given effective area', () => {
    for (const law of [
      openingLaw(door('area 1 cm2 discharge 1'), 1.4)!,
      kvOpening(1e-3, 0.7, 1.4),
      conductanceOpening(2e-7, 0.4, 1.4),
    ]) {
      const drop = 1e-3 * 5e5;
      within(flow(law, 5e5, 6, 5e5 - drop), law.area * Math.sqrt(2 * drop * 6), 2e-3);
    }
  });

  it('flow begins in proportion to the difference and grows without a step', () => {
    for (const law of [kvOpening(1e-3, 0.7, 1.4), conductanceOpening(2e-7, 0.4, 1.4)]) {
      expect(law.nozzle.flux(1e5, 1, 1)).toBe(0);
      let before = 0;
      for (let k = -90; k <= 0; k++) {
        const q = law.nozzle.flux(1e5, 1, 1 - 10 ** (k / 10));
        expect(q).toBeGreaterThanOrEqual(before);
        before = q;
      }
    }
  });

  it('leaks: a share of the opening, an area, a conductance', () => {
    within(leakLaw(door('kv 3.6 m3/h leak 1 %'), 1.4)!.area, 1e-5 * Math.sqrt(1000 / 2e5), 1e-12);
    within(leakLaw(door('leak 1 mm2'), 1.4)!.area, 0.62e-6, 1e-12);
    expect(leakLaw(door('leak 0.01 L/s/bar'), 1.4)!.nozzle.critical).toBe(0);
    expect(leakLaw(door('bore 20 mm'), 1.4)).toBeNull();
  });
});
