/**
 * What feeds what at one moment: orders in which each comes after those that feed it.
 *
 * Two orders of this kind decide what happens within one instant: that of joins, which must each change once at most, and that of timers
 * due together. Both have to depend on the wiring and not on how the text happens to be arranged, save where the wiring leaves a choice. So:
 * contract loops to single points (their order is not defined by feeding), then list what remains in topological order, taking of all that
 * are free the one written first. The result is unique for a given network.
 */
import { Agenda } from './heap';

export interface FeedingOrder {
  /** Position of each element; those that lead back to themselves (a loop) stand together, as written. */
  readonly rank: Int32Array;
  /** 1 for elements of a loop. */
  readonly looped: Uint8Array;
  /** Number of the loop of an element, or a number of its own. */
  readonly loopOf: Int32Array;
}

/**
 * Orders the elements `0 … count-1`, of which `e` feeds `fed(e)`. Where that leaves a choice, what is written first comes first: of all
 * elements (and loops, known by their first element) whose feeders are placed, always the first written one is placed next.
 */
export function feedingOrder(count: number, fed: (element: number) => readonly number[]): FeedingOrder {
  const loopOf = loopsOf(count, fed);
  const members: number[][] = Array.from({ length: count }, () => []);
  for (let e = 0; e < count; e++) members[loopOf[e]!]!.push(e);
  // Edges between loops only, counted with repetition: each is taken off once when its feeder is placed.
  const waitsFor = new Int32Array(count);
  const looped = new Uint8Array(count);
  for (let e = 0; e < count; e++) {
    for (const next of fed(e)) {
      if (loopOf[next] === loopOf[e]) looped[next] = looped[e] = 1;
      else waitsFor[loopOf[next]!]!++;
    }
  }
  // The agenda serves as a priority queue here, its "times" being places in the text.
  const free = new Agenda(count);
  for (let e = 0; e < count; e++) if (loopOf[e] === e && waitsFor[e] === 0) free.set(e, e);
  const rank = new Int32Array(count);
  let placed = 0;
  while (free.nextTime < Infinity) {
    const loop = free.nextId;
    free.remove(loop);
    for (const e of members[loop]!) rank[e] = placed++;
    for (const e of members[loop]!) {
      for (const next of fed(e)) {
        const other = loopOf[next]!;
        if (other !== loop && --waitsFor[other]! === 0) free.set(other, other);
      }
    }
  }
  return { rank, looped, loopOf };
}

/**
 * The first written element of the loop that each element is part of, itself where it is part of none: strongly connected components
 * (Tarjan, "Depth-first search and linear graph algorithms", 1972), without recursion.
 */
function loopsOf(count: number, fed: (element: number) => readonly number[]): Int32Array {
  const loopOf = new Int32Array(count).fill(-1);
  const seen = new Int32Array(count).fill(-1);
  const low = new Int32Array(count);
  // `path` is the recursion made explicit: an element and the next of its successors to visit. Networks may be chains of thousands of
  // elements, deeper than a call stack. `low[e]`: the earliest number reachable from e by tree edges and at most one edge back.
  const stack: number[] = [];
  const path: { readonly e: number; readonly next: readonly number[]; at: number }[] = [];
  let number = 0;
  const enter = (e: number): void => {
    seen[e] = low[e] = number++;
    stack.push(e);
    path.push({ e, next: fed(e), at: 0 });
  };
  for (let root = 0; root < count; root++) {
    if (seen[root] !== -1) continue;
    enter(root);
    while (path.length > 0) {
      const here = path[path.length - 1]!;
      const { e } = here;
      if (here.at < here.next.length) {
        const next = here.next[here.at++]!;
        if (seen[next] === -1) enter(next);
        else if (loopOf[next] === -1) low[e] = Math.min(low[e]!, seen[next]!);
        continue;
      }
      path.pop();
      const above = path[path.length - 1];
      if (above) low[above.e] = Math.min(low[above.e]!, low[e]!);
      if (low[e] !== seen[e]) continue;
      // e is the root of its component: all above it on the stack, and nothing else, belongs to it.
      const members = stack.splice(stack.lastIndexOf(e));
      const first = Math.min(...members);
      for (const member of members) loopOf[member] = first;
    }
  }
  return loopOf;
}
