/** Water by temperature and pressure: IAPWS R7-97(2012) check values, IAPWS-95 and Kell (1975) beside them. */
import { describe, expect, it } from 'vitest';
import type { LiquidLaw } from '../../server/core/flow/media/law';
import { lawOf } from '../../server/core/flow/media/medium-law';
import { saturationPressure, waterAt } from '../../server/core/flow/media/water';
import { liquidMassAt, pressureOf, type Vessel } from '../../server/core/flow/vessel';
import { rigFrom } from '../support/rig';

const law = (text: string): LiquidLaw | string =>
  lawOf(rigFrom(`medium ${text}\nrig r {\n}`).rig.medium!) as LiquidLaw | string;
const water = (temperature: string): LiquidLaw => law(`water { temperature ${temperature} }`) as LiquidLaw;
const within = (actual: number, expected: number, relative: number): void =>
  expect(Math.abs(actual / expected - 1)).toBeLessThanOrEqual(relative);

describe('the formulation itself', () => {
  // IAPWS R7-97(2012), Table 5: specific volume in m3/kg.
  it.each([
    [300, 3, 0.100215168e-2],
    [300, 80, 0.971180894e-3],
    [500, 3, 0.1202418e-2],
  ])('%d K and %d MPa: %d m3/kg', (T, mpa, v) => within(1 / waterAt(T).density(mpa * 1e6), v, 5e-9));

  // Ibid., Table 35.
  it.each([
    [300, 0.353658941e-2],
    [500, 2.63889776],
    [600, 12.3443146],
  ])('boils at %d K under %d MPa', (T, mpa) => within(saturationPressure(T), mpa * 1e6, 1e-8));
});

describe('medium water', () => {
  // Density: IAPWS-95 at 101 325 Pa; compressibility: Kell (1975) in the tables of London South Bank University.
  it.each([
    [0.01, 999.844, 0.5089],
    [10, 999.702, 0.4781],
    [20, 998.207, 0.4589],
    [25, 997.048, 0.45247],
    [30, 995.649, 0.4477],
    [40, 992.216, 0.4424],
    [60, 983.196, 0.445],
    [80, 971.79, 0.4614],
  ])('at %d degC: %d kg/m3 and %d per GPa', (celsius, rho, compressibility) => {
    const liquid = water(`${celsius} degC`);
    within(liquid.referenceDensity, rho, 2e-5);
    // The formulation follows the compressibility of IAPWS-95 to 0.4 % only; what it presses follows from densities, which are closer.
    within(1e9 / liquid.bulkModulus, compressibility, 0.004);
  });

  it('to 10 MPa it is pressed by 0.4413 % at 25 degC (IAPWS-95; 0.4525 % with constant stiffness)', () => {
    const liquid = water('25 degC');
    const [before, after] = [liquid.densityAt(101_325), liquid.densityAt(10e6)];
    within(1 - before / after, 0.004413, 0.003);
  });

  it('pressure and density are inverses, also beyond the ends of the equation', () => {
    const liquid = water('60 degC');
    for (const p of [-5e5, 0, 2e4, 101_325, 3e6, 99e6, 100e6, 150e6]) {
      expect(Math.abs(liquid.pressureAt(liquid.densityAt(p)) - p)).toBeLessThanOrEqual(
        1e-6 * Math.max(Math.abs(p), 1e5),
      );
    }
  });

  it('stiffness rises with the pressure (IAPWS-95: 2.2101 GPa at 1 atm, about 2.83 GPa at 100 MPa and 25 degC)', () => {
    const at = waterAt(298.15);
    within(at.bulkModulus(101_325), 2.2101e9, 0.002);
    within(at.bulkModulus(100e6), 2.83e9, 0.02);
  });

  it('states its vapour pressure, and the temperature in its title', () => {
    // IAPWS-95 at 80 degC: 47.414 kPa.
    within(water('80 degC').vapourPressure!, 47_414, 1e-3);
    expect(water('80 degC').title).toBe('water at 80 °C (IAPWS-IF97)');
  });

  // IAPWS R7-97(2012), Table 5: 0.971180894e-3 m3/kg at 300 K and 80 MPa. With the stiffness at 1 atm throughout it would be 73 MPa.
  it('a full chamber into which more is forced follows the equation, too', () => {
    const liquid = water('26.85 degC');
    const tank: Vessel = {
      name: 'press',
      volume: 1e-3,
      temperature: 300,
      surface: 101_325,
      floorArea: 0.01,
      elevation: 0,
    };
    const mass = tank.volume / 0.971180894e-3;
    within(pressureOf(liquid, tank, mass, 300)!, 80e6, 1e-4);
    within(liquidMassAt(liquid, tank, 80e6), mass, 1e-5);
    const held = liquidMassAt(liquid, tank, 20e6);
    within(pressureOf(liquid, tank, held, 300)!, 20e6, 1e-8);
  });

  it('is no liquid everywhere', () => {
    expect(law('water { temperature -5 degC }')).toContain('is ice');
    expect(law('water { temperature 400 degC }')).toContain('beyond 350 °C');
  });

  it('values of the text come before those of the equation', () => {
    const own = law('water { temperature 80 degC density 980 kg/m3 }') as LiquidLaw;
    expect(own.referenceDensity).toBe(980);
    within(own.bulkModulus, 1e9 / 0.4614, 0.004);
  });
});
