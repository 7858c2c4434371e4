/**
 * Feeds and draws that what is in their chamber turns on and off or makes faster and slower, as the flow equations see them: a rate
 * that follows the contents at every moment, not the contents at the start of a step.
 */
import type { Threshold } from '../model/rig';
import type { LineFlow } from './lines';
import type { GasLaw } from './media/law';
import type { Part } from './openings-parts';
import type { FlowModel } from './rig-model';

/** A line of the rig that stands on a chamber of the part, whose rate depends on what is in it. */
export interface VaryingLine {
  readonly line: LineFlow;
  /** In the rig's lines. */
  readonly index: number;
  /** Place of its chamber in the part, and the node that this is in. */
  readonly place: number;
  readonly node: number;
}

/**
 * A condition ends a flow over this part of its threshold, not at once: a chamber that it holds at the threshold stands within that of it, and
 * an integrator can follow it there.
 */
const EDGE = 1e-4;

/** Whether a rate changes with the contents of its chamber. */
export const varies = ({ only, rateAt, rate }: LineFlow): boolean =>
  rateAt !== undefined || (only !== null && rate > 0);

export function varyingLines(model: FlowModel, part: Part, nodeOf: (place: number) => number): VaryingLine[] {
  return model.lines.flatMap((line, index): VaryingLine[] => {
    const place = part.cells.indexOf(line.chamber);
    return place >= 0 && varies(line) ? [{ line, index, place, node: nodeOf(place) }] : [];
  });
}

/** kg/s (not negative) of a line with its chamber of `volume` m3 at this density, pressure and temperature. */
export function lineRate(
  line: LineFlow,
  density: number,
  pressure: number,
  volume: number,
  temperature: number,
): number {
  const rate = line.rateAt ? line.rateAt(density * volume, temperature) : line.rate;
  return conditioned(line, rate, line.only ? readingOf(line.only, density, pressure, volume) : null);
}

const readingOf = ({ sensed }: Threshold, density: number, pressure: number, volume: number): number =>
  sensed === 'pressure' ? pressure : sensed === 'density' ? density : density * volume;

/** How far a chamber is beyond a threshold, as a part of the way from where a flow begins (0) to where it is whole (1). */
export const beyondEdge = (only: Threshold, density: number, pressure: number, volume: number): number =>
  beyondAt(only, readingOf(only, density, pressure, volume));

function beyondAt({ side, value: { nominal } }: Threshold, now: number): number {
  return (side === 'above' ? now - nominal : nominal - now) / (EDGE * Math.abs(nominal));
}

/** What a line's condition lets through of its rate while its chamber shows `now`; null: the medium has no such reading. */
export function conditioned({ only }: LineFlow, rate: number, now: number | null): number {
  if (!only || rate <= 0) return Math.max(0, rate);
  if (now === null) return 0;
  // From 0 at the threshold to the whole rate at EDGE beyond it: continuous, so the integrator does not hunt for a jump.
  const beyond = beyondAt(only, now);
  return beyond >= 1 ? rate : beyond <= 0 ? 0 : rate * beyond;
}

/** Enthalpy that a feed brings, J/kg: gas at the temperature of the medium, at the pressure it is pushed in against. */
export function feedEnthalpy(law: GasLaw, density: number, temperature: number): number {
  const pressure = Math.max(law.pressure(density, temperature), 1e-6);
  const own = law.density(pressure, law.temperature);
  return law.energy(own, law.temperature) + pressure / own;
}
