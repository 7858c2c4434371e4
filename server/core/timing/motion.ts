/** Doors on the move: position as a whole number of units, exact at every microsecond, so that a reversal midway loses nothing. */
import type { DoorProgram } from './program';
import type { DoorMove } from './trace';

/** Changing state of one door. `units` holds at time `since`; it goes towards `target` from there. */
export interface DoorState {
  units: number;
  since: number;
  target: 0 | 1;
  /** When it is, or was, at its target. */
  arrives: number;
}

export function doorAtRest(door: DoorProgram): DoorState {
  return { units: door.rest === 1 ? door.full : 0, since: 0, target: door.rest, arrives: 0 };
}

/** Units at time `t` ≥ `since`. */
export function unitsAt(door: DoorProgram, state: DoorState, t: number): number {
  const dt = t - state.since;
  if (t >= state.arrives) return state.target === 1 ? door.full : 0;
  if (state.target === 1) return Math.min(door.full, state.units + dt * door.opens);
  return Math.max(0, state.units - dt * door.closes);
}

/** Opening of a door at time `t` ≥ `since`: 0 shut … 1 fully open. */
export function openingAt(door: DoorProgram, state: DoorState, t: number): number {
  return unitsAt(door, state, t) / door.full;
}

/** Turns the door towards `target` at time `t`; what remains of its way is rounded up to a whole microsecond. */
export function turnDoor(door: DoorProgram, state: DoorState, target: 0 | 1, t: number, cause: number): DoorMove {
  const units = unitsAt(door, state, t);
  const way = target === 1 ? (door.full - units) / door.opens : units / door.closes;
  const arrives = t + Math.ceil(way);
  state.units = units;
  state.since = t;
  state.target = target;
  state.arrives = arrives;
  return { t, from: units / door.full, to: target, arrives, cause };
}
