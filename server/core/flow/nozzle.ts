/** Flow through an opening. SI units; all functions give magnitudes from the high side to the low side. */
import { GRAVITY } from './media/constants';

/** Discharge coefficient where a door does not say: a sharp-edged opening (common practice 0.6 to 0.65). */
export const SHARP_EDGED = 0.62;

/**
 * Below this pressure ratio from 1 the flow law (a square root) is replaced by its chord: a square root has an infinite slope at
 * rest, which no integrator can follow. Flow within 0.1 % of equal pressures is then too slow by at most its own size there.
 */
const LAMINAR = 0.999;

export interface GasNozzle {
  /** Downstream to upstream pressure at and below which the flow is choked. */
  readonly critical: number;
  /** kg/s per m2 of effective area, upstream at (pressure Pa, density kg/m3), `ratio` = downstream/upstream pressure ≤ 1. */
  flux(pressure: number, density: number, ratio: number): number;
}

/**
 * Isentropic flow of a gas: choked ṁ = A √(γ p ρ) (2/(γ+1))^((γ+1)/(2(γ−1))), else A √(2γ/(γ−1) p ρ (r^(2/γ) − r^((γ+1)/γ))) (any
 * gas dynamics text; API 520 uses the same with Z). Density in place of p/(R T) makes it good for a real gas too (p ρ = p²/(Z R T)).
 */
export function gasNozzle(heatRatio: number): GasNozzle {
  const g = heatRatio;
  const critical = Math.pow(2 / (g + 1), g / (g - 1));
  const choked = Math.sqrt(g) * Math.pow(2 / (g + 1), (g + 1) / (2 * (g - 1)));
  const factor = (2 * g) / (g - 1);
  const below = (r: number): number => {
    const root = Math.pow(r, 1 / g);
    return Math.sqrt(Math.max(0, factor * root * (root - r)));
  };
  const slope = below(LAMINAR) / (1 - LAMINAR);
  return {
    critical,
    flux: (pressure, density, ratio) => {
      const size = Math.sqrt(pressure * density);
      if (ratio <= critical) return choked * size;
      return (ratio >= LAMINAR ? slope * (1 - ratio) : below(ratio)) * size;
    },
  };
}

/** Volume flow of a liquid per m2 of effective area, m/s: √(2 Δp/ρ) (Torricelli with Bernoulli). */
export const liquidSpeed = (pressureDrop: number, density: number): number =>
  Math.sqrt((2 * Math.max(0, pressureDrop)) / density);

/** Pressure under a column of liquid, Pa. */
export const hydrostatic = (density: number, height: number): number => density * GRAVITY * height;
