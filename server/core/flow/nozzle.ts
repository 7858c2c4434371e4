/** Flow through an opening. SI units; all functions give magnitudes from the high side to the low side. */
import { GRAVITY } from './media/constants';
import { say } from '../words/say';

/** Discharge coefficient where a door does not say: a sharp-edged opening (common practice 0.6 to 0.65). */
export const SHARP_EDGED = 0.62;

/**
 * A square root has an infinite slope at rest, which no integrator can follow: where the sides differ by about this part of the pressure
 * or less, flow goes over smoothly into one proportional to the difference. Ten times above it the flow is 0.3 % too slow, a hundred
 * times above it 0.003 %.
 */
const CREEP = 1e-5;
/** The same for the square of what is under the root, which is about twice the relative difference. */
const CREEP_SQUARE = (2 * CREEP) ** 2;

/** The law by which an opening lets gas through, whatever its area. */
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
  const known = byHeatRatio.get(heatRatio);
  if (known) return known;
  if (byHeatRatio.size >= MOST_KNOWN) byHeatRatio.clear();
  const made = makeNozzle(heatRatio);
  byHeatRatio.set(heatRatio, made);
  return made;
}

/** Every door of a rig has the same nozzle: its table is made once. Hundreds of doors took a quarter of a second otherwise. */
const byHeatRatio = new Map<number, GasNozzle>();
const MOST_KNOWN = 16;

function makeNozzle(g: number): GasNozzle {
  const critical = Math.pow(2 / (g + 1), g / (g - 1));
  const choked = Math.sqrt(g) * Math.pow(2 / (g + 1), (g + 1) / (2 * (g - 1)));
  const factor = (2 * g) / (g - 1);
  // r^(2/γ) − r^((γ+1)/γ) = r^(1/γ) (r^(1/γ) − r), and its slope.
  const root = (r: number): number => Math.pow(r, 1 / g);
  const squareAt = curveOf(
    critical,
    (r) => factor * root(r) * (root(r) - r),
    (r) => factor * ((2 / g) * root(r) * (root(r) / r) - (1 + 1 / g) * root(r)),
  );
  const below = (r: number): number => {
    const square = Math.max(0, squareAt(r));
    return square / Math.sqrt(Math.sqrt(square * square + CREEP_SQUARE));
  };
  return {
    critical,
    flux: (pressure, density, ratio) => {
      const size = Math.sqrt(pressure * density);
      if (ratio <= critical) return choked * size;
      return below(ratio) * size;
    },
  };
}

/** Pieces of a tabulated curve. With cubic pieces of a thousandth, on which the fourth derivative is at most some ten, the error is below 1e-13. */
const PIECES = 512;

/** A smooth function on [`from`, 1] by cubic pieces with the right slopes: half the time of the power that it stands for, and asked millions of times. */
function curveOf(from: number, value: (x: number) => number, slope: (x: number) => number): (x: number) => number {
  const width = (1 - from) / PIECES;
  // Per piece the four coefficients in its own coordinate, 0 to 1.
  const pieces = new Float64Array(4 * (PIECES + 1));
  for (let k = 0; k <= PIECES; k++) {
    const [x, next] = [from + k * width, from + (k + 1) * width];
    const [v0, v1, s0, s1] = [value(x), value(next), slope(x) * width, slope(next) * width];
    pieces.set([v0, s0, 3 * (v1 - v0) - 2 * s0 - s1, 2 * (v0 - v1) + s0 + s1], 4 * k);
  }
  return (x) => {
    const at = (x - from) / width;
    const k = at | 0;
    const u = at - k;
    const first = 4 * k;
    return pieces[first]! + u * (pieces[first + 1]! + u * (pieces[first + 2]! + u * pieces[first + 3]!));
  };
}

/** Volume flow of a liquid per m2 of effective area, m/s: √(2 Δp/ρ) (Torricelli with Bernoulli). */
export const liquidSpeed = (pressureDrop: number, density: number): number =>
  Math.sqrt((2 * Math.max(0, pressureDrop)) / density);

/** Pressure under a column of liquid, Pa. */
export const hydrostatic = (density: number, height: number): number => density * GRAVITY * height;

/** Effective areas of the doors, m2; a sentence where a door has no opening stated. */
export function effectiveAreas(
  doors: readonly {
    readonly name: string;
    readonly area: { readonly nominal: number } | null;
    readonly discharge: { readonly nominal: number } | null;
  }[],
): Float64Array | string {
  const without = doors.find((door) => !(door.area && door.area.nominal > 0));
  if (without) return say`door \`${without.name}\` needs a bore or an area`;
  return Float64Array.from(doors, (door) => door.area!.nominal * (door.discharge?.nominal ?? SHARP_EDGED));
}
