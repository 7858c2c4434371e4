/**
 * The law of a built-in gas by its published equation of state: pressure, energy and entropy from one Helmholtz energy. Such an equation is
 * explicit in (ρ, T); the engine also asks it backwards (ρ of p, T of energy or entropy), which is Newton's method on its own derivatives.
 */
import type { GasEquation, VapourPressure } from './gas-equations';
import { helmholtz, type Helmholtz } from './helmholtz';
import { type GasLaw, gasRange } from './law';
import { say } from '../../words/say';

/** A published equation, and how the rig uses it. */
export interface ReferenceGasData {
  readonly name: string;
  readonly title: string;
  readonly equation: GasEquation;
  /** Of the ideal gas. */
  readonly heatRatio: number;
  readonly temperature: number;
  /** See `GasLaw.exponent`. */
  readonly exponent: number;
  /** Polytropic: the ideal part has the constant heat capacity of a gas whose heat ratio is the exponent. */
  readonly polytropic: boolean;
}

/** Gas law from an equation of state. Below the critical temperature it follows the vapour branch. */
export function referenceGas(data: ReferenceGasData): GasLaw {
  const { equation, name } = data;
  const isothermal = data.exponent === 1;
  const eos = helmholtz(equation, data.polytropic ? 1 / (data.exponent - 1) : null);
  const start = eos.state(0, data.temperature);
  const temperatureAfter = (density: number, T: number, newDensity: number): number => {
    if (isothermal || density === 0 || newDensity === 0) return T;
    // Even change without heat: same entropy at the new density. The guess is that of an ideal gas with the heat capacity at the start.
    const target = eos.entropy(density, T);
    const rise = Math.pow(newDensity / density, eos.gasConstant / start.cv);
    return solve(T * Math.min(4, Math.max(0.25, rise)), (t) => {
      const s = eos.state(newDensity, t);
      return (t * (s.entropy - target)) / s.cv;
    });
  };
  return {
    phase: 'gas',
    name,
    title: data.title,
    gasConstant: eos.gasConstant,
    heatRatio: data.heatRatio,
    temperature: data.temperature,
    exponent: data.exponent,
    pressure: (density, T) => eos.pressure(density, T),
    density: (pressure, T) => densityAt(equation, eos, pressure, T),
    temperatureAfter,
    work: (density, T, newDensity) => {
      if (isothermal) {
        const [from, to] = [eos.state(density, T), eos.state(newDensity, T)];
        return to.energy - from.energy - T * (entropyOf(eos, newDensity, T) - entropyOf(eos, density, T));
      }
      return eos.energy(newDensity, temperatureAfter(density, T, newDensity)) - eos.energy(density, T);
    },
    energy: (density, T) => eos.energy(density, T),
    temperatureOf: (density, energy) =>
      solve(
        data.temperature + (energy - start.energy) / start.cv,
        (t) => (eos.energy(density, t) - energy) / eos.cv(density, t),
      ),
    entropy: (density, T) => eos.entropy(density, T),
    soundSpeed: (density, T) => eos.state(density, T).soundSpeed,
    heatCapacity: (density, T) => eos.cv(density, T),
    range: equation.range,
    outside: gasRange(name, equation.range, (density, T) => eos.pressure(density, T)),
    doubt: (density, T) => condensing(equation, eos, name, density, T),
  };
}

const entropyOf = (eos: Helmholtz, density: number, T: number): number => eos.entropy(density, T);

/** Newton steps from a guess; `step` gives how far the guess lies above the root. Temperatures stay within 1 and 20 000 K. */
function solve(guess: number, step: (temperature: number) => number): number {
  let T = Math.min(20_000, Math.max(20, guess));
  for (let k = 0; k < 40; k++) {
    // At most halved or doubled a step: far from the root a slope may point anywhere.
    const next = Math.min(20_000, Math.max(0.5 * T, Math.min(2 * T, T - step(T))));
    if (Math.abs(next - T) <= 1e-12 * T) return next;
    T = next;
  }
  return T;
}

/** Density of the gas at a pressure: the first one, from nothing upward, at which the pressure is reached. */
function densityAt(equation: GasEquation, eos: Helmholtz, pressure: number, T: number): number {
  if (pressure <= 0) return 0;
  const ideal = pressure / (eos.gasConstant * T);
  const subcritical = equation.vapour !== null && T < 1.05 * equation.vapour.temperature;
  // Below Tc p(ρ) rises, falls and rises again. Walking up in small strides meets the first rise, the vapour; a Newton step from afar could
  // land on the liquid.
  const stride = subcritical ? 0.02 * equation.reducingDensity * equation.molarMass : ideal;
  let low = 0;
  let high = subcritical ? Math.min(stride, ideal) : ideal;
  while (eos.pressure(high, T) < pressure && high < 1e5) {
    low = high;
    high += stride;
  }
  // Newton inside the bracket; where a step would leave it, halve.
  let density = Math.min(high, Math.max(low, ideal));
  for (let k = 0; k < 80; k++) {
    const excess = eos.pressure(density, T) - pressure;
    if (excess > 0) high = density;
    else low = density;
    let next = density - excess / eos.stiffness(density, T);
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    if (Math.abs(next - density) <= 1e-13 * density) return next;
    density = next;
  }
  return density;
}

/** Pressure at which a gas condenses, Pa; null above its critical temperature. */
export function vapourPressureOf({ temperature: Tc, pressure, terms }: VapourPressure, T: number): number | null {
  if (T >= Tc) return null;
  const sum = terms.reduce((all, [n, t]) => all + n * Math.pow(1 - T / Tc, t), 0);
  return pressure * Math.exp((Tc / T) * sum);
}

/** A sentence where the gas is denser than its saturated vapour, else null. */
function condensing(equation: GasEquation, eos: Helmholtz, name: string, density: number, T: number): string | null {
  const saturation = equation.vapour === null ? null : vapourPressureOf(equation.vapour, T);
  if (saturation === null || density <= densityAt(equation, eos, saturation, T)) return null;
  const bar = Number((saturation / 1e5).toPrecision(4));
  return say`${name} would condense: at ${(T - 273.15).toFixed(1)} °C it turns liquid above ${bar} bar`;
}
