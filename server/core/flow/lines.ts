/** Feeds and draws as mass flows with their conditions. */
import type { FlowRate, Line, Threshold } from '../model/rig';
import type { Contents } from './contents';
import type { Law } from './media/law';
import { ATMOSPHERE } from './media/constants';
import type { Vessel } from './vessel';
import { massAt } from './vessel';

export interface LineFlow {
  readonly name: string;
  readonly chamber: number;
  /** +1 feed, -1 draw */
  readonly sign: 1 | -1;
  /** kg/s while it runs; 0 where it is not known. */
  readonly rate: number;
  readonly power: number;
  readonly only: Threshold | null;
}

/**
 * Mass flow of a rate, kg/s. A volume flow of a gas is counted at 101 325 Pa and the medium's temperature (free gas), of a liquid
 * at its density; a packed medium has no density to count by: null.
 */
export function massRate(rate: FlowRate, law: Law): number | null {
  const value = rate.value.nominal;
  if (rate.kind === 'mass_flow') return value;
  if (law.phase === 'gas') return value * law.density(ATMOSPHERE, law.temperature);
  return law.phase === 'liquid' ? value * law.referenceDensity : null;
}

export function lineFlow(line: Line, law: Law): LineFlow {
  return {
    name: line.name,
    chamber: line.chamber,
    sign: line.kind === 'feed' ? 1 : -1,
    rate: line.chamber >= 0 && line.rate ? (massRate(line.rate, law) ?? 0) : 0,
    power: line.power?.nominal ?? 0,
    only: line.only,
  };
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
  if (seconds <= 0 || line.rate <= 0 || line.chamber < 0) return 0;
  const mass = contents.mass[line.chamber]!;
  const wanted = line.rate * seconds;
  let room = line.sign < 0 ? mass : Infinity;
  if (line.only) {
    const stop = stopMass(line, law, vessel, contents.temperature[line.chamber]!);
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
