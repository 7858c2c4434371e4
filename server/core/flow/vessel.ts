/** A chamber as the flow engine sees it: from contents to pressure, density and level, and back. SI units. */
import type { Chamber, Sensed } from '../model/rig';
import { ENDLESS } from './cells';
import { ATMOSPHERE, GRAVITY } from './media/constants';
import type { Law, LiquidLaw } from './media/law';
import { liquidDensity, liquidPressure } from './media/law';

/** A chamber's walls: constant; its contents are in `Contents`. */
export interface Vessel {
  readonly name: string;
  /** m3 */
  readonly volume: number;
  /** K; what the contents have at the start, and keep where the medium is isothermal. */
  readonly temperature: number;
  /** Liquids: pressure on the surface while there is one, Pa. */
  readonly surface: number;
  /** Liquids: m2; without a floor area the chamber counts as a cube. */
  readonly floorArea: number;
  /** Liquids: height of the bottom above the datum, m. */
  readonly elevation: number;
  /** Packed media: the text states the contents (or else their limit) as a mass. */
  readonly byMass?: boolean;
}

/** Whether a chamber's contents are stated as a mass and not as a density. */
export const isByMass = ({ mass, density, limit }: Pick<Chamber, 'mass' | 'density' | 'limit'>): boolean =>
  density === null && (mass !== null || limit?.kind === 'mass');

/** The vessel of a chamber; what is not given: no volume, the temperature of the medium, 101 325 Pa, a cube, on the datum. */
export function vesselOf(chamber: Chamber, law: Law): Vessel {
  const volume = chamber.endless ? ENDLESS : (chamber.volume?.nominal ?? 0);
  return {
    name: chamber.name,
    volume,
    temperature: chamber.temperature?.nominal ?? law.temperature,
    surface: chamber.pressure?.nominal ?? ATMOSPHERE,
    floorArea: chamber.floorArea?.nominal ?? Math.cbrt(volume) ** 2,
    elevation: chamber.elevation?.nominal ?? 0,
    byMass: isByMass(chamber),
  };
}

/**
 * Pa from which the work of doors on this medium counts. A liquid hardly gives way: the air that presses on its surfaces presses on the doors
 * from behind as well, and what it does at one it takes back at another, so that only pressure above it is work of a drive. A gas is
 * compressed and expands: its work is that of its absolute pressure, as the first law has it.
 */
export const workFrom = ({ phase }: Law): number => (phase === 'liquid' ? ATMOSPHERE : 0);

/** Mass of liquid that just fills the vessel under its surface pressure, kg. */
export const fullMass = (law: LiquidLaw, vessel: Vessel): number => liquidDensity(law, vessel.surface) * vessel.volume;

/**
 * Contents at the start, kg: from `mass`, else `density`, else `level`; else a gas fills it at `pressure` (101 325 Pa where
 * nothing is stated), a liquid fills it where a pressure is given and is absent where not, a packed medium is absent.
 */
export function startMass(chamber: Chamber, vessel: Vessel, law: Law): number {
  if (chamber.mass) return chamber.mass.nominal;
  if (chamber.density) return chamber.density.nominal * vessel.volume;
  if (law.phase === 'gas') return law.density(vessel.surface, vessel.temperature) * vessel.volume;
  if (law.phase === 'packed') return 0;
  if (chamber.level) return liquidDensity(law, vessel.surface) * chamber.level.nominal * vessel.floorArea;
  return chamber.pressure && !chamber.endless ? fullMass(law, vessel) : 0;
}

/** Height of a liquid above the bottom, m; of a full vessel its own height. */
export function levelOf(law: LiquidLaw, vessel: Vessel, mass: number): number {
  if (vessel.floorArea <= 0) return 0;
  return Math.min(mass, fullMass(law, vessel)) / (liquidDensity(law, vessel.surface) * vessel.floorArea);
}

/**
 * Pressure, Pa: of a gas everywhere in the vessel; of a liquid at the bottom: the surface pressure and the head, and once the
 * vessel is full what its stiffness adds. A packed medium has none.
 */
export function pressureOf(law: Law, vessel: Vessel, mass: number, temperature: number): number | null {
  if (law.phase === 'packed') return null;
  if (law.phase === 'gas') return vessel.volume > 0 ? law.pressure(mass / vessel.volume, temperature) : null;
  const full = fullMass(law, vessel);
  const head = liquidDensity(law, vessel.surface) * GRAVITY * levelOf(law, vessel, mass);
  return vessel.surface + head + (mass > full ? overfill(law, vessel, mass) : 0);
}

/** What the stiffness of the liquid adds in a vessel that holds more than fills it, Pa; by the law itself, as in a pocket beside it. */
export const overfill = (law: LiquidLaw, vessel: Vessel, mass: number): number =>
  liquidPressure(law, mass / vessel.volume) - vessel.surface;

/** Mass of liquid in a vessel whose bottom is under `pressure`: rises from nothing at the surface pressure. */
export function liquidMassAt(law: LiquidLaw, vessel: Vessel, pressure: number): number {
  const excess = pressure - vessel.surface;
  if (excess <= 0) return 0;
  const full = fullMass(law, vessel);
  const free = (excess / GRAVITY) * vessel.floorArea;
  // Under a free surface the bottom pressure grows by the head, once the vessel is full by the stiffness of the liquid.
  if (free <= full) return free;
  return vessel.volume * liquidDensity(law, pressure - (GRAVITY * full) / vessel.floorArea);
}

/** What a sensor or a limit looks at: the value in SI units, null where the medium has none. */
export function reading(law: Law, vessel: Vessel, sensed: Sensed, mass: number, temperature: number): number | null {
  if (sensed === 'mass') return mass;
  if (sensed === 'density') return vessel.volume > 0 ? mass / vessel.volume : null;
  if (sensed === 'level') return law.phase === 'liquid' ? levelOf(law, vessel, mass) : null;
  return pressureOf(law, vessel, mass, temperature);
}

/** Mass at which a reading is reached, kg; null where the medium has no such reading. */
export function massAt(law: Law, vessel: Vessel, sensed: Sensed, value: number, temperature: number): number | null {
  if (sensed === 'mass') return value;
  if (sensed === 'density') return value * vessel.volume;
  if (law.phase === 'packed') return null;
  if (sensed === 'level') {
    return law.phase === 'liquid' ? liquidDensity(law, vessel.surface) * vessel.floorArea * value : null;
  }
  return law.phase === 'gas' ? law.density(value, temperature) * vessel.volume : liquidMassAt(law, vessel, value);
}

/** Pressure in a sealed pocket, Pa; a liquid that does not fill it leaves a void and next to no pressure. */
export function pocketPressure(law: Law, volume: number, mass: number, temperature: number): number | null {
  if (law.phase === 'packed') return null;
  if (mass <= 0) return 0;
  if (volume <= 0) return Infinity;
  if (law.phase === 'gas') return law.pressure(mass / volume, temperature);
  return Math.max(0, liquidPressure(law, mass / volume));
}
