/**
 * Independent exhaustive exploration of a rig with exact small times: at every microsecond every input is left, turned, or turned
 * twice (a pulse without width), and the event engine goes one microsecond on. Shares no code with the proof engine.
 */
import type { Rig } from '../../server/core/model/rig';
import { createEngine, initialInputs, type Engine } from '../../server/core/timing/engine';

export interface Seen {
  /** Door not shut just after this moment. */
  notShut(door: number): boolean;
  net(net: number): boolean;
}

/** Looks whether `broken` is ever true. Null where more than `limit` states were met. */
export function everBroken(rig: Rig, broken: (seen: Seen) => boolean, limit: number): boolean | null {
  const inputs = [...rig.switches, ...rig.sensors].map((i) => i.net);
  const engine = createEngine(rig, { inputs: initialInputs(rig), budget: 1_000_000_000 });
  engine.advanceTo(0);
  if (broken(look(engine))) return true;
  const met = new Set([engine.key()]);
  const open = [engine.snapshot()];
  const choices = 3 ** inputs.length;
  while (open.length > 0) {
    const state = open.pop()!;
    for (let choice = 0; choice < choices; choice++) {
      engine.restore(state);
      operate(engine, inputs, choice);
      engine.advanceTo(engine.now + 1);
      if (broken(look(engine))) return true;
      const key = engine.key();
      if (met.has(key)) continue;
      met.add(key);
      if (met.size > limit) return null;
      open.push(engine.snapshot());
    }
  }
  return false;
}

/** Enters operations for the next microsecond: digit k of `choice` in base 3 is how often input k turns. */
function operate(engine: Engine, inputs: readonly number[], choice: number): void {
  let rest = choice;
  for (const net of inputs) {
    let value = engine.values[net] === 1;
    for (let turns = rest % 3; turns > 0; turns--) {
      value = !value;
      engine.setInput(net, value, engine.now + 1);
    }
    rest = Math.floor(rest / 3);
  }
}

function look(engine: Engine): Seen {
  const { doors } = engine.snapshot();
  return {
    notShut: (door) => doors.target[door] === 1 || engine.doorPosition(door) > 0,
    net: (net) => engine.values[net] === 1,
  };
}
