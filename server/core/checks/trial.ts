/** Small experiments on a rig: change inputs one after another, each time waiting until all is settled, and look at what stands. */
import type { Rig } from '../model/rig';
import type { Engine } from '../timing/engine';
import { createEngine, initialInputs } from '../timing/engine';
import type { StrokeFacts } from '../timing/facts';
import { closePattern } from '../timing/pattern';

/** Edges in one experiment; more means that it does not settle, which counts as moving on. */
const BUDGET = 5_000;

/** Something that can be switched from outside. */
export interface Input {
  readonly net: number;
  readonly name: string;
  readonly kind: 'switch' | 'sensor';
}

export function inputsOfRig(rig: Rig): Input[] {
  const of =
    (kind: Input['kind']) =>
    (item: { readonly net: number; readonly name: string }): Input => ({ net: item.net, name: item.name, kind });
  return [...rig.switches.map(of('switch')), ...rig.sensors.map(of('sensor'))];
}

/** One rig under experiment. */
export interface Trial {
  readonly engine: Engine;
  /** Whether it fell quiet after the last change (false: it goes on moving, or stopped). */
  readonly quiet: boolean;
}

/** The rig after power-up, with some inputs the other way round than at the start, settled. */
export function settledRig(rig: Rig, turned: ReadonlySet<number> = new Set()): Trial {
  const start = initialInputs(rig);
  const engine = createEngine(rig, { budget: BUDGET, inputs: (net) => start(net) !== turned.has(net) });
  const quiet = closePattern(engine).quiet;
  if (!engine.stopped) engine.alignToScan();
  return { engine, quiet };
}

/** The rig waiting for the trigger of a stroke. */
export function restBefore(rig: Rig, stroke: StrokeFacts): Trial {
  const { net } = rig.sensors[stroke.sensor]!;
  const isThere = initialInputs(rig)(net) === stroke.becomes;
  return settledRig(rig, new Set(isThere ? [net] : []));
}

/** Turns one input round and waits. */
export function turn({ engine }: Trial, net: number): Trial {
  engine.setInput(net, engine.values[net] !== 1);
  return { engine, quiet: closePattern(engine).quiet };
}

/** Doors that are not shut at this moment. */
export function openDoors(rig: Rig, { engine }: Trial): number[] {
  return rig.doors.flatMap((_, door) => (engine.doorPosition(door) > 0 ? [door] : []));
}
