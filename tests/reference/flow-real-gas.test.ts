/**
 * Real gases against published figures. "Library" below is CoolProp 8.0 (open source), which evaluates the reference equations of
 * state themselves: Leachman et al. 2009, Span et al. 2000, Schmidt and Wagner 1985, Setzmann and Wagner 1991, Span and Wagner 1996,
 * Tegeler et al. 1999, Ortiz-Vega et al. 2019, Lemmon et al. 2000, Thol et al. 2021. The web tables of the United States' National
 * Institute of Standards and Technology use the same equations.
 */
import { describe, expect, it } from 'vitest';
import { GAS_EQUATIONS } from '../../server/core/flow/media/gas-equations';
import { helmholtz } from '../../server/core/flow/media/helmholtz';
import type { GasLaw } from '../../server/core/flow/media/law';
import { lawOf } from '../../server/core/flow/media/medium-law';
import { builtInMedium } from '../../server/core/model/media';
import { rigFrom } from '../support/rig';

function gas(text: string): GasLaw {
  const law = lawOf(rigFrom(`medium ${text}\nrig r {\n}`).rig.medium!);
  if (typeof law === 'string' || law.phase !== 'gas') throw new Error(String(law));
  return law;
}
const real = (name: string, process = 'isothermal'): GasLaw => gas(`${name} { law real process ${process} }`);
const within = (actual: number, expected: number, relative: number): void =>
  expect(Math.abs(actual / expected - 1)).toBeLessThanOrEqual(relative);

/** Z at 300 K: Library. */
const COMPRESSIBILITY: readonly (readonly [string, readonly (readonly [megapascal: number, z: number])[]])[] = [
  [
    'hydrogen',
    [
      [0.101325, 1.00059],
      [1, 1.00586],
      [10, 1.05985],
      [35, 1.21956],
      [70, 1.44862],
    ],
  ],
  [
    'nitrogen',
    [
      [0.101325, 0.99982],
      [1, 0.9984],
      [10, 1.00521],
      [35, 1.19409],
      [70, 1.60472],
    ],
  ],
  [
    'oxygen',
    [
      [0.101325, 0.99937],
      [1, 0.99392],
      [10, 0.95329],
      [35, 1.02167],
      [70, 1.34146],
    ],
  ],
  [
    'helium',
    [
      [0.101325, 1.00048],
      [1, 1.00474],
      [10, 1.04691],
      [35, 1.15996],
      [70, 1.31018],
    ],
  ],
  [
    'air',
    [
      [0.101325, 0.99969],
      [1, 0.99716],
      [10, 0.99308],
      [35, 1.15557],
      [70, 1.54668],
    ],
  ],
  [
    'carbon_dioxide',
    [
      [0.101325, 0.99506],
      [1, 0.94964],
      [4, 0.76741],
      [5, 0.68707],
      [6, 0.58067],
    ],
  ],
];

describe('compressibility at 300 K, to 0.5 %', () => {
  for (const [name, points] of COMPRESSIBILITY) {
    it.each(points.map(([mpa, z]) => [name, mpa, z] as const))('%s at %d MPa: %d', (_, mpa, z) => {
      const law = real(name);
      within((mpa * 1e6) / (law.density(mpa * 1e6, 300) * law.gasConstant * 300), z, 0.005);
    });
  }

  // Lemmon, Huber, Leachman, J. Res. NIST 113, 341 (2008), Table 2: an equation of its own for hydrogen fuel.
  it.each([
    [200, 1, 1.0067545],
    [300, 10, 1.05985282],
    [400, 50, 1.24304763],
  ])('hydrogen at %d K and %d MPa: %d', (T, mpa, z) => {
    const law = real('hydrogen');
    within((mpa * 1e6) / (law.density(mpa * 1e6, T) * law.gasConstant * T), z, 1e-4);
  });

  // SAE J2601 (from memory): 24.0 and 40.2 g/L at 15 °C.
  it.each([
    [35, 24.0],
    [70, 40.2],
  ])('hydrogen in a vehicle tank of %d MPa at 15 °C: %d g/L', (mpa, rho) =>
    within(real('hydrogen').density(mpa * 1e6, 288.15), rho, 0.002),
  );

  // Perry's Chemical Engineers' Handbook, compressibility of air at 300 K (from memory).
  it.each([
    [20, 0.995],
    [100, 0.993],
    [200, 1.0326],
    [300, 1.1089],
    [500, 1.3163],
  ])('air at %d bar: %d', (bar, z) => {
    const law = real('air');
    within((bar * 1e5) / (law.density(bar * 1e5, 300) * law.gasConstant * 300), z, 0.001);
  });
});

/** Library: name, K, MPa, density kg/m3, cp and cv J/(kg K), speed of sound m/s. */
const STATES: readonly (readonly [string, number, number, number, number, number, number])[] = [
  ['argon', 250, 20, 447.645, 950.817, 359.682, 353.458],
  ['argon', 300, 70, 828.622, 800.363, 374.219, 616.959],
  ['argon', 400, 70, 642.644, 708.463, 353.079, 591.384],
  ['carbon_dioxide', 310, 20, 856.273, 2220.38, 917.795, 530.037],
  ['carbon_dioxide', 310, 70, 1052.2, 1670.22, 926.212, 900.209],
  ['carbon_dioxide', 350, 35, 800.68, 1931.89, 903.675, 539.838],
  ['carbon_dioxide', 400, 70, 841.758, 1608.58, 910.029, 679.741],
  ['methane', 250, 20, 223.229, 4129.32, 1833.63, 580.441],
  ['methane', 300, 70, 306.65, 3103.29, 1939.88, 1059.67],
  ['methane', 400, 70, 244.81, 3195.29, 2161.26, 925.654],
  ['nitrogen', 250, 20, 268.096, 1462.37, 798.876, 405.503],
  ['nitrogen', 300, 70, 489.899, 1366.87, 832.117, 706.702],
  ['nitrogen', 400, 70, 394.274, 1264.24, 808.107, 688.504],
  ['oxygen', 250, 20, 363.064, 1492.6, 716.816, 346.948],
  ['oxygen', 300, 70, 669.432, 1296.14, 735.13, 622.395],
  ['oxygen', 400, 70, 515.526, 1188.51, 725.748, 596.099],
  ['hydrogen', 250, 20, 17.0073, 14627.5, 10119.3, 1399.6],
  ['hydrogen', 300, 70, 39.0528, 15031.4, 10702.6, 1916.08],
  ['helium', 300, 70, 85.7341, 5204.03, 3263.72, 1294.68],
  ['air', 250, 20, 287.026, 1451.09, 775.232, 391.247],
  ['air', 300, 70, 525.559, 1338.77, 805.673, 685.736],
  ['chlorine', 400, 4, 111.413, 846.639, 473.195, 213.765],
  ['chlorine', 450, 4, 88.5243, 662.661, 433.557, 241.081],
];

describe('properties', () => {
  it.each(STATES)('%s at %d K and %d MPa', (name, T, mpa, rho, cp, cv, sound) => {
    const equation = GAS_EQUATIONS.get(name)!;
    within(real(name).density(mpa * 1e6, T), rho, equation.error);
    const state = helmholtz(equation).state(rho, T);
    // At a given density: the stiffer the gas, the more an error of the density shows.
    within(state.pressure, mpa * 1e6, 0.013);
    within(state.cp, cp, 0.02);
    within(state.cv, cv, 0.02);
    within(state.soundSpeed, sound, 0.02);
  });

  it('the ideal limit has the heat ratio of the table of media', () => {
    for (const [name, equation] of GAS_EQUATIONS) {
      const { cp, cv } = helmholtz(equation).state(0, 300);
      within(cp / cv, builtInMedium(name)!.heatRatio!, 5e-4);
    }
  });

  it('derivatives fit together: pressure, energy and entropy by differences', () => {
    for (const [name, equation] of GAS_EQUATIONS) {
      const eos = helmholtz(equation);
      const [rho, T] = [0.3 * equation.reducingDensity * equation.molarMass, 430];
      const s = eos.state(rho, T);
      const step = 1e-4;
      const by = (f: (rho: number, T: number) => number, wrt: 'rho' | 'T'): number =>
        wrt === 'rho'
          ? (f(rho * (1 + step), T) - f(rho * (1 - step), T)) / (2 * step * rho)
          : (f(rho, T * (1 + step)) - f(rho, T * (1 - step))) / (2 * step * T);
      within(by(eos.pressure, 'rho'), s.stiffness, 1e-6);
      within(by(eos.energy, 'T'), s.cv, 1e-6);
      within(by(eos.entropy, 'T'), s.cv / T, 1e-6);
      // Maxwell: (∂s/∂ρ) = −(∂p/∂T)/ρ²; and (∂u/∂ρ) = (p − T ∂p/∂T)/ρ².
      within(by(eos.entropy, 'rho'), -by(eos.pressure, 'T') / rho ** 2, 1e-5);
      within(by(eos.energy, 'rho') * rho ** 2 + T * by(eos.pressure, 'T'), s.pressure, 1e-5);
      expect(name).toBeTruthy();
    }
  });
});

describe('the law of a built-in gas', () => {
  it.each(['nitrogen', 'hydrogen', 'carbon_dioxide', 'methane', 'air'])(
    '%s: inverses and isentropic changes',
    (name) => {
      const law = real(name, 'adiabatic');
      for (const [p, T] of [
        [1e5, 300],
        [5e6, 310],
        [35e6, 350],
      ] as const) {
        const rho = law.density(p, T);
        within(law.pressure(rho, T), p, 1e-9);
        within(law.temperatureOf(rho, law.energy(rho, T)), T, 1e-9);
        const after = law.temperatureAfter(rho, T, 1.5 * rho);
        within(law.entropy(1.5 * rho, after), law.entropy(rho, T), 1e-9);
        within(law.temperatureAfter(1.5 * rho, after, rho), T, 1e-9);
        // Work is the integral of p dv along the way (Simpson's rule in v).
        const points = 200;
        let sum = 0;
        const [v0, v1] = [1 / rho, 1 / (1.5 * rho)];
        for (let k = 0; k <= points; k++) {
          const v = v0 + ((v1 - v0) * k) / points;
          const weight = k === 0 || k === points ? 1 : k % 2 === 1 ? 4 : 2;
          sum += weight * law.pressure(1 / v, law.temperatureAfter(rho, T, 1 / v));
        }
        within(law.work(rho, T, 1.5 * rho), (-sum * (v1 - v0)) / (3 * points), 1e-6);
      }
    },
  );

  it('isothermal work is the integral of p dv too', () => {
    const law = real('nitrogen');
    const rho = law.density(20e6, 300);
    let sum = 0;
    const n = 400;
    for (let k = 0; k < n; k++) {
      const v = 1 / rho + ((1 / (2 * rho) - 1 / rho) * (k + 0.5)) / n;
      sum += law.pressure(1 / v, 300);
    }
    within(law.work(rho, 300, 2 * rho), (-sum * (1 / (2 * rho) - 1 / rho)) / n, 1e-5);
  });

  it('a polytropic change keeps p v^n in the ideal limit', () => {
    const law = gas('nitrogen { law real process polytropic exponent 1.25 }');
    within(law.temperatureAfter(0.01, 300, 0.02), 300 * 2 ** 0.25, 1e-4);
  });

  it('nitrogen at 500 bar and 300 K in 50 L: 20.59 kg', () =>
    within(real('nitrogen').density(500e5, 300) * 0.05, 20.59, 0.005));

  it('says where it ends', () => {
    const law = real('nitrogen');
    expect(law.outside(law.density(90e6, 300), 300)).toBeNull();
    expect(law.outside(900, 300)).toMatch(/^nitrogen would be at \d+ bar; its law holds up to 1000 bar$/);
    expect(law.outside(1, 700)).toBe('nitrogen would be at 426.9 °C; its law holds up to 326.9 °C');
    expect(law.outside(1, Number.NaN)).toContain('nitrogen would be at');
    const ideal = gas('air');
    expect(ideal.outside(1, 187_838)).toBe('air would be at 187600 °C; its law holds up to 1227 °C');
    expect(ideal.outside(ideal.density(19_388e5, 293.15), 293.15)).toContain('where the ideal gas law is about');
  });

  it('carbon dioxide condenses at 20 °C above 57.29 bar (vapour pressure of Span and Wagner 1996: 5.7291 MPa)', () => {
    const law = real('carbon_dioxide');
    expect(law.doubt(law.density(57e5, 293.15), 293.15)).toBeNull();
    expect(law.doubt(300, 293.15)).toBe('carbon_dioxide would condense: at 20.0 °C it turns liquid above 57.29 bar');
    expect(law.doubt(300, 305)).toBeNull();
  });

  it('another substance than the built-in one follows the cubic equation, and says how far that is off', () => {
    expect(real('nitrogen').title).toBe('real gas (Span and Wagner 2003), isothermal');
    expect(gas('nitrogen { law real molar_mass 30 g/mol }').title).toBe(
      'real gas (Peng-Robinson, up to 5 % off above 100 bar), isothermal',
    );
  });
});

describe('Peng-Robinson', () => {
  it('entropy, heat capacity and speed of sound fit its pressure and energy', () => {
    const law = gas('nitrogen { law real molar_mass 28.0134 g/mol process adiabatic }');
    const [rho, T, step] = [200, 320, 1e-4];
    const slope = (f: (T: number) => number): number => (f(T * (1 + step)) - f(T * (1 - step))) / (2 * step * T);
    within(
      slope((t) => law.energy(rho, t)),
      law.heatCapacity(rho, T),
      1e-6,
    );
    within(
      slope((t) => law.entropy(rho, t)),
      law.heatCapacity(rho, T) / T,
      1e-6,
    );
    // a² = (∂p/∂ρ) at constant entropy.
    const along = (factor: number): number => law.pressure(rho * factor, law.temperatureAfter(rho, T, rho * factor));
    within((along(1 + step) - along(1 - step)) / (2 * step * rho), law.soundSpeed(rho, T) ** 2, 1e-6);
  });
});
