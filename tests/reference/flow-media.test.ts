/**
 * Gas and liquid properties against published tables. "Reference equation": the values of the fundamental equations of state named in
 * server/core/model/media.ts, recomputed from their published coefficients.
 */
import { describe, expect, it } from 'vitest';
import { constantLiquid } from '../../server/core/flow/media/liquid';
import { GAS_CONSTANT } from '../../server/core/flow/media/constants';
import { cubicRoots } from '../../server/core/flow/media/cubic';
import { liquidDensity, liquidPressure } from '../../server/core/flow/media/law';
import type { GasLaw, LiquidLaw } from '../../server/core/flow/media/law';
import { lawOf } from '../../server/core/flow/media/medium-law';
import {
  compressibilityRoots,
  pengRobinson,
  pressureAt,
  realGas,
  vapourPressure,
} from '../../server/core/flow/media/peng-robinson';
import { builtInMedium } from '../../server/core/model/media';
import { levelOf, pressureOf } from '../../server/core/flow/vessel';
import { vessel } from '../support/flow';
import { rigOf } from '../support/rigs';

const near = (actual: number, expected: number, relative: number): void =>
  expect(Math.abs(actual - expected)).toBeLessThanOrEqual(relative * Math.abs(expected));

const medium = (text: string): GasLaw => {
  const law = lawOf(rigOf(`rig x {\n  medium ${text}\n}`).medium!);
  if (typeof law === 'string' || law.phase !== 'gas') throw new Error(String(law));
  return law;
};
/** A gas of the text with the data of a built-in one: it follows the cubic equation, not the published one of that gas. */
const real = (name: string, kelvin: number): GasLaw => {
  const { molarMass, heatRatio, criticalTemperature, criticalPressure, acentricFactor } = builtInMedium(name)!;
  return medium(
    `own gas { law real  temperature ${kelvin} K  molar_mass ${molarMass} kg/mol  heat_ratio ${heatRatio}  critical_temperature ${criticalTemperature} K  critical_pressure ${criticalPressure} Pa  acentric_factor ${acentricFactor} }`,
  );
};
const compressibility = (law: GasLaw, p: number, T: number): number => p / (law.density(p, T) * law.gasConstant * T);

describe('Peng–Robinson', () => {
  const butane = { criticalTemperature: 425.1, criticalPressure: 37.96e5, acentricFactor: 0.2 };

  it('n-butane, 350 K, 9.4573 bar: 2486 and 112.6 cm3/mol (Smith, Van Ness & Abbott, ch. 3)', () => {
    const roots = compressibilityRoots(pengRobinson(butane), 9.4573e5, 350);
    const volume = (z: number): number => (z * GAS_CONSTANT * 350) / 9.4573e5;
    near(volume(roots[2]) * 1e6, 2486, 5e-4);
    near(volume(roots[0]) * 1e6, 112.6, 5e-4);
  });

  it('full-precision constants: 507.6 K, 3.025 MPa, 0.2975 at 400 K, 1 MPa (documentation of a property library)', () => {
    const eos = pengRobinson({ criticalTemperature: 507.6, criticalPressure: 3.025e6, acentricFactor: 0.2975 });
    const roots = compressibilityRoots(eos, 1e6, 400);
    near((roots[0] * GAS_CONSTANT * 400) / 1e6, 0.000156073184785, 1e-9);
    near((roots[2] * GAS_CONSTANT * 400) / 1e6, 0.0021418768167, 1e-9);
  });

  it('70 kg of carbon dioxide in 0.36 m3 at 62 °C: 80.604 bar (Ahuja, Ex. 2.13; reference equation 81.8)', () => {
    near(real('carbon_dioxide', 335.15).pressure(70 / 0.36, 335.15) / 1e5, 80.604, 1e-3);
  });

  it('argon, 105.6 K, 4.96 bar: three roots, the largest 0.8971 (Elliott & Lira, Ex. 7.4)', () => {
    const roots = compressibilityRoots(
      pengRobinson({ criticalTemperature: 150.86, criticalPressure: 48.98e5, acentricFactor: -0.004 }),
      4.96e5,
      105.6,
    );
    near(roots[0], 0.015681, 1e-4);
    near(roots[1], 0.075867, 1e-4);
    near(roots[2], 0.897197, 1e-5);
  });

  it('critical compressibility 0.3074', () => {
    const { criticalTemperature: T, criticalPressure: p } = butane;
    near(compressibilityRoots(pengRobinson(butane), p, T)[0], 0.3074, 2e-3);
  });

  it.each([
    ['hydrogen', 300, 10, 1.03492],
    ['hydrogen', 300, 35, 1.16292],
    ['hydrogen', 300, 70, 1.37991],
    ['nitrogen', 300, 10, 0.98869],
    ['nitrogen', 300, 35, 1.13613],
    ['oxygen', 300, 20, 0.92843],
    ['helium', 300, 35, 1.12349],
    ['carbon_dioxide', 300, 5, 0.67088],
    ['carbon_dioxide', 350, 10, 0.65123],
  ])('%s, %f K, %f MPa: Z = %f (recomputed)', (name, T, p, z) => {
    near(compressibility(real(name, T), p * 1e6, T), z, 2e-4);
  });

  it.each([
    ['hydrogen', 300, 70, 1.44862],
    ['nitrogen', 300, 35, 1.19409],
    ['oxygen', 300, 10, 0.95329],
    ['air', 300, 10, 0.99308],
    ['carbon_dioxide', 350, 10, 0.66097],
    ['helium', 300, 10, 1.04691],
  ])('%s, %f K, %f MPa is within 5 %% of the reference equation (Z = %f)', (name, T, p, z) => {
    near(compressibility(real(name, T), p * 1e6, T), z, 0.05);
  });

  it('density and pressure are each other’s inverse', () => {
    const law = real('carbon_dioxide', 300);
    for (const p of [1e3, 1e5, 1e6, 3e6, 5e6]) near(law.pressure(law.density(p, 300), 300), p, 1e-10);
  });

  it('vapour pressure of water at 100 °C is within 6 % of 101.325 kPa; above the critical point there is none', () => {
    const water = { criticalTemperature: 647.096, criticalPressure: 22.064e6, acentricFactor: 0.3443 };
    near(vapourPressure(pengRobinson(water), water, 373.124)!, 101_325, 0.06);
    expect(vapourPressure(pengRobinson(water), water, 650)).toBeNull();
  });

  it('says when a gas would condense, and not before', () => {
    const law = real('carbon_dioxide', 293.15);
    expect(law.doubt(law.density(4e6, 293.15), 293.15)).toBeNull();
    expect(law.doubt(400, 293.15)).toContain('would condense');
  });

  it('energy and entropy hang together: an even change costs as much energy as work', () => {
    const law = medium('carbon_dioxide { law real  process adiabatic  temperature 320 K }');
    const [from, to] = [50, 80];
    const T = law.temperatureAfter(from, 320, to);
    // ∫ p/ρ² dρ along the path, by Simpson on 200 parts, against the difference of internal energy.
    const f = (d: number): number => law.pressure(d, law.temperatureAfter(from, 320, d)) / (d * d);
    const h = (to - from) / 200;
    let sum = f(from) + f(to);
    for (let k = 1; k < 200; k++) sum += (k % 2 === 1 ? 4 : 2) * f(from + k * h);
    near(law.energy(to, T) - law.energy(from, 320), (sum * h) / 3, 1e-8);
    near(law.work(from, 320, to), (sum * h) / 3, 1e-8);
    near(law.temperatureOf(to, law.energy(to, T)), T, 1e-10);
  });

  it('isothermal work is the integral of p/ρ²', () => {
    const law = real('carbon_dioxide', 320);
    const h = 30 / 200;
    const f = (d: number): number => law.pressure(d, 320) / (d * d);
    let sum = f(50) + f(80);
    for (let k = 1; k < 200; k++) sum += (k % 2 === 1 ? 4 : 2) * f(50 + k * h);
    near(law.work(50, 320, 80), (sum * h) / 3, 1e-8);
  });

  it('comes to the ideal gas as density falls', () => {
    const law = realGas({
      name: 'x',
      title: '',
      molarMass: 0.028,
      heatRatio: 1.4,
      temperature: 300,
      exponent: 1,
      criticalTemperature: 126.192,
      criticalPressure: 3.3958e6,
      acentricFactor: 0.0372,
    });
    near(law.pressure(1e-4, 300), 1e-4 * (GAS_CONSTANT / 0.028) * 300, 1e-6);
    expect(
      pressureAt(
        pengRobinson({ criticalTemperature: 126.192, criticalPressure: 3.3958e6, acentricFactor: 0.0372 }),
        1,
        300,
      ),
    ).toBeCloseTo(GAS_CONSTANT * 300, 0);
  });
});

describe('cubic equations', () => {
  it('one, two and three real roots', () => {
    expect(cubicRoots(-6, 11, -6)).toEqual([1, 2, 3].map((x) => expect.closeTo(x, 12)));
    expect(cubicRoots(0, 0, -27)).toEqual([expect.closeTo(3, 12)]);
    expect(cubicRoots(-4, 5, -2)).toEqual([1, 1, 2].map((x) => expect.closeTo(x, 6)));
    expect(cubicRoots(0, 0, 0)[0]).toBeCloseTo(0, 12);
  });
});

describe('ideal gas', () => {
  it.each([
    ['air', 1.20413],
    ['hydrogen', 0.0838],
    ['helium', 0.16639],
    ['methane', 0.66692],
    ['nitrogen', 1.16455],
    ['oxygen', 1.33023],
    ['carbon_dioxide', 1.82954],
  ])(
    '%s at 20 °C and 101.325 kPa: %f kg/m3 (p M/(R T), recomputed); real within 1 %% of general engineering tables',
    (name, density) => {
      near(medium(name).density(101_325, 293.15), density, 1e-4);
    },
  );

  it.each([
    ['hydrogen', 0.0813],
    ['helium', 0.1615],
    ['nitrogen', 1.13],
    ['air', 1.169],
    ['oxygen', 1.292],
    ['carbon_dioxide', 1.775],
  ])('%s at 25 °C and 100 kPa: %f kg/m3 (Sonntag, Borgnakke & Van Wylen, Table A.5)', (name, density) => {
    near(medium(name).density(1e5, 298.15), density, 1.5e-3);
  });

  it('warns where it is more than 5 % off, and not before', () => {
    const law = medium('carbon_dioxide');
    expect(law.doubt(law.density(5e5, 293.15), 293.15)).toBeNull();
    expect(law.doubt(law.density(30e5, 293.15), 293.15)).toContain('off for carbon_dioxide');
    const air = medium('air');
    expect(air.doubt(air.density(30e5, 293.15), 293.15)).toBeNull();
  });
});

describe('liquids', () => {
  const water: LiquidLaw = constantLiquid({
    name: 'water',
    density: 997.048,
    bulkModulus: 2.2101e9,
    temperature: 298.15,
    vapourPressure: null,
  });

  it('hydrostatic pressure: 10 m of water 97 777.2 Pa; 0.76 m of mercury is one atmosphere (its definition)', () => {
    const column = (law: LiquidLaw, height: number): number => {
      const tank = vessel(100, 298.15, { floorArea: 1 });
      return pressureOf(law, tank, liquidDensity(law, tank.surface) * height, 298.15)! - tank.surface;
    };
    near(
      column(
        constantLiquid({
          name: 'mercury',
          density: 997.05,
          bulkModulus: 28e9,
          temperature: 273.15,
          vapourPressure: null,
        }),
        10,
      ),
      97_777.204,
      1e-6,
    );
    near(
      column(
        constantLiquid({
          name: 'mercury',
          density: 13_595.1,
          bulkModulus: 28e9,
          temperature: 273.15,
          vapourPressure: null,
        }),
        0.76,
      ),
      101_325.014,
      1e-6,
    );
  });

  it('water at 25 °C: 10 MPa compress it by 0.4525 % (κ of Kell 1975; exact IAPWS-95 0.4413 %, K rises with pressure)', () => {
    const shrunk = 1 - water.referenceDensity / liquidDensity(water, 101_325 + 10e6);
    near(shrunk, 0.004525, 3e-3);
    near(liquidPressure(water, liquidDensity(water, 7e6)), 7e6, 1e-9);
  });

  it('forcing 1 mL more into a closed rigid litre raises the pressure by 2.21 MPa: K · ln 1.001 (arithmetic)', () => {
    const tank = vessel(1e-3, 298.15, { floorArea: 0.01 });
    const full = liquidDensity(water, tank.surface) * tank.volume;
    near(
      pressureOf(water, tank, full * 1.001, 298.15)! - pressureOf(water, tank, full, 298.15)!,
      2.2101e9 * Math.log(1.001),
      1e-6,
    );
    expect(levelOf(water, tank, full * 1.001)).toBeCloseTo(0.1, 9);
  });
});
