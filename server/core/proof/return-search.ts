/**
 * Whether every door comes to rest in bounded time, and stays there, once the switches are thrown and stay so: a question about
 * infinite runs, asked of the finished graph of symbolic states without the operations of switches.
 *
 * An infinite run stays in one state that may last, or goes round in a strongly connected part of the graph (R. Tarjan,
 * 1972) in which time goes on: no clock that has to fire runs through the whole of it without starting again. If no door is
 * away from rest in such states, nor in any that can be reached from them, all doors are at rest from some moment on, and there are
 * only finitely many states, each bounded in time, before it. States with larger zones stand for smaller ones, which only adds
 * runs: what is proved holds. A state found with a door away is a candidate, for the event engine to confirm.
 *
 * Why not ask for a largest time: a bound on how long it takes would need one more clock over the whole run. That no run avoids rest without
 * end is the same statement here, because between two repeats of a state only finitely many bounded steps fit.
 */
import type { Exploration, Step, Successor, SymbolicState } from './explore';

/** What the two controller styles tell about their states and steps. */
export interface ReturnSystem<S extends SymbolicState, L> {
  successors(state: S): Iterable<Successor<S, L> | null>;
  /** The switches are thrown, as far as the state shows it. */
  inside(state: S): boolean;
  /** No switch is operated. */
  allows(label: L): boolean;
  /** A door is away from rest. */
  away(state: S): boolean;
  /** Nothing has to happen: the state may last without end. `leadsBack`: some step inside leads from it to itself. */
  mayLast(state: S, leadsBack: boolean): boolean;
  /** Clocks that have to fire and ran on in the step that gave this state. */
  runningOn(state: S): readonly number[];
}

/** A state that may be had as late as wanted, and the steps from it to one with a door away. */
export interface LateAway<S, L> {
  readonly late: S;
  /** Whether `late` may last by itself; else it is one of a round. */
  readonly lasts: boolean;
  readonly steps: readonly Step<S, L>[];
}

export interface ReturnSearch<S extends SymbolicState, L> {
  /** Computes at most `turns` successors; true where nothing is left to do. */
  run(turns: number): boolean;
  /** Shortest first; empty where the property is proved. Only once `run` gave true. */
  candidates(): readonly LateAway<S, L>[];
}

/** Candidates kept of each kind: from states that last by themselves, and from rounds. */
const MOST = 8;

interface Edge {
  readonly to: number;
  readonly runningOn: readonly number[];
}

/** The exploration must have ended, without trouble. */
export function createReturnSearch<S extends SymbolicState, L>(
  exploration: Pick<Exploration<S, L>, 'states' | 'cover'>,
  system: ReturnSystem<S, L>,
): ReturnSearch<S, L> {
  const states = exploration.states().filter((state) => system.inside(state));
  const indexOf = new Map(states.map((state, k) => [state, k] as const));
  const edges: Edge[][] = [];
  let open: { readonly edges: Edge[]; readonly next: Iterator<Successor<S, L> | null> } | null = null;
  let found: readonly LateAway<S, L>[] = [];
  // Successors are covered by stored states, since the exploration has ended; −1: it leaves the states in question.
  const target = (state: S): number => {
    const cover = system.inside(state) ? exploration.cover(state) : undefined;
    return cover === undefined ? -1 : indexOf.get(cover)!;
  };
  return {
    run(turns) {
      for (let k = 0; k < turns && edges.length < states.length; k++) {
        open ??= { edges: [], next: system.successors(states[edges.length]!)[Symbol.iterator]() };
        const step = open.next.next();
        if (step.done === true) {
          edges.push(open.edges);
          open = null;
        } else if (step.value !== null && system.allows(step.value.label)) {
          const to = target(step.value.state);
          if (to >= 0) open.edges.push({ to, runningOn: system.runningOn(step.value.state) });
        }
      }
      if (edges.length < states.length) return false;
      found = search(states, edges, system, target);
      return true;
    },
    candidates: () => found,
  };
}

function search<S extends SymbolicState, L>(
  states: readonly S[],
  edges: readonly (readonly Edge[])[],
  system: ReturnSystem<S, L>,
  target: (state: S) => number,
): LateAway<S, L>[] {
  const rounds = components(edges).filter((part) => goesOn(part, edges));
  // late: states that some run is in after any time whatever; true: it may stay there, false: it comes by again and again.
  const late = new Map<number, boolean>();
  for (const part of rounds) for (const k of part) late.set(k, false);
  states.forEach((state, k) => {
    const leadsBack = edges[k]!.some(({ to }) => to === k);
    if (system.mayLast(state, leadsBack)) late.set(k, true);
  });
  // Those that last by themselves first: they are the easier to confirm, and must not be lost among the many states of a round.
  return [true, false].flatMap((lasts) => {
    const starts = [...late].flatMap(([k, lasting]) => (lasting === lasts ? [k] : []));
    return nearestAway(states, edges, system, starts).map((route) => ({
      late: states[route[0]!]!,
      lasts,
      steps: stepsAlong(states, route, system, target),
    }));
  });
}

/** Breadth first from late states: routes (state numbers) to states with a door away. */
function nearestAway<S extends SymbolicState, L>(
  states: readonly S[],
  edges: readonly (readonly Edge[])[],
  system: ReturnSystem<S, L>,
  starts: readonly number[],
): number[][] {
  const from = new Map<number, number>(starts.map((k) => [k, -1]));
  const open = [...starts];
  const routes: number[][] = [];
  // What follows a late state is late as well, once; a door away there is away as late as wanted.
  for (let head = 0; head < open.length && routes.length < MOST; head++) {
    const at = open[head]!;
    if (system.away(states[at]!)) {
      const route = [at];
      for (let k = from.get(at)!; k >= 0; k = from.get(k)!) route.push(k);
      routes.push(route.reverse());
    }
    for (const { to } of edges[at]!) {
      if (from.has(to)) continue;
      from.set(to, at);
      open.push(to);
    }
  }
  return routes;
}

function stepsAlong<S extends SymbolicState, L>(
  states: readonly S[],
  route: readonly number[],
  system: ReturnSystem<S, L>,
  target: (state: S) => number,
): Step<S, L>[] {
  return route.slice(1).map((to, k) => {
    // Computed once more for the few steps of a route, instead of keeping the labels of all edges.
    const next = [...system.successors(states[route[k]!]!)];
    return next.find((step) => step !== null && system.allows(step.label) && target(step.state) === to)!;
  });
}

/** Whether time can go on round and round: every clock that has to fire is started again somewhere. */
function goesOn(part: readonly number[], edges: readonly (readonly Edge[])[]): boolean {
  const inside = new Set(part);
  let through: readonly number[] | null = null;
  for (const k of part) {
    for (const { to, runningOn } of edges[k]!) {
      if (!inside.has(to)) continue;
      // Intersection over all steps of the component: a clock in it runs through every round, so time cannot pass its latest value.
      through = through === null ? runningOn : through.filter((slot) => runningOn.includes(slot));
      if (through.length === 0) return true;
    }
  }
  // No step inside: not a round at all.
  return false;
}

/** Strongly connected parts, without recursion. */
function components(edges: readonly (readonly Edge[])[]): number[][] {
  const order = new Int32Array(edges.length).fill(-1);
  const low = new Int32Array(edges.length);
  const onStack = new Uint8Array(edges.length);
  // As in timing/feeding.ts, here with the components themselves as the result.
  const stack: number[] = [];
  const parts: number[][] = [];
  let count = 0;
  for (let root = 0; root < edges.length; root++) {
    if (order[root] !== -1) continue;
    const work: { readonly at: number; next: number }[] = [];
    const enter = (at: number): void => {
      order[at] = low[at] = count++;
      stack.push(at);
      onStack[at] = 1;
      work.push({ at, next: 0 });
    };
    enter(root);
    while (work.length > 0) {
      const frame = work[work.length - 1]!;
      const edge = edges[frame.at]![frame.next++];
      if (edge) {
        if (order[edge.to] === -1) enter(edge.to);
        else if (onStack[edge.to] === 1) low[frame.at] = Math.min(low[frame.at]!, order[edge.to]!);
        continue;
      }
      work.pop();
      const above = work[work.length - 1];
      if (above) low[above.at] = Math.min(low[above.at]!, low[frame.at]!);
      if (low[frame.at] === order[frame.at]) parts.push(takePart(stack, onStack, frame.at));
    }
  }
  return parts;
}

function takePart(stack: number[], onStack: Uint8Array, root: number): number[] {
  const part: number[] = [];
  for (let at = -1; at !== root;) {
    at = stack.pop()!;
    onStack[at] = 0;
    part.push(at);
  }
  return part;
}
