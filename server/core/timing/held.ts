/** Whether the inputs of a rig, as they stand at the start, hold a door open: then that is their position, and no door is left open. */
import { driveOf } from '../model/logic';
import type { Rig } from '../model/rig';
import { isHeldOpen, steadyValue } from '../model/steady';
import { createEngine } from './engine';
import { closePattern, doorsThatMove } from './pattern';

/** Edges of one experiment; a rig that needs more does not settle, and nothing holds its doors. */
const BUDGET = 5_000;

/**
 * Tells of each door whether inputs hold it open. By what the network settles at, where that is known (`isHeldOpen`). Where it keeps a past (a latch, a
 * counter, a loop), each sensor is tried the other way round in the event engine: one holds the door if the settled rig then shuts it and does
 * not open it again.
 *
 * Logic first, because a truth value that is the same for every past is certain and costs nothing; the experiment is for the rest, and made once for
 * all doors. One sensor at a time: a door held by either of two sensors is held by both inputs as they stand, and reporting it as left open
 * would be right.
 */
export function heldByInputs(rig: Rig, start: (net: number) => boolean): (door: number) => boolean {
  let known: Experiments | null = null;
  return (door) => {
    if (isHeldOpen(rig, door, start)) return true;
    const net = driveOf(rig, door)?.net ?? -1;
    if (net < 0 || steadyValue(rig, net, start) !== null) return false;
    known ??= experimentsOn(rig, start);
    return known.open.has(door) && known.shuts.some((shut) => shut().has(door));
  };
}

/** Doors open in the settled rig, and for each sensor the doors that it shuts for good when it turns; each tried when first asked for. */
interface Experiments {
  readonly open: ReadonlySet<number>;
  readonly shuts: readonly (() => ReadonlySet<number>)[];
}

function experimentsOn(rig: Rig, start: (net: number) => boolean): Experiments {
  const engine = createEngine(rig, { budget: BUDGET, inputs: start });
  const pattern = closePattern(engine);
  if (engine.stopped) return { open: new Set(), shuts: [] };
  const doors = [...rig.doors.keys()];
  // A door that goes on moving is open at some moments; nothing holds it.
  const moving = doorsThatMove(engine, pattern);
  const open = new Set(doors.filter((door) => engine.doorPosition(door) !== 0 && !moving.includes(door)));
  // The change is to be seen at once, and by all experiments alike: in scan style they begin at a scan.
  engine.alignToScan();
  const rest = engine.snapshot();
  const shutBy = (net: number): ReadonlySet<number> => {
    engine.restore(rest);
    const since = engine.moves.length;
    engine.setInput(net, engine.values[net] !== 1);
    closePattern(engine);
    if (engine.stopped) return new Set();
    const opened = new Set(engine.moves.slice(since).flatMap((move) => (move.to === 1 ? [move.door] : [])));
    return new Set(doors.filter((door) => !opened.has(door) && engine.doorPosition(door) === 0));
  };
  return {
    open,
    shuts: rig.sensors.map(({ net }) => {
      let tried: ReadonlySet<number> | null = null;
      return () => (tried ??= shutBy(net));
    }),
  };
}
