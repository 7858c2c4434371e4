/** Rigs that no single change starts: which switches and sensors have to be turned before the one that starts a stroke. */
import type { Rig } from '../model/rig';
import { closePattern } from './pattern';
import type { Program } from './program';
import { bringToRest, movesForEver } from './rest';
import type { AtRest } from './rest';

/** Up to here every pair of inputs is tried; beyond it, all inputs one after the other. */
const MOST_PAIRED = 12;

export interface Waiting {
  /** Nets turned the other way round before the trigger. */
  readonly turned: readonly number[];
  /** The rig at rest with them turned; the engine is at its time zero. */
  readonly rest: AtRest;
}

/**
 * Inputs that have to be turned so that one more change moves a door: the first that does of all switches, then sensors from the last one back; where none
 * does alone, as few as can be left of all of them. Null where nothing moves a door at all.
 */
export function whatItWaitsFor(
  rig: Rig,
  program: Program,
  inputs: (net: number) => boolean,
  budget: number,
): Waiting | null {
  // What stands further down the text is rather what a stroke waits for, what stands above what starts it.
  const all = [...rig.switches, ...[...rig.sensors].reverse()].map((input) => input.net);
  const restWith = (turned: readonly number[]): AtRest | null => {
    const held = bringToRest(rig, program, (net) => inputs(net) !== turned.includes(net), budget);
    if (held.trace.stopped || movesForEver(held)) return null;
    held.engine.rebase();
    return held;
  };
  if (all.length <= MOST_PAIRED) {
    for (const net of all) {
      const rest = restWith([net]);
      if (rest !== null && all.some((other) => other !== net && movesDoor(rest, other, !inputs(other))))
        return { turned: [net], rest };
    }
  }
  const needed = fewest(all, (turned) => {
    const rest = turned.length < 2 ? null : restWith(turned.slice(0, -1));
    return rest !== null && movesDoor(rest, turned.at(-1)!, !inputs(turned.at(-1)!));
  });
  const rest = needed === null ? null : restWith(needed.slice(0, -1));
  return needed === null || rest === null ? null : { turned: needed.slice(0, -1), rest };
}

/** Whether a change moves a door; the engine is as it was afterwards. */
function movesDoor({ engine }: AtRest, net: number, becomes: boolean): boolean {
  const state = engine.snapshot();
  engine.setInput(net, becomes);
  closePattern(engine);
  const moves = engine.moveCount > state.doors.moves;
  engine.restore(state);
  return moves;
}

/** The shortest beginning of a list that does, without those of it that are not needed; null where the whole list does not. */
function fewest(list: readonly number[], does: (some: readonly number[]) => boolean): number[] | null {
  const length = list.findIndex((_, i) => does(list.slice(0, i + 1))) + 1;
  if (length === 0) return null;
  let kept = list.slice(0, length);
  if (length > 2 * MOST_PAIRED) return kept;
  for (const net of kept.slice(0, -1)) {
    const without = kept.filter((other) => other !== net);
    if (does(without)) kept = without;
  }
  return kept;
}
