/**
 * The ideal gas: p = ρ R T. Isothermal, or with p vⁿ constant in even changes. A polytropic change is the adiabatic one of a gas whose heat
 * ratio is n: the same p, v and T along it, with the heat exchanged counted as if it were internal energy.
 */
import { type GasLaw, gasRange } from './law';

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
  doubt(density: number, temperature: number): string | null;
}

/**
 * Where an ideal gas of constant heat ratio is used at all: at 1500 K the heat capacity of air is 20 % above that at 300 K (ideal-gas
 * tables of any thermodynamics text), and at 1000 bar no gas is near the ideal law. Long before that `doubt` warns.
 */
const IDEAL_RANGE = { coldest: 20, hottest: 1500, pressure: 100e6 };

/** An ideal gas law; all formulas are those of any thermodynamics text. */
export function idealGas(data: IdealGasData): GasLaw {
  const { gasConstant: R, exponent: n } = data;
  const isothermal = n === 1;
  const temperatureAfter = (density: number, temperature: number, newDensity: number): number =>
    isothermal || density === 0 ? temperature : temperature * Math.pow(newDensity / density, n - 1);
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
    outside: gasRange(data.name, IDEAL_RANGE, (density, temperature) => density * R * temperature),
    doubt: data.doubt,
  };
}
