/**
 * Where a large network may be cut. A signal that is the only way by which a property depends on a whole other part of the rig (the hold-off of the
 * stage before, say) is allowed to change at any moment, and that part is left out: the rig can then do more, so what is proved holds.
 * What is found broken does not count, and a cut further back is tried, until none is left that saves much. The idea is the localisation of R. P. Kurshan,
 * "Computer-Aided Verification of Coordinating Processes", 1994 (from memory).
 *
 * Soundness: a cut net takes every sequence of values at every moment, its real one among them, so the runs of the cut rig include those of
 * the rig. A proof carries over; a path through a cut need not, and is marked so (`RigLabel.free`).
 */
import { sourcesOf } from '../model/logic';
import type { Rig } from '../model/rig';
import { netsSeen, type Cone } from './cone';
import type { Part } from './parts';

/** Timers that a cut has to save. */
const WORTH = 3;
/**
 * Attempts, one after the other: each takes the signals furthest back that save at least this part of what the best one saves. Those that save most lie
 * next to what the property looks at and seldom leave anything to be proved.
 */
const ATTEMPTS = [0.5, 0.25, 1] as const;

/** Nets looked at in one step. */
const BATCH = 20_000;

/** A signal, and how many timers nothing depends on once it is cut. */
interface Cut {
  readonly net: number;
  readonly saves: number;
}

/**
 * The cone of a part with cuts, one for each attempt that differs; none where no cut saves `worth` timers. Null after each step of looking for
 * one: in a large network that takes seconds.
 */
export function* cutCones(rig: Rig, { cone, pieces }: Part, worth = WORTH): Generator<Cone | null> {
  const seen = pieces.flatMap(({ property }) => netsSeen(rig, property));
  const tried = new Set<string>();
  for (const share of ATTEMPTS) {
    const cuts = new Set<number>();
    // Greedy, one cut after the other: what a cut saves depends on those made before it.
    for (let cut: Cut | null; (cut = nextCut(yield* cutsBeside(rig, seen, cuts, worth), share));) cuts.add(cut.net);
    const nets = sourcesOf(rig, seen, cuts);
    // One that was cut first may lie behind a later one.
    const kept = new Set([...cuts].filter((net) => nets.has(net)).sort((a, b) => a - b));
    const name = [...kept].join();
    if (kept.size === 0 || tried.has(name)) continue;
    tried.add(name);
    yield { doors: cone.doors, nets, cuts: kept };
  }
}

/** Of the signals that save at least that share of what the best one saves, the one that saves least. */
function nextCut(cuts: readonly Cut[], share: number): Cut | null {
  const most = Math.max(0, ...cuts.map(({ saves }) => saves));
  const enough = cuts.filter(({ saves }) => saves >= share * most);
  return enough.sort((a, b) => a.saves - b.saves)[0] ?? null;
}

/** Every further cut that saves at least `worth` timers, given those made. */
function* cutsBeside(
  rig: Rig,
  seen: readonly number[],
  cuts: ReadonlySet<number>,
  worth: number,
): Generator<null, Cut[]> {
  const before = sourcesOf(rig, seen, cuts);
  const timers = timersIn(rig, before, cuts);
  const found: Cut[] = [];
  let looked = 0;
  for (const net of before) {
    if (seen.includes(net) || cuts.has(net) || !isCuttable(rig, net)) continue;
    // Timers are counted and not nets: a running clock is what multiplies zones; plain logic costs next to nothing.
    const all = new Set([...cuts, net]);
    const saves = timers - timersIn(rig, sourcesOf(rig, seen, all), all);
    looked += before.size;
    if (looked >= BATCH) {
      looked = 0;
      yield null;
    }
    if (saves >= worth) found.push({ net, saves });
  }
  return found;
}

/** Its changes take a response, so that they come at the beginning of an instant, as those of a cut do. */
function isCuttable(rig: Rig, net: number): boolean {
  const at = rig.network.nets[net]!;
  return at.kind === 'element' && rig.network.elements[at.index]!.response.min > 0;
}

/** Timers that run: one that is cut does not, so that no later cut saves it once more. */
function timersIn(rig: Rig, nets: ReadonlySet<number>, cuts: ReadonlySet<number>): number {
  return rig.network.elements.filter(({ net, preset }) => preset !== null && nets.has(net) && !cuts.has(net)).length;
}
