/**
 * How much a door lets through, by how the text states it. Every opening is reduced to an effective area A, such that a small pressure
 * difference drives ṁ = A √(2 Δp ρ) through it (a liquid: any difference), and to a curve over the pressure ratio for gas.
 *
 * - area and discharge: isentropic flow of the gas through A = Cd · area (`nozzle.ts`);
 * - `kv`: IEC 60534-2-1. Liquid: Q = Kv √(Δp/1 bar · 1000 kg/m3 / ρ). Gas: ṁ = A Y √(2 x p ρ), Y = 1 − x/(3 Fγ xT), x = Δp/p up to
 *   Fγ xT, where it chokes (Y = 2/3), Fγ = γ/1.4. With Kv in m3/h, p in bar and ρ in kg/m3 this is the 31.6 Kv Y √(x p ρ) kg/h of the standard;
 * - `conductance C ratio b`: ISO 6358-1: ṁ = C p ρ0 √(T0/T) ω, ω = √(1 − ((r − b)/(1 − b))²) above b, 1 below; ρ0 = 1.185 kg/m3 and
 *   T0 = 293.15 K are those of the standard reference atmosphere. C is stated for air; another gas passes in proportion to √(pρ), as a
 *   given throat does, and to its critical flow function over that of air.
 */
import type { Door, Quantity } from '../model/rig';
import type { Law } from './media/law';
import { type GasNozzle, gasNozzle, SHARP_EDGED } from './nozzle';

/** An opening as flow sees it: how large, and by what curve a gas passes. */
export interface OpeningLaw {
  /** Effective area of the whole opening, m2. */
  readonly area: number;
  /** For gas: kg/s per m2 of effective area. */
  readonly nozzle: GasNozzle;
}

/** ISO 6358-1, standard reference atmosphere (ISO 8778): 100 kPa, 20 °C, 65 % relative humidity. */
const REFERENCE_PRESSURE = 1e5;
const REFERENCE_DENSITY = 1.185;
const AIR_HEAT_RATIO = 1.4;

/** IEC 60534-1: Kv is a flow of water of 1000 kg/m3 at 1 bar. A = Kv √(1000 / (2 · 1e5)). */
const KV_TO_AREA = Math.sqrt(1000 / 2e5);

/** Pressure ratio factor where a door does not say: between ball (0.15 to 0.4) and globe valves (0.65 to 0.75); common practice. */
const USUAL_XT = 0.7;

/** That of the gas; of a liquid, which uses areas only, that of air. */
export const heatRatioOf = (law: Law): number => (law.phase === 'gas' ? law.heatRatio : AIR_HEAT_RATIO);

/** The statement by which flow sees how large a door's opening is; `bore` or `area` beside another says only how large the leaf is. */
export const statedOpening = ({ kv, conductance, ratio, area }: Door): Quantity | null =>
  kv ?? (ratio === null ? null : conductance) ?? area;

/** The opening of a door for a gas of this heat ratio (a liquid uses the area only); null where none is stated. */
export function openingLaw(door: Door, heatRatio: number): OpeningLaw | null {
  if (door.kv !== null) return kvOpening(door.kv.nominal, door.xt?.nominal ?? USUAL_XT, heatRatio);
  if (door.conductance !== null && door.ratio !== null) {
    return conductanceOpening(door.conductance.nominal, door.ratio.nominal, heatRatio);
  }
  if (door.area === null || !(door.area.nominal > 0)) return null;
  return { area: door.area.nominal * (door.discharge?.nominal ?? SHARP_EDGED), nozzle: gasNozzle(heatRatio) };
}

/**
 * What passes the shut door; null where it is tight. A share is of its own opening. A leak stated as an area is a sharp-edged
 * opening of that area; one stated as a conductance has b = 0, as narrow gaps come near to.
 */
export function leakLaw(door: Door, heatRatio: number): OpeningLaw | null {
  const { leak } = door;
  if (leak === null || !(leak.value.nominal > 0)) return null;
  const value = leak.value.nominal;
  if (leak.kind === 'area') return { area: value * SHARP_EDGED, nozzle: gasNozzle(heatRatio) };
  if (leak.kind === 'conductance') return conductanceOpening(value, 0, heatRatio);
  const whole = openingLaw(door, heatRatio);
  return whole && { area: value * whole.area, nozzle: whole.nozzle };
}

/** @param kv m3/s @param xt pressure ratio factor */
export function kvOpening(kv: number, xt: number, heatRatio: number): OpeningLaw {
  const choked = (heatRatio / AIR_HEAT_RATIO) * xt;
  // Fγ xT may be 1 or more; there is no more pressure than all of it to lose.
  const limit = Math.min(1, choked);
  const square = (r: number): number => {
    const x = Math.min(1 - r, limit);
    const expansion = 1 - x / (3 * choked);
    return 2 * expansion * expansion * x;
  };
  return { area: kv * KV_TO_AREA, nozzle: byRatio(1 - limit, square) };
}

/** @param conductance m3/(s Pa) @param b critical back-pressure ratio, below 1 */
export function conductanceOpening(conductance: number, b: number, heatRatio: number): OpeningLaw {
  const gas = criticalFlow(heatRatio) / criticalFlow(AIR_HEAT_RATIO);
  // Written as sonic · ω with ω² = 1 − over², and near r = 1 as 2 (1 − r) times (area)²: that is what makes C and b an area and a curve.
  const sonic = conductance * gas * Math.sqrt(REFERENCE_DENSITY * REFERENCE_PRESSURE);
  const square = (r: number): number => {
    const over = Math.max(0, r - b) / (1 - b);
    return (1 - b) * (1 - over * over);
  };
  return { area: sonic / Math.sqrt(1 - b), nozzle: byRatio(b, square) };
}

/** Choked flow by A √(pρ): √γ (2/(γ+1))^((γ+1)/(2(γ−1))), any gas dynamics text. */
const criticalFlow = (g: number): number => Math.sqrt(g) * Math.pow(2 / (g + 1), (g + 1) / (2 * (g - 1)));

/**
 * Where the sides differ by about this part or less, the flow goes over smoothly into one proportional to the difference: a square
 * root has an infinite slope at rest, which no integrator can follow.
 */
const CREEP = 1e-5;

/** A nozzle from the square of its relative flow by pressure ratio, about 2 (1 − r) near r = 1. */
function byRatio(critical: number, square: (ratio: number) => number): GasNozzle {
  const choked = Math.sqrt(square(critical));
  const soft = (2 * CREEP) ** 2;
  return {
    critical,
    flux: (pressure, density, ratio) => {
      const size = Math.sqrt(pressure * density);
      if (ratio <= critical) return choked * size;
      const s = Math.max(0, square(ratio));
      return (s / Math.sqrt(Math.sqrt(s * s + soft))) * size;
    },
  };
}
