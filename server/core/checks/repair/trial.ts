/** Small experiments on a rig: change inputs one after another, each time waiting until all is settled, and look at what stands. */
import { inputsOfRig } from '../../model/logic';
import type { Rig } from '../../model/rig';
import type { Engine, Snapshot } from '../../timing/engine';
import { createEngine } from '../../timing/engine';
import type { RigFacts } from '../../run/facts';
import type { StrokeFacts, TimingFacts } from '../../timing/facts';
import { inputsBefore } from '../../timing/trace';
import { closePattern, doorsAreQuiet, doorsThatMove } from '../../timing/pattern';

/** Edges in one experiment; more means that it does not settle, which counts as moving on. */
const BUDGET = 5_000;

/** Moves that show which doors go on moving, where a run was cut off. */
const LAST_MOVES = 20;

/** One rig under experiment. */
export interface Trial {
  readonly engine: Engine;
  /** Whether it fell quiet after the last change (false: it goes on moving, or stopped). */
  readonly quiet: boolean;
  /** Doors that go on moving; where the run stopped before that was known, those that moved last. */
  readonly moving: readonly number[];
  /** The longest interval at which something that moves no door repeats (a lamp, a free-running clock), in microseconds; else 0. */
  readonly period: number;
}

interface Rest extends Trial {
  readonly state: Snapshot;
}

const RESTS = new WeakMap<TimingFacts, Map<string, Rest>>();

/**
 * The rig after power-up, with some inputs the other way round than at the start, settled. Trials of one rig that start alike share
 * an engine: a new one ends those before it.
 */
export function settledRig({ rig, timing }: RigFacts, turned: readonly number[] = []): Trial {
  let rests = RESTS.get(timing);
  if (!rests) RESTS.set(timing, (rests = new Map()));
  const key = turned.join();
  const known = rests.get(key);
  if (known) {
    known.engine.restore(known.state);
    return known;
  }
  const inputs = (net: number): boolean => startsOn(timing, net) !== turned.includes(net);
  const engine = createEngine(rig, { budget: BUDGET, inputs });
  const settled = settle(engine);
  if (!engine.stopped) engine.alignToScan();
  const rest = { ...settled, state: engine.snapshot() };
  rests.set(key, rest);
  return rest;
}

/** The rig waiting for the trigger of a stroke. */
export function restBefore(facts: RigFacts, stroke: StrokeFacts): Trial {
  const before = inputsBefore(stroke);
  const turned = inputsOfRig(facts.rig).filter(({ net }) => before(net) !== startsOn(facts.timing, net));
  return settledRig(
    facts,
    turned.map(({ net }) => net),
  );
}

/** Whether a switch or sensor is on at power-up, by its declaration or by the contents of its chamber. */
function startsOn({ atRest }: TimingFacts, net: number): boolean {
  return atRest.trace.initial[net] ?? false;
}

/** Turns one input round and waits. */
export function turn({ engine }: Trial, net: number): Trial {
  engine.setInput(net, engine.values[net] !== 1);
  return settle(engine);
}

/** Runs on until no door moves any more, or those that do repeat. */
function settle(engine: Engine): Trial {
  const pattern = closePattern(engine);
  const quiet = doorsAreQuiet(engine, pattern);
  const period = Math.max(0, ...pattern.groups.map((g) => g.to - g.from));
  if (quiet || !engine.stopped) return { engine, quiet, moving: doorsThatMove(engine, pattern), period };
  const last = engine.moves.slice(-LAST_MOVES).map((m) => m.door);
  return { engine, quiet, moving: [...new Set(last)].sort((a, b) => a - b), period };
}

/** Nets that still change although no door moves. Runs the engine on by the trial's period. */
export function changingNets({ engine, period }: Trial): ReadonlySet<number> {
  const nets = new Set<number>();
  const from = engine.edgeCount;
  engine.advanceTo(engine.now + period);
  for (let i = from; i < engine.edgeCount; i++) nets.add(engine.edgeNet(i));
  return nets;
}

/** Doors that are not shut at this moment. */
export function openDoors(rig: Rig, { engine }: Trial): number[] {
  return rig.doors.flatMap((_, door) => (engine.doorPosition(door) > 0 ? [door] : []));
}
