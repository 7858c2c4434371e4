/** The differential equations of gas in lumps that openings join. Unknowns: masses, and behind them internal energies unless isothermal. */
import type { Derivative } from './dormand-prince';
import type { GasLaw } from './media/law';
import type { GasNozzle } from './nozzle';
import type { Stretch } from './orifice-stretch';

/** Masses of the lumps at one temperature. */
export function isothermalFlow(
  law: GasLaw,
  nozzle: GasNozzle,
  { volume, growth, passages, area, widening, inflow }: Stretch,
): Derivative {
  const T = law.temperature;
  const n = volume.length;
  const density = new Float64Array(n);
  const pressure = new Float64Array(n);
  return (t, y, into) => {
    for (let k = 0; k < n; k++) {
      density[k] = Math.max(0, y[k]!) / (volume[k]! + growth[k]! * t);
      pressure[k] = law.pressure(density[k]!, T);
      into[k] = inflow[k]!;
    }
    for (let j = 0; j < passages.length; j++) {
      const { from, to } = passages[j]!;
      const a = area[j]! + widening[j]! * t;
      const forward = pressure[from]! >= pressure[to]!;
      const up = forward ? from : to;
      const p = pressure[up]!;
      if (p <= 0 || a <= 0) continue;
      const q = a * nozzle.flux(p, density[up]!, pressure[forward ? to : from]! / p);
      into[up]! -= q;
      into[forward ? to : from]! += q;
    }
  };
}

/** Masses, then internal energies: what flows over takes its enthalpy along, and a moving pocket does work. */
export function energyFlow(
  law: GasLaw,
  nozzle: GasNozzle,
  { volume, growth, passages, area, widening, inflow, heat }: Stretch,
): Derivative {
  const n = volume.length;
  const density = new Float64Array(n);
  const pressure = new Float64Array(n);
  const enthalpy = new Float64Array(n);
  return (t, y, into) => {
    for (let k = 0; k < n; k++) {
      const mass = Math.max(1e-15, y[k]!);
      density[k] = mass / (volume[k]! + growth[k]! * t);
      const energy = y[n + k]! / mass;
      pressure[k] = law.pressure(density[k]!, law.temperatureOf(density[k]!, energy));
      enthalpy[k] = energy + pressure[k]! / density[k]!;
      into[k] = inflow[k]!;
      into[n + k] = heat[k]! - pressure[k]! * growth[k]!;
    }
    for (let j = 0; j < passages.length; j++) {
      const { from, to } = passages[j]!;
      const a = area[j]! + widening[j]! * t;
      const up = pressure[from]! >= pressure[to]! ? from : to;
      const down = up === from ? to : from;
      const p = pressure[up]!;
      if (p <= 0 || a <= 0) continue;
      const q = a * nozzle.flux(p, density[up]!, pressure[down]! / p);
      into[up]! -= q;
      into[down]! += q;
      into[n + up]! -= q * enthalpy[up]!;
      into[n + down]! += q * enthalpy[up]!;
    }
  };
}

/** Pressure in a lump whose volume does not change, Pa. */
export function lumpPressure(law: GasLaw, stretch: Stretch, y: Float64Array, lump: number): number {
  const density = Math.max(y[lump]!, 0) / stretch.volume[lump]!;
  const n = stretch.lumps.length;
  if (law.exponent === 1) return law.pressure(density, law.temperature);
  return law.pressure(density, law.temperatureOf(density, y[n + lump]! / Math.max(y[lump]!, 1e-15)));
}
