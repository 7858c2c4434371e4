/** Doors as the coupled run follows them beside the event engine. */
import type { Rig } from '../model/rig';
import type { Engine } from '../timing/engine';
import { createEngine } from '../timing/engine';
import { compileProgram } from '../timing/program';
import { bringToRest, EDGE_BUDGET, movesForEver } from '../timing/rest';

/** The last movement of a door: from `from` at `t` (µs) to `to`, where it is at `arrives`. */
export interface MovingDoor {
  readonly t: number;
  readonly from: number;
  readonly to: number;
  readonly arrives: number;
}

/** Doors as they stand when the engine starts. */
export function doorsOf(rig: Rig, engine: Engine): MovingDoor[] {
  return rig.doors.map((_, d) => {
    const at = engine.doorPosition(d, 0);
    return { t: 0, from: at, to: at, arrives: 0 };
  });
}

/** Away from shut just after `t`. */
export const isNotShut = (door: MovingDoor, t: number): boolean => t < door.arrives || door.to === 1;

/** Time zero is the rig long powered up; one that does not come to rest with its starting contents begins at its power-up. */
export function engineAtRest(rig: Rig, inputs: (net: number) => boolean, budget: number): Engine {
  const program = compileProgram(rig);
  const rest = bringToRest(rig, program, inputs, EDGE_BUDGET);
  const engine = createEngine(rig, { program, inputs, budget });
  if (rest.trace.stopped || movesForEver(rest)) return engine;
  engine.advanceTo(rest.engine.now);
  engine.rebase();
  return engine;
}

/** Position of a door at `t`, by its last movement. */
export function positionOf(door: MovingDoor, t: number): number {
  if (t >= door.arrives) return door.to;
  return door.from + ((door.to - door.from) * (t - door.t)) / (door.arrives - door.t);
}
