/**
 * What the flow engine asks of a medium. One shape for gases, whatever their equation of state: all states are (density,
 * temperature), SI units, 1 kg. Liquids and packed media have shapes of their own because they follow no such law.
 */
import type { Medium } from '../../model/rig';
import { ATMOSPHERE } from './constants';

export interface GasLaw {
  readonly phase: 'gas';
  readonly name: string;
  /** For people: `ideal gas, isothermal`. */
  readonly title: string;
  /** J/(kg K) */
  readonly gasConstant: number;
  /** cp/cv, for flow through openings. */
  readonly heatRatio: number;
  /** Temperature of the medium where nothing else is said, K. */
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
  temperatureOf(density: number, energy: number): number;
  /** Why the law should not be believed at this state, or null. */
  doubt(density: number, temperature: number): string | null;
}

export interface LiquidLaw {
  readonly phase: 'liquid';
  readonly name: string;
  readonly title: string;
  /** kg/m3 at 101 325 Pa */
  readonly referenceDensity: number;
  /** Pa */
  readonly bulkModulus: number;
  readonly temperature: number;
}

/** Mass per volume with no pressure law: spreads evenly over what is connected. */
export interface PackedLaw {
  readonly phase: 'packed';
  readonly name: string;
  readonly title: string;
  readonly temperature: number;
}

export type Law = GasLaw | LiquidLaw | PackedLaw;

/** Compressed liquid: bulk modulus taken as constant, dp = K dρ/ρ, so ρ = ρ0 exp((p − p0)/K) with p0 = 101 325 Pa. */
export const liquidDensity = (law: LiquidLaw, pressure: number): number =>
  law.referenceDensity * Math.exp((pressure - ATMOSPHERE) / law.bulkModulus);

/** Inverse of `liquidDensity`. */
export const liquidPressure = (law: LiquidLaw, density: number): number =>
  ATMOSPHERE + law.bulkModulus * Math.log(density / law.referenceDensity);

/** K; used where a medium does not say (20 °C). */
export const ROOM_TEMPERATURE = 293.15;

/** Exponent of p vⁿ that a medium's process stands for; 1 where isothermal. */
export function processExponent(medium: Medium): number {
  if (medium.process === 'adiabatic') return medium.heatRatio?.nominal ?? 1.4;
  if (medium.process === 'polytropic') return medium.exponent?.nominal ?? 1;
  return 1;
}
