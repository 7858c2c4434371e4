/** Runs an engine until its future is known: nothing more happens, or the whole state returns to one already seen. */
import type { Engine } from './engine';

/** The state at `from` is the state at `to`; both null where it fell quiet, ran out of budget or stopped in a loop. */
export interface Pattern {
  readonly from: number | null;
  readonly to: number | null;
  /** Nothing more happens (doors under way still arrive). */
  readonly quiet: boolean;
}

/**
 * Steps the engine from `now` on until the pattern closes. The state is compared exactly, with all times relative to the instant:
 * equal states have equal futures. Afterwards `engine.now` is the instant of closing, or the arrival of the last door when quiet.
 * States are compared only after `patience` further edges: cheaper where falling quiet is likely, but the period found may begin late.
 */
export function closePattern(engine: Engine, patience = 0): Pattern {
  const compareFrom = engine.edgeCount + patience;
  const seen = new Map<string, number>();
  while (engine.nextTime() < Infinity) {
    engine.step();
    if (engine.nextTime() === Infinity) break;
    if (engine.edgeCount < compareFrom) continue;
    const key = engine.key();
    const from = seen.get(key);
    // A second key at one instant comes of an operation at `now`: no time has passed, so no period.
    if (from !== undefined && from < engine.now) return { from, to: engine.now, quiet: false };
    seen.set(key, engine.now);
  }
  if (engine.stopped) return { from: null, to: null, quiet: false };
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive()));
  return { from: null, to: null, quiet: true };
}
