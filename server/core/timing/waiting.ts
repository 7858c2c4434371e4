/**
 * Rigs that no single change starts: which switches and sensors have to be turned before the one that starts a stroke.
 *
 * All subsets of n inputs are 2^n runs. Two searches cover what rigs are built like: every ordered pair (an arming switch and a trigger),
 * then the shortest beginning of one list of all inputs, thinned by leaving each out in turn. The second assumes that turning more inputs
 * does no harm, so it can miss a rig that wants one of them left as it is; such a rig is reported as never starting, and a scenario shows it.
 */
import type { Rig } from '../model/rig';
import type { Work } from '../work/work';
import { patternWork } from './pattern';
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
export function* whatItWaitsFor(
  rig: Rig,
  program: Program,
  inputs: (net: number) => boolean,
  budget: number,
): Work<Waiting | null> {
  // What stands further down the text is rather what a stroke waits for, what stands above what starts it.
  const all = [...rig.switches, ...[...rig.sensors].reverse()].map((input) => input.net);
  function* restWith(turned: readonly number[]): Work<AtRest | null> {
    const held = yield* bringToRest(rig, program, (net) => inputs(net) !== turned.includes(net), budget);
    if (held.trace.stopped || movesForEver(held)) return null;
    held.engine.rebase();
    return held;
  }
  function* movesOne(turned: readonly number[]): Work<boolean> {
    const rest = turned.length < 2 ? null : yield* restWith(turned.slice(0, -1));
    return rest !== null && (yield* movesDoor(rest, turned.at(-1)!, !inputs(turned.at(-1)!)));
  }
  if (all.length <= MOST_PAIRED) {
    for (const net of all) {
      const rest = yield* restWith([net]);
      if (rest === null) continue;
      for (const other of all) {
        if (other !== net && (yield* movesDoor(rest, other, !inputs(other)))) return { turned: [net], rest };
      }
    }
  }
  const needed = yield* fewest(all, movesOne);
  const rest = needed === null ? null : yield* restWith(needed.slice(0, -1));
  return needed === null || rest === null ? null : { turned: needed.slice(0, -1), rest };
}

/** Whether a change moves a door; the engine is as it was afterwards. */
function* movesDoor({ engine }: AtRest, net: number, becomes: boolean): Work<boolean> {
  const state = engine.snapshot();
  engine.setInput(net, becomes);
  yield* patternWork(engine);
  const moves = engine.moveCount > state.doors.moves;
  engine.restore(state);
  return moves;
}

/** The shortest beginning of a list that does, without those of it that are not needed; null where the whole list does not. */
function* fewest(list: readonly number[], does: (some: readonly number[]) => Work<boolean>): Work<number[] | null> {
  // From the front and not by halving: whether a longer beginning moves a door is not monotone where inputs cut each other off.
  let length = 1;
  while (length <= list.length && !(yield* does(list.slice(0, length)))) length++;
  if (length > list.length) return null;
  let kept = list.slice(0, length);
  if (length > 2 * MOST_PAIRED) return kept;
  for (const net of kept.slice(0, -1)) {
    const without = kept.filter((other) => other !== net);
    if (yield* does(without)) kept = without;
  }
  return kept;
}
