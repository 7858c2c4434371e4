/**
 * Feeds and draws as mass flows with their conditions.
 *
 * Everything inside the engine is mass: a volume flow means nothing without the density it is counted at, so it is converted once, here, by
 * the basis that the text states. Sign convention: +1 brings into its chamber, −1 takes out; amounts are positive but for `lineMass`.
 */
import type { FlowRate, Line, PumpCurve, Threshold, VolumeBasis } from '../model/rig';
import type { Contents } from './contents';
import type { Law } from './media/law';
import { ATMOSPHERE, GAS_CONSTANT } from './media/constants';
import type { Vessel } from './vessel';
import { massAt, pressureOf } from './vessel';

/** A feed or draw as mass flow; constant but for `rateAt`. */
export interface LineFlow {
  readonly name: string;
  readonly chamber: number;
  /** +1 feed, -1 draw */
  readonly sign: 1 | -1;
  /** kg/s while it runs, with its chamber as it is at the start; 0 where it is not known. */
  readonly rate: number;
  /** kg/s by the mass (kg) and temperature (K) in its chamber; absent where that is `rate` always. */
  readonly rateAt?: (mass: number, temperature: number) => number;
  readonly power: number;
  readonly only: Threshold | null;
}

/**
 * Mass flow of a rate, kg/s. A volume flow of a gas is counted at 101 325 Pa and the medium's temperature (free gas), or at the
 * density it has in the chamber (actual); of a liquid at its density; a packed medium has no density to count by: null.
 */
export function massRate(rate: FlowRate, law: Law, density: number | null = null): number | null {
  const value = rate.value.nominal;
  if (rate.kind === 'mass_flow') return value;
  if (rate.kind === 'amount_flow') return law.phase === 'gas' ? (value * GAS_CONSTANT) / law.gasConstant : null;
  const per = volumeDensity(rate.basis, law, density);
  return per === null ? null : value * per;
}

/** kg/m3 that a volume flow is counted with. */
function volumeDensity(basis: VolumeBasis, law: Law, density: number | null): number | null {
  if (law.phase === 'packed') return null;
  if (law.phase === 'liquid') return law.referenceDensity;
  return basis === 'actual' && density !== null ? density : law.density(ATMOSPHERE, law.temperature);
}

/** The mass flow of a line. `start`: kg in its chamber at the start. */
export function lineFlow(line: Line, law: Law, vessel: Vessel | undefined, start: number): LineFlow {
  const rateAt = vessel ? stateRate(line, law, vessel) : null;
  const constant = line.chamber >= 0 && line.rate ? (massRate(line.rate, law) ?? 0) : 0;
  return {
    name: line.name,
    chamber: line.chamber,
    sign: line.kind === 'feed' ? 1 : -1,
    rate: rateAt && vessel ? rateAt(start, vessel.temperature) : constant,
    ...(rateAt ? { rateAt } : {}),
    power: line.power?.nominal ?? 0,
    only: line.only,
  };
}

/** A rate that depends on what is in the chamber: an actual volume of gas, or a pump by its curve; null for any other. */
function stateRate(line: Line, law: Law, vessel: Vessel): ((mass: number, temperature: number) => number) | null {
  const { rate, curve } = line;
  const densityOf = (mass: number): number => (vessel.volume > 0 ? Math.max(0, mass) / vessel.volume : 0);
  if (curve) {
    const { points, kind, basis } = curve;
    return (mass, temperature) => {
      const flow = alongCurve(points, pressureOf(law, vessel, mass, temperature) ?? 0);
      return kind === 'mass_flow' ? flow : flow * (volumeDensity(basis, law, densityOf(mass)) ?? 0);
    };
  }
  if (!rate || rate.kind !== 'volume_flow' || rate.basis !== 'actual' || law.phase !== 'gas') return null;
  return (mass) => rate.value.nominal * densityOf(mass);
}

/** Flow at a pressure: straight between the points, constant beyond the first and the last. */
export function alongCurve(points: PumpCurve['points'], pressure: number): number {
  // Points ascend in pressure (the resolver sees to it), so the first one at or above closes the interval.
  const above = points.findIndex((p) => p.pressure.nominal >= pressure);
  if (above === 0) return points[0]!.flow.nominal;
  if (above < 0) return points[points.length - 1]!.flow.nominal;
  const [low, high] = [points[above - 1]!, points[above]!];
  const share = (pressure - low.pressure.nominal) / (high.pressure.nominal - low.pressure.nominal);
  return low.flow.nominal + share * (high.flow.nominal - low.flow.nominal);
}

/** kg/s of a line as its chamber stands. */
export const rateNow = (line: LineFlow, mass: number, temperature: number): number =>
  line.rateAt ? line.rateAt(mass, temperature) : line.rate;

/** Parts of a stretch of time that a rate which changes with the contents is followed in. */
const PARTS = 16;

/**
 * kg that a line would move in `seconds` into a chamber that nothing else changes. A rate that depends on the contents is followed by
 * the classical Runge-Kutta rule in `PARTS` parts of the time, more where the contents change much in it.
 */
function amount(line: LineFlow, seconds: number, start: number, temperature: number): number {
  const { rateAt, sign } = line;
  if (!rateAt) return line.rate * seconds;
  // How many times over the contents would change at the first rate: where that is large, the rate itself changes within a part.
  const fast = (rateAt(start, temperature) * seconds) / Math.max(start, 1e-12);
  const parts = Math.min(2000, PARTS + Math.ceil(8 * fast));
  const h = seconds / parts;
  const slope = (m: number): number => sign * rateAt(Math.max(0, m), temperature);
  let mass = start;
  for (let k = 0; k < parts; k++) {
    const k1 = slope(mass);
    const k2 = slope(mass + (h / 2) * k1);
    const k3 = slope(mass + (h / 2) * k2);
    const k4 = slope(mass + h * k3);
    mass += (h / 6) * (k1 + 2 * k2 + 2 * k3 + k4);
  }
  return Math.abs(mass - start);
}

/** Mass beyond which the line's condition stops it, kg; null where there is no condition (or none that the medium can meet). */
export function stopMass(line: LineFlow, law: Law, vessel: Vessel, temperature: number): number | null {
  const { only } = line;
  return only ? massAt(law, vessel, only.sensed, only.value.nominal, temperature) : null;
}

/**
 * Mass that a line moves in `seconds` into its chamber (negative: out of it). Where its condition would stop it on the way it
 * holds there, as a valve that opens and shuts at the threshold does on average; a draw takes no more than there is.
 */
export function lineMass(line: LineFlow, seconds: number, law: Law, vessel: Vessel, contents: Contents): number {
  if (seconds <= 0 || (line.rate <= 0 && !line.rateAt) || line.chamber < 0) return 0;
  const mass = contents.mass[line.chamber]!;
  const wanted = amount(line, seconds, mass, contents.temperature[line.chamber]!);
  let room = line.sign < 0 ? mass : Infinity;
  if (line.only) {
    const stop = stopMass(line, law, vessel, contents.temperature[line.chamber]!);
    // A threshold that this medium cannot have (a level of a gas) is never met: the line does not run.
    if (stop === null) return 0;
    const runsAbove = line.only.side === 'above';
    if (runsAbove ? mass <= stop : mass >= stop) return 0;
    // A draw that runs above, or a feed that runs below, works towards its own stop.
    if (runsAbove === line.sign < 0) room = Math.min(room, Math.abs(mass - stop));
  }
  return line.sign * Math.min(wanted, room);
}

/** Puts `added` kg (negative: takes them) into a chamber; its temperature follows as in a vessel being filled or emptied. */
export function addMass(law: Law, vessel: Vessel, contents: Contents, chamber: number, added: number): void {
  const mass = contents.mass[chamber]!;
  const next = mass + added;
  contents.mass[chamber] = next;
  if (law.phase !== 'gas' || law.exponent === 1 || next <= 0) return;
  // Taking out expands what stays along its own isentrope; filling mixes, and the energy balance of an open volume gives the temperature.
  const T = contents.temperature[chamber]!;
  if (added < 0) {
    contents.temperature[chamber] = law.temperatureAfter(mass / vessel.volume, T, next / vessel.volume);
    return;
  }
  // Energy of what flows in is its enthalpy u + p/ρ at the pressure it has to be pushed in against.
  const inDensity = Math.max(law.density(law.pressure(next / vessel.volume, T), law.temperature), 1e-12);
  const enthalpy = law.energy(inDensity, law.temperature) + law.pressure(inDensity, law.temperature) / inDensity;
  const energy = mass * law.energy(Math.max(mass, 1e-12) / vessel.volume, T) + added * enthalpy;
  contents.temperature[chamber] = law.temperatureOf(next / vessel.volume, energy / next);
}
