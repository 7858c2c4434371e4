/**
 * Peng–Robinson equation of state (Peng & Robinson, Ind. Eng. Chem. Fundam. 15, 59 (1976)) with full-precision constants; energy
 * and entropy by its departure functions, the ideal part with a constant heat capacity cv = R/(n − 1).
 * Against reference equations it is 2 to 5 % low in the compressibility factor of hydrogen and nitrogen at 10 to 70 MPa: the title says so.
 *
 * Why this one where no reference equation is at hand: it needs three numbers that any handbook has (Tc, pc, ω), and is explicit in v, so that
 * pressure costs nothing and density one cubic.
 *
 * Choice of the root: at a given pressure the cubic in Z has one real root above Tc and up to three below. The largest is the vapour, the
 * smallest the liquid, the middle one has dp/dv > 0 and cannot exist. The gas law takes the largest always; where that is no longer the stable
 * phase, `doubt` says that it condenses.
 */
import { cubicRoots } from './cubic';
import { type GasLaw, gasRange } from './law';
import { GAS_CONSTANT } from './constants';
import { say } from '../../words/say';

const OMEGA_A = 0.457235528921382;
const OMEGA_B = 0.0777960739038885;
const ROOT2 = Math.SQRT2;

/** The three numbers that the equation needs of a substance: K, Pa, and the acentric factor. */
export interface CriticalData {
  readonly criticalTemperature: number;
  readonly criticalPressure: number;
  readonly acentricFactor: number;
}

/** Per mole: a(T), its derivatives, and b. */
export interface PengRobinson {
  readonly b: number;
  a(temperature: number): number;
  slope(temperature: number): number;
  curvature(temperature: number): number;
}

/** Coefficients of the equation for one substance, SI units per mole. */
export function pengRobinson(data: CriticalData): PengRobinson {
  const { criticalTemperature: Tc, criticalPressure: pc, acentricFactor: w } = data;
  const ac = (OMEGA_A * GAS_CONSTANT * GAS_CONSTANT * Tc * Tc) / pc;
  // Fitted to vapour pressures for ω below about 0.5 (Peng & Robinson 1976, eq. 18).
  const kappa = 0.37464 + (1.54226 - 0.26992 * w) * w;
  const root = (T: number): number => 1 + kappa * (1 - Math.sqrt(T / Tc));
  return {
    b: (OMEGA_B * GAS_CONSTANT * Tc) / pc,
    a: (T) => ac * root(T) * root(T),
    slope: (T) => (-ac * kappa * root(T)) / Math.sqrt(T * Tc),
    curvature: (T) => (ac * kappa * (1 + kappa)) / (2 * T * Math.sqrt(T * Tc)),
  };
}

/** Pressure, Pa, at a molar volume, m3/mol. */
export function pressureAt(eos: PengRobinson, volume: number, temperature: number): number {
  const { b } = eos;
  return (GAS_CONSTANT * temperature) / (volume - b) - eos.a(temperature) / (volume * volume + 2 * b * volume - b * b);
}

/** Compressibility factors that solve the cubic at (p, T), ascending, those below B (no real state) left out. */
export function compressibilityRoots(eos: PengRobinson, pressure: number, temperature: number): number[] {
  const RT = GAS_CONSTANT * temperature;
  const A = (eos.a(temperature) * pressure) / (RT * RT);
  const B = (eos.b * pressure) / RT;
  const roots = cubicRoots(B - 1, A - 3 * B * B - 2 * B, -(A * B - B * B - B * B * B));
  return roots.filter((z) => z > B);
}

/** Natural logarithm of the fugacity coefficient of the phase with compressibility factor `z`. */
function logFugacity(eos: PengRobinson, z: number, pressure: number, temperature: number): number {
  const RT = GAS_CONSTANT * temperature;
  const A = (eos.a(temperature) * pressure) / (RT * RT);
  const B = (eos.b * pressure) / RT;
  return z - 1 - Math.log(z - B) - (A / (2 * ROOT2 * B)) * Math.log((z + (1 + ROOT2) * B) / (z + (1 - ROOT2) * B));
}

/**
 * Vapour pressure, Pa, by equal fugacity of the two phases; null at or above the critical temperature, or where the iteration
 * does not settle (very low reduced temperatures).
 */
export function vapourPressure(eos: PengRobinson, data: CriticalData, temperature: number): number | null {
  const { criticalTemperature: Tc, criticalPressure: pc, acentricFactor: w } = data;
  if (temperature >= Tc) return null;
  // Wilson's estimate, then p ← p · φ(liquid)/φ(vapour): at equal fugacity the ratio is 1, and it points the right way elsewhere.
  let p = pc * Math.exp(5.373 * (1 + w) * (1 - Tc / temperature));
  for (let k = 0; k < 60; k++) {
    const roots = compressibilityRoots(eos, p, temperature);
    const liquid = roots[0];
    const vapour = roots[roots.length - 1];
    if (roots.length < 3 || liquid === undefined || vapour === undefined) {
      // One root only: move towards the range where both phases exist.
      if (liquid === undefined) return null;
      p *= liquid < 0.3 ? 0.9 : 1.1;
      continue;
    }
    const ratio = Math.exp(logFugacity(eos, liquid, p, temperature) - logFugacity(eos, vapour, p, temperature));
    p *= ratio;
    if (Math.abs(ratio - 1) < 1e-10) return p;
  }
  return null;
}

/** Where the cubic equation is used at all; its ideal part has a constant heat capacity. */
const RANGE = { coldest: 100, hottest: 1500, pressure: 100e6 };

export interface RealGasData extends CriticalData {
  readonly name: string;
  readonly title: string;
  /** kg/mol */
  readonly molarMass: number;
  readonly heatRatio: number;
  readonly temperature: number;
  /** See `GasLaw.exponent`. */
  readonly exponent: number;
}

/** Solves f(T) = 0 for a rising f by Newton steps kept inside a shrinking bracket. */
function solveTemperature(f: (T: number) => number, slope: (T: number) => number, guess: number): number {
  let low = 1;
  let high = 1e5;
  let T = guess;
  for (let k = 0; k < 60; k++) {
    const value = f(T);
    if (value > 0) high = T;
    else low = T;
    // Energy and entropy rise with T (their slope is a heat capacity), so a bracket of any two temperatures around the root keeps it.
    let next = T - value / slope(T);
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    if (Math.abs(next - T) <= 1e-12 * T) return next;
    T = next;
  }
  return T;
}

/** Energy, entropy and stiffness per mole as functions of molar volume v (m3/mol) and temperature T (K); `cv` is the ideal part's, J/(mol K). */
interface Molar {
  readonly cv: number;
  /** J/mol, from an arbitrary zero. */
  energy(v: number, T: number): number;
  /** Heat capacity at constant volume. */
  heat(v: number, T: number): number;
  entropy(v: number, T: number): number;
  /** −∫ p dv at constant temperature, J/mol, from an arbitrary zero. */
  isothermalWork(v: number, T: number): number;
  /** (∂p/∂T) at constant volume. */
  heating(v: number, T: number): number;
  /** (∂p/∂ρ) at constant temperature, per mole. */
  stiffness(v: number, T: number): number;
}

/** The ideal part with its constant heat capacity, and the departure of the equation from it. */
function molarProperties(eos: PengRobinson, cv: number): Molar {
  const { b } = eos;
  // ∫ dv/(v² + 2bv − b²) from v to infinity, in closed form: all departure functions are made of it.
  const logTerm = (v: number): number => Math.log((v + (1 + ROOT2) * b) / (v + (1 - ROOT2) * b)) / (2 * ROOT2 * b);
  return {
    cv,
    energy: (v, T) => cv * T + (T * eos.slope(T) - eos.a(T)) * logTerm(v),
    heat: (v, T) => cv + T * eos.curvature(T) * logTerm(v),
    entropy: (v, T) => cv * Math.log(T) + GAS_CONSTANT * Math.log(v - b) + eos.slope(T) * logTerm(v),
    isothermalWork: (v, T) => -(GAS_CONSTANT * T * Math.log(v - b) + eos.a(T) * logTerm(v)),
    heating: (v, T) => GAS_CONSTANT / (v - b) - eos.slope(T) / (v * v + 2 * b * v - b * b),
    stiffness: (v, T) => {
      const nearby = v * v + 2 * b * v - b * b;
      return v * v * ((GAS_CONSTANT * T) / ((v - b) * (v - b)) - (eos.a(T) * 2 * (v + b)) / (nearby * nearby));
    },
  };
}

/** Gas law from the equation of state. Below the critical temperature it follows the vapour branch. */
export function realGas(data: RealGasData): GasLaw {
  const { molarMass: M, exponent: n } = data;
  const eos = pengRobinson(data);
  const isothermal = n === 1;
  const molar = molarProperties(eos, GAS_CONSTANT / ((isothermal ? data.heatRatio : n) - 1));
  const { cv } = molar;
  const temperatureAfter = (density: number, T: number, newDensity: number): number => {
    if (isothermal || density === 0 || newDensity === 0) return T;
    const target = molar.entropy(M / density, T);
    const v = M / newDensity;
    return solveTemperature(
      (t) => molar.entropy(v, t) - target,
      (t) => molar.heat(v, t) / t,
      T,
    );
  };
  const pressure = (density: number, T: number): number => {
    if (density <= 0) return 0;
    const v = M / density;
    // v ≤ b: more than the molecules' own volume; the formula would give a pressure of the wrong sign.
    return v <= eos.b ? Infinity : pressureAt(eos, v, T);
  };
  return {
    phase: 'gas',
    name: data.name,
    title: data.title,
    gasConstant: GAS_CONSTANT / M,
    heatRatio: data.heatRatio,
    temperature: data.temperature,
    exponent: n,
    pressure,
    density: (pressure, T) => {
      if (pressure <= 0) return 0;
      const roots = compressibilityRoots(eos, pressure, T);
      return (pressure * M) / (roots[roots.length - 1]! * GAS_CONSTANT * T);
    },
    temperatureAfter,
    work: (density, T, newDensity) => {
      const from = M / density;
      const to = M / newDensity;
      if (isothermal) return (molar.isothermalWork(to, T) - molar.isothermalWork(from, T)) / M;
      return (molar.energy(to, temperatureAfter(density, T, newDensity)) - molar.energy(from, T)) / M;
    },
    energy: (density, T) => (density === 0 ? cv * T : molar.energy(M / density, T)) / M,
    temperatureOf: (density, energy, guess) => {
      if (density === 0) return (energy * M) / cv;
      const v = M / density;
      return solveTemperature(
        (t) => molar.energy(v, t) - energy * M,
        (t) => molar.heat(v, t),
        guess ?? data.temperature,
      );
    },
    entropy: (density, T) => molar.entropy(M / density, T) / M,
    soundSpeed: (density, T) => soundSpeedOf(molar, M / density, T, M),
    heatCapacity: (density, T) => (density === 0 ? cv : molar.heat(M / density, T)) / M,
    range: RANGE,
    outside: gasRange(data.name, RANGE, pressure),
    doubt: (density, T) => doubtOf(eos, data, density, T),
  };
}

/** m/s. a² = (∂p/∂ρ)_T + T (∂p/∂T)_v² / (ρ² cv): the isothermal stiffness and what the heat of compression adds. */
function soundSpeedOf(molar: Molar, v: number, T: number, molarMass: number): number {
  const heat = (T * molar.heating(v, T) ** 2 * v * v) / molar.heat(v, T);
  return Math.sqrt((molar.stiffness(v, T) + heat) / molarMass);
}

/** Why the vapour branch should not be believed at a state: denser than the equation allows, or than saturated vapour. */
function doubtOf(eos: PengRobinson, data: RealGasData, density: number, T: number): string | null {
  if (density <= 0) return null;
  const v = data.molarMass / density;
  if (v <= eos.b * 1.05) return say`${data.name} would be denser than the real-gas law allows`;
  const saturation = vapourPressure(eos, data, T);
  if (saturation === null) return null;
  const roots = compressibilityRoots(eos, saturation, T);
  const vapour = roots[roots.length - 1]!;
  // Denser than saturated vapour at this temperature: the largest root is no longer stable there.
  const dewDensity = (saturation * data.molarMass) / (vapour * GAS_CONSTANT * T);
  return density > dewDensity
    ? say`${data.name} would condense: at ${(T - 273.15).toFixed(1)} °C it turns liquid`
    : null;
}
