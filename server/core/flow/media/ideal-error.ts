/**
 * How far the ideal gas law is off, by the best law at hand: the published equation of a built-in gas, Peng and Robinson's where critical
 * constants are stated. Where neither is there nobody can tell: that is said at high pressure.
 */
import type { CriticalData } from './peng-robinson';
import { pengRobinson, pressureAt } from './peng-robinson';
import { helmholtz } from './helmholtz';
import type { GasEquation } from './gas-equations';
import { GAS_CONSTANT } from './constants';

/** Part by which the ideal gas law gives a pressure too high or too low, at kg/m3 and K; null where that is not known. */
export type IdealError = (density: number, temperature: number) => number | null;

/**
 * Null where neither equation nor critical constants are there.
 * @param molarMass kg/mol, by which the densities asked about count
 */
export function idealErrorOf(
  molarMass: number,
  equation: GasEquation | undefined,
  critical: CriticalData | null,
): IdealError | null {
  if (!equation && !critical) return null;
  const real = realPressure(molarMass, equation, critical);
  return (density, temperature) => {
    const pressure = real?.(density, temperature) ?? null;
    if (pressure === null || !(density > 0)) return null;
    const ideal = ((density * GAS_CONSTANT) / molarMass) * temperature;
    // Denser than it can be as a gas: no pressure at all is near.
    return pressure > 0 ? ideal / pressure - 1 : Infinity;
  };
}

function realPressure(
  molarMass: number,
  equation: GasEquation | undefined,
  critical: CriticalData | null,
): ((density: number, temperature: number) => number | null) | null {
  if (equation) {
    const eos = helmholtz(equation, null);
    const { coldest, hottest } = equation.range;
    const scale = equation.molarMass / molarMass;
    return (density, T) => (T >= coldest && T <= hottest ? eos.pressure(scale * density, T) : null);
  }
  if (!critical) return null;
  const eos = pengRobinson(critical);
  return (density, T) => (molarMass / density > 1.05 * eos.b ? pressureAt(eos, molarMass / density, T) : 0);
}
