/** Liquids: one of the text with a constant bulk modulus, water by its temperature with a stiffness that rises with the pressure. */
import { ATMOSPHERE } from './constants';
import type { LiquidLaw } from './law';
import { WATER_RANGE, waterAt } from './water';
import { say } from '../../words/say';

/** Pressure up to which a constant bulk modulus is used at all, Pa: by then that of water has risen by a third. */
const CONSTANT_UP_TO = 100e6;

/** A liquid as the text states it. */
export interface ConstantLiquid {
  readonly name: string;
  /** kg/m3 at 101 325 Pa */
  readonly density: number;
  /** Pa */
  readonly bulkModulus: number;
  readonly temperature: number;
  readonly vapourPressure: number | null;
}

/** dp = K dρ/ρ with constant K, so ρ = ρ0 exp((p − p0)/K) with p0 = 101 325 Pa. */
export function constantLiquid(data: ConstantLiquid): LiquidLaw {
  const { density: rho, bulkModulus: K, temperature } = data;
  return {
    phase: 'liquid',
    name: data.name,
    title: say`liquid with constant bulk modulus`,
    referenceDensity: rho,
    bulkModulus: K,
    temperature,
    vapourPressure: data.vapourPressure,
    densityAt: (pressure) => rho * Math.exp((pressure - ATMOSPHERE) / K),
    pressureAt: (density) => ATMOSPHERE + K * Math.log(density / rho),
    range: { coldest: 0, hottest: Infinity, pressure: CONSTANT_UP_TO },
  };
}

/** Water at one temperature; a sentence where it is not liquid there. */
export function waterLiquid(name: string, temperature: number): LiquidLaw | string {
  const { coldest, hottest } = WATER_RANGE;
  if (temperature < coldest) return say`at ${celsius(temperature)} \`${name}\` is ice`;
  if (temperature > hottest) {
    return say`at ${celsius(temperature)} \`${name}\` is beyond ${celsius(hottest)}, up to which its equation as a liquid holds`;
  }
  const water = waterAt(temperature);
  const { densityAt, pressureAt } = inverted(water.density, water.bulkModulus);
  const referenceDensity = water.density(ATMOSPHERE);
  return {
    phase: 'liquid',
    name,
    title: say`water at ${celsius(temperature)} (IAPWS-IF97)`,
    referenceDensity,
    bulkModulus: water.bulkModulus(ATMOSPHERE),
    temperature,
    vapourPressure: water.vapourPressure,
    // Most surfaces are open to the air, and are asked about at every evaluation.
    densityAt: (pressure) => (pressure === ATMOSPHERE ? referenceDensity : densityAt(pressure)),
    pressureAt,
    range: { coldest, hottest, pressure: WATER_RANGE.pressure },
  };
}

const celsius = (kelvin: number): string => `${Number((kelvin - 273.15).toPrecision(5))} °C`;

/**
 * Density by pressure and back. Outside of 0 to 100 MPa, where the equation ends, density and stiffness go on as at that end, so
 * that a solver which looks past it (to find that the law ends there) meets no nonsense.
 */
function inverted(
  density: (pressure: number) => number,
  stiffness: (pressure: number) => number,
): Pick<LiquidLaw, 'densityAt' | 'pressureAt'> {
  const ends = [0, WATER_RANGE.pressure].map((p) => ({ p, rho: density(p), K: stiffness(p) }));
  const [low, high] = [ends[0]!, ends[1]!];
  const beyond = ({ p, rho, K }: typeof low, pressure: number): number => rho * Math.exp((pressure - p) / K);
  return {
    densityAt: (pressure) => {
      if (pressure < low.p) return beyond(low, pressure);
      return pressure > high.p ? beyond(high, pressure) : density(pressure);
    },
    pressureAt: (wanted) => {
      if (wanted < low.rho) return low.p + low.K * Math.log(wanted / low.rho);
      if (wanted > high.rho) return high.p + high.K * Math.log(wanted / high.rho);
      let p = Math.min(high.p, low.K * Math.log(wanted / low.rho));
      // Newton in ln ρ, where the curve is all but straight (dp = K d ln ρ): two or three rounds.
      for (let k = 0; k < 30; k++) {
        const next = p + stiffness(p) * Math.log(wanted / density(p));
        if (Math.abs(next - p) <= 1e-9 * Math.max(p, 1e3)) return next;
        p = Math.min(high.p, Math.max(low.p, next));
      }
      return p;
    },
  };
}
