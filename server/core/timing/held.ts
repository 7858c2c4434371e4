/** Whether the inputs of a rig, as they stand at the start, hold a door open: then that is their position, and no door is left open. */
import { driveOf } from '../model/logic';
import type { Rig } from '../model/rig';
import { isHeldOpen, steadyValue } from '../model/steady';
import { createEngine } from './engine';
import { closePattern } from './pattern';

/** Edges of one experiment; a rig that needs more does not settle, and nothing holds its doors. */
const BUDGET = 5_000;

/**
 * By what the network settles at, where that is known (`isHeldOpen`). Where it keeps a past (a latch, a counter, a loop), each sensor is tried
 * the other way round in the event engine: one holds the door if the settled rig then shuts it and does not open it again.
 *
 * Logic first, because a truth value that is the same for every past is certain and costs nothing; the experiment is for the rest. One
 * sensor at a time: a door held by either of two sensors is held by both inputs as they stand, and reporting it as left open would be right.
 */
export function isHeldByInputs(rig: Rig, door: number, start: (net: number) => boolean): boolean {
  if (isHeldOpen(rig, door, start)) return true;
  const net = driveOf(rig, door)?.net ?? -1;
  if (net < 0 || steadyValue(rig, net, start) !== null) return false;
  const engine = createEngine(rig, { budget: BUDGET, inputs: start });
  closePattern(engine);
  if (engine.stopped || engine.doorPosition(door) === 0) return false;
  // The change is to be seen at once, and by all experiments alike: in scan style they begin at a scan.
  engine.alignToScan();
  const rest = engine.snapshot();
  return rig.sensors.some((sensor) => {
    engine.restore(rest);
    const since = engine.moves.length;
    engine.setInput(sensor.net, engine.values[sensor.net] !== 1);
    closePattern(engine);
    const opens = engine.moves.slice(since).some((m) => m.door === door && m.to === 1);
    return !engine.stopped && !opens && engine.doorPosition(door) === 0;
  });
}
