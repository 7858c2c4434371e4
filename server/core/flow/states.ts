/** States of chambers as the facts give them. */
import type { FlowModel } from './rig-model';
import type { ChamberState } from './facts';
import { levelOf, pressureOf } from './vessel';
import { formatSi } from '../units/units';
import { say } from '../words/say';

/** State of chamber `k` with `mass` kg at `temperature` K. */
export function stateOf(model: FlowModel, k: number, mass: number, temperature: number): ChamberState {
  const vessel = model.vessels[k]!;
  return {
    mass,
    density: vessel.volume > 0 ? mass / vessel.volume : 0,
    pressure: pressureOf(model.law, vessel, mass, temperature),
    level: model.law.phase === 'liquid' ? levelOf(model.law, vessel, mass) : null,
    temperature,
    ...(model.law.phase === 'packed' && vessel.byMass ? { byMass: true } : {}),
  };
}

/** What a packed medium is judged by, in the terms of the text. */
export const packedText = ({ byMass, mass, density }: ChamberState): string =>
  byMass ? formatSi(mass, 'mass') : formatSi(density, 'density');

/** State with the temperature the chamber starts at. */
export const stateAt = (model: FlowModel, k: number, mass: number): ChamberState =>
  stateOf(model, k, mass, model.vessels[k]!.temperature);

/** Why a run ends at a state: the law or the material does not reach there; null where they do. */
export function beyondRange(model: FlowModel, k: number, mass: number, hottest: number): string | null {
  const { law } = model;
  const { volume } = model.vessels[k]!;
  if (law.phase === 'gas') return volume > 0 && hottest > 0 ? law.outside(mass / volume, hottest) : null;
  return law.phase === 'liquid' ? doubtAt(model, k, stateOf(model, k, mass, law.temperature)) : null;
}

/**
 * Why there is no result for a pocket squeezed to `pressure` (Pa; Infinity: nothing is left of its volume): the law or the material does
 * not reach there. Null where they do, and for a packed medium. `who`: the doors of the pocket, for people.
 */
export function beyondSqueeze({ law }: FlowModel, pressure: number | null, who: string): string | null {
  if (law.phase === 'packed' || pressure === null || pressure <= law.range.pressure) return null;
  if (pressure === Infinity) return say`the pocket of ${who} would be squeezed without bound: it cannot close`;
  const bar = Number((law.range.pressure / 1e5).toPrecision(4));
  return say`the pocket of ${who} would be squeezed beyond ${bar} bar, up to which the law of ${law.name} holds: it cannot close`;
}

/** Why a state should not be believed, or null. */
export function doubtAt(model: FlowModel, k: number, state: ChamberState): string | null {
  const { law } = model;
  if (law.phase === 'gas') return law.doubt(state.density, state.temperature);
  if (law.phase === 'liquid' && state.pressure !== null && state.pressure > LIQUID_RANGE) {
    return say`${law.name} would stand above 100 MPa, where a constant bulk modulus no longer holds`;
  }
  return null;
}

/** Pa. Above this the bulk modulus of water has risen by roughly a quarter (from memory). */
export const LIQUID_RANGE = 100e6;
