/** Where the doors stand before anything happens. */
import { positionOf } from '../model/motion';
import type { Rig } from '../model/rig';
import { engineAtRest } from '../timing/rest';
import { doorsOf } from './moving-doors';

/** Events until a rig counts as one that does not come to rest. */
const REST_BUDGET = 20_000;

/** Doors as the rig stands with power and every sensor off (as modes.ts wakes it), before any switch is thrown. */
export function positionsAtStart(rig: Rig): number[] {
  const engine = engineAtRest(rig, initialSwitches(rig), REST_BUDGET);
  return doorsOf(rig, engine).map((door) => positionOf(door, 0));
}

/** Inputs of the control network: every sensor off, every switch as declared. */
function initialSwitches(rig: Rig): (net: number) => boolean {
  const on = new Set(rig.switches.filter((s) => s.initial).map((s) => s.net));
  return (net) => on.has(net);
}
