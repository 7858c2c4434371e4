/**
 * The ideal gas: p = ρ R T. Isothermal, or with p vⁿ constant in even changes. A polytropic change is the adiabatic one of a gas whose heat
 * ratio is n: the same p, v and T along it, with the heat exchanged counted as if it were internal energy.
 */
import type { IdealError } from './ideal-error';
import { type GasLaw, gasRange } from './law';
import { say } from '../../words/say';

/** What makes one ideal gas differ from another. */
export interface IdealGasData {
  readonly name: string;
  /** J/(kg K) */
  readonly gasConstant: number;
  readonly heatRatio: number;
  readonly temperature: number;
  /** See `GasLaw.exponent`. */
  readonly exponent: number;
  readonly title: string;
  /** How far the law is off; null where there is nothing to compare it with. */
  readonly error: IdealError | null;
}

/** Relative error of the ideal gas law above which a figure carries a warning, and above which there is none. */
const DOUBT = 0.05;
const END = 0.1;

/**
 * Where an ideal gas of constant heat ratio is used at all: at 1500 K the heat capacity of air is 20 % above that at 300 K (ideal-gas
 * tables of any thermodynamics text), and at 1000 bar no gas is near the ideal law; where it is known how far it is off (`error`), it ends long before.
 */
const IDEAL_RANGE = { coldest: 20, hottest: 1500, pressure: 100e6 };

/**
 * Pa up to which an ideal gas is taken without knowing how far it is off: common gases but the easily condensed ones are within a few per cent there
 * (at 20 °C by their equations: air 0.6 %, methane 4 %, carbon dioxide 13 %).
 */
const UNKNOWN = 20e5;

/** An ideal gas law; all formulas are those of any thermodynamics text. */
export function idealGas(data: IdealGasData): GasLaw {
  const { gasConstant: R, exponent: n } = data;
  const isothermal = n === 1;
  const temperatureAfter = (density: number, temperature: number, newDensity: number): number =>
    isothermal || density === 0 ? temperature : temperature * Math.pow(newDensity / density, n - 1);
  const outside = gasRange(data.name, IDEAL_RANGE, (density, temperature) => density * R * temperature);
  const off = (density: number, temperature: number, from: number): string | null => {
    const error = Math.abs(data.error?.(density, temperature) ?? 0);
    if (error < from) return null;
    return error > 1 ? say`does not hold` : say`is about ${Math.round(error * 100)} % off`;
  };
  return {
    phase: 'gas',
    isIdeal: true,
    name: data.name,
    title: data.title,
    gasConstant: R,
    heatRatio: data.heatRatio,
    temperature: data.temperature,
    exponent: n,
    pressure: (density, temperature) => density * R * temperature,
    density: (pressure, temperature) => pressure / (R * temperature),
    temperatureAfter,
    work: (density, temperature, newDensity) => {
      if (isothermal) return R * temperature * Math.log(newDensity / density);
      return (R / (n - 1)) * (temperatureAfter(density, temperature, newDensity) - temperature);
    },
    // Isothermal gas never asks for its energy; the heat ratio keeps the numbers sensible if it did.
    energy: (_density, temperature) => (R / ((isothermal ? data.heatRatio : n) - 1)) * temperature,
    temperatureOf: (_density, energy) => (energy * ((isothermal ? data.heatRatio : n) - 1)) / R,
    entropy: (density, temperature) => R * (Math.log(temperature) / (data.heatRatio - 1) - Math.log(density)),
    soundSpeed: (_density, temperature) => Math.sqrt(data.heatRatio * R * temperature),
    heatCapacity: () => R / ((isothermal ? data.heatRatio : n) - 1),
    range: IDEAL_RANGE,
    unknownAbove: data.error ? undefined : UNKNOWN,
    outside: (density, temperature) => {
      const end = off(density, temperature, END);
      if (end === null) return outside(density, temperature);
      const bar = Number(((density * R * temperature) / 1e5).toPrecision(4));
      return say`${data.name} would be at ${bar} bar, where the ideal gas law ${end}; write \`law real\``;
    },
    doubt: (density, temperature) => {
      const doubt = off(density, temperature, DOUBT);
      return doubt && say`the ideal gas law ${doubt} for ${data.name} at this density; write \`law real\``;
    },
  };
}
