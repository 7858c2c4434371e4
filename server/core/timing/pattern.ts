/** Runs an engine until its future is known: nothing more happens, or the state of all that matters returns to one already seen. */
import type { Engine } from './engine';

/** The state at `from` is the state at `to`; both null where it fell quiet, ran out of budget or stopped in a loop. */
export interface Pattern {
  readonly from: number | null;
  readonly to: number | null;
  /** Nothing more happens (doors under way still arrive). */
  readonly quiet: boolean;
}

/**
 * Steps the engine from `now` on until the pattern closes. The state (`Engine.stateWords`) is compared exactly, with all times relative
 * to the instant: equal states have equal futures. Afterwards `engine.now` is the instant of closing, or the arrival of the last door when quiet.
 * States are compared only after `patience` further edges: cheaper where falling quiet is likely, but the period found may begin late.
 */
export function closePattern(engine: Engine, patience = 0): Pattern {
  const compareFrom = engine.edgeCount + patience;
  const seen = new SeenStates();
  while (engine.nextTime() < Infinity) {
    engine.step();
    if (engine.nextTime() === Infinity) break;
    if (engine.edgeCount < compareFrom) continue;
    const from = seen.meet(engine.stateWords(), engine.now);
    if (from !== null) return { from, to: engine.now, quiet: false };
  }
  if (engine.stopped) return { from: null, to: null, quiet: false };
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive()));
  return { from: null, to: null, quiet: true };
}

/**
 * After a pattern of what drives doors has closed: runs on, `patience` edges at most, until the whole rig is quiet or its state returns,
 * so that lamps and start-up pulses have settled as well.
 */
export function settleWhole(engine: Engine, patience: number): void {
  const until = engine.edgeCount + patience;
  const seen = new SeenStates();
  while (engine.nextTime() < Infinity && engine.edgeCount < until) {
    engine.step();
    if (seen.meet(engine.wholeStateWords(), engine.now) !== null) return;
  }
}

interface Seen {
  readonly words: readonly number[];
  t: number;
}

/** States by a hash of their words; equal only if every word is. */
class SeenStates {
  private readonly byHash = new Map<number, Seen[]>();

  /** When this state was seen before, at an earlier time; else null, and it is seen now. */
  meet(words: readonly number[], t: number): number | null {
    const hash = hashOf(words);
    const bucket = this.byHash.get(hash);
    const same = bucket?.find((seen) => equal(seen.words, words));
    if (same) {
      // Twice at one instant comes of an operation at that instant: no time has passed, so no period.
      return same.t < t ? same.t : null;
    }
    if (bucket) bucket.push({ words, t });
    else this.byHash.set(hash, [{ words, t }]);
    return null;
  }
}

function hashOf(words: readonly number[]): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < words.length; i++) {
    const word = words[i]!;
    hash = Math.imul(hash ^ word, 0x01000193) ^ Math.trunc(word / 4294967296);
  }
  return hash;
}

function equal(a: readonly number[], b: readonly number[]): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}
