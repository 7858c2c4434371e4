/**
 * What the flow engine asks of a medium. One shape for gases, whatever their equation of state: all states are (density,
 * temperature), SI units, 1 kg. Liquids and packed media have shapes of their own because they follow no such law.
 */
import type { Medium } from '../../model/rig';
import { say } from '../../words/say';

export interface GasLaw {
  readonly phase: 'gas';
  /** p = ρ R T with a constant heat capacity: closed forms hold. */
  readonly isIdeal?: boolean;
  readonly name: string;
  /** For people: `ideal gas, isothermal`. */
  readonly title: string;
  /** J/(kg K) */
  readonly gasConstant: number;
  /** cp/cv, for flow through openings. */
  readonly heatRatio: number;
  /** Temperature of the medium where nothing else is stated, K. */
  readonly temperature: number;
  /**
   * 1: the temperature never changes (isothermal). Otherwise the exponent n of p vⁿ for the ideal gas: cp/cv where adiabatic.
   * A polytropic change is worked as an adiabatic one of a gas whose heat ratio is n: the heat that crosses the walls is in it.
   */
  readonly exponent: number;
  pressure(density: number, temperature: number): number;
  /** Density of the gas phase at a pressure. */
  density(pressure: number, temperature: number): number;
  /** Temperature after an even change of density without exchange with other gas. */
  temperatureAfter(density: number, temperature: number, newDensity: number): number;
  /** Work done on 1 kg by that change, J. */
  work(density: number, temperature: number, newDensity: number): number;
  /** Internal energy, J/kg, from an arbitrary zero; its inverse. */
  energy(density: number, temperature: number): number;
  /** `guess`: a temperature near by, where one is known. */
  temperatureOf(density: number, energy: number, guess?: number): number;
  /** Entropy, J/(kg K), from an arbitrary zero. */
  entropy(density: number, temperature: number): number;
  /** Speed of sound, m/s. ρ a²/p is the exponent of an isentropic change at this state: the heat ratio of an ideal gas. */
  soundSpeed(density: number, temperature: number): number;
  /** Heat capacity at constant volume, J/(kg K). */
  heatCapacity(density: number, temperature: number): number;
  /** Where the law holds. */
  readonly range: LawRange;
  /** Why no figure at this state is reliable, with the numbers (the run ends there), or null. */
  outside(density: number, temperature: number): string | null;
  /** Pa above which nobody can tell how far the law is off: nothing is known of the gas to compare it with. Left out where that is known. */
  readonly unknownAbove?: number;
  /** Why the law should not be believed at this state, or null. */
  doubt(density: number, temperature: number): string | null;
}

/** K and Pa: a figure is given only between the two temperatures and up to the pressure. */
export interface LawRange {
  readonly coldest: number;
  readonly hottest: number;
  readonly pressure: number;
}

/** `outside` of a gas law with this range. */
export function gasRange(
  name: string,
  range: LawRange,
  pressure: (density: number, temperature: number) => number,
): (density: number, temperature: number) => string | null {
  const celsius = (kelvin: number): string => `${Number((kelvin - 273.15).toPrecision(4))} °C`;
  const bar = (pascal: number): string => `${Number((pascal / 1e5).toPrecision(4))} bar`;
  return (density, temperature) => {
    if (!(temperature <= range.hottest)) {
      return say`${name} would be at ${celsius(temperature)}; its law holds up to ${celsius(range.hottest)}`;
    }
    if (!(temperature >= range.coldest)) {
      return say`${name} would be at ${celsius(temperature)}; its law holds down to ${celsius(range.coldest)}`;
    }
    const p = pressure(density, temperature);
    if (p <= range.pressure) return null;
    return say`${name} would be at ${bar(p)}; its law holds up to ${bar(range.pressure)}`;
  };
}

/** A liquid at one temperature: density and pressure determine each other. */
export interface LiquidLaw {
  readonly phase: 'liquid';
  readonly name: string;
  readonly title: string;
  /** kg/m3 at 101 325 Pa */
  readonly referenceDensity: number;
  /** Pa, at 101 325 Pa */
  readonly bulkModulus: number;
  readonly temperature: number;
  /** Pressure below which it boils, Pa; null where the text does not say. */
  readonly vapourPressure: number | null;
  /** kg/m3 at a pressure in Pa; its inverse. The stiffness of a built-in liquid rises with the pressure. */
  densityAt(pressure: number): number;
  pressureAt(density: number): number;
  /** Where the law holds; the temperature is that of the law itself. */
  readonly range: LawRange;
}

/** Mass per volume with no pressure law: spreads evenly over what is connected. */
export interface PackedLaw {
  readonly phase: 'packed';
  readonly name: string;
  readonly title: string;
  readonly temperature: number;
}

export type Law = GasLaw | LiquidLaw | PackedLaw;

/** Density of a compressed liquid, kg/m3. */
export const liquidDensity = (law: LiquidLaw, pressure: number): number => law.densityAt(pressure);

/** Inverse of `liquidDensity`. */
export const liquidPressure = (law: LiquidLaw, density: number): number => law.pressureAt(density);

/** K; used where a medium does not say (20 °C). */
export const ROOM_TEMPERATURE = 293.15;

/** Exponent of p vⁿ that a medium's process stands for; 1 where isothermal. */
export function processExponent(medium: Medium): number {
  if (medium.process === 'adiabatic') return medium.heatRatio?.nominal ?? 1.4;
  if (medium.process === 'polytropic') return medium.exponent?.nominal ?? 1;
  return 1;
}
