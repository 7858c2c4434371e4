/**
 * Reachability over symbolic states (a discrete part and a zone), those with the fewest operations first and among them breadth first, so
 * that the first bad state found has a shortest path. A state whose zone lies in one already passed with the same discrete part is dropped. A stepper: the caller
 * gives turns of a bounded number of successors and decides when to stop.
 *
 * Termination: there are finitely many discrete parts (counters stop at PV, queues at `inFlight`, positions are kept in steps) and, after
 * extrapolation, finitely many zones for each; a state covered by one passed is not explored, so the search ends. Soundness of dropping: a
 * smaller zone with the same discrete part can do nothing that the larger one cannot (the order ⊆ is a simulation).
 *
 * Invariants: `Passed` holds for each discrete part states none of whose zones includes another; a node taken out of it
 * is marked `covered`, stays as a parent on the paths of others, and is never explored again. `queue` holds nodes not yet opened.
 */
import { hullOf, includes, type Zone } from './zone/dbm';

/** A set of states of the rig: one discrete part, and all clock values in the zone. */
export interface SymbolicState {
  /** Everything but the clock values, as a text that is equal exactly where the discrete parts are equal. */
  readonly key: string;
  readonly zone: Zone;
}

export interface Successor<S extends SymbolicState, L> {
  readonly label: L;
  readonly state: S;
}

/** What a state leads to after this takes at least `later` operations from it: whatever takes fewer in all is explored before. */
export interface Later {
  readonly later: number;
}

/** A state to begin in; `label` null where nothing happened before it. */
export interface Start<S extends SymbolicState, L> {
  readonly label: L | null;
  readonly state: S;
}

/** A transition system with zones. `successors` gives states that already let time pass as far as their invariants allow. */
export interface ZoneSystem<S extends SymbolicState, L> {
  /** The states that it may begin in, with what had happened by then, if anything had; null as in `successors`. */
  initial(): Iterable<Start<S, L> | null>;
  /** Null where something was tried that leads nowhere, so that no stretch of work between two of them is long. */
  successors(state: S): Iterable<Successor<S, L> | Later | null>;
  /** Memory of a state and what belongs to it, about: what the budget of memory is counted in. */
  bytes(state: S): number;
  /** Names of the properties that this state breaks; usually none. */
  broken(state: S): readonly string[];
  /** Operations in a step: states that need fewer are explored first. None where left out. */
  operations?(label: L): number;
  /** Why the system cannot say what follows this state; such a state has no successors. */
  trouble?(state: S): string | null;
}

export interface Step<S, L> {
  /** How this state was reached; null for an initial one before which nothing happened. */
  readonly label: L | null;
  readonly state: S;
}

export interface Exploration<S extends SymbolicState, L> {
  /** Computes at most `turns` successors, possibly stopping in the middle of a state; true where nothing is left to do. */
  run(turns: number): boolean;
  /** For each broken property the paths to states that break it, shortest first; no more than `CANDIDATES` are kept. */
  readonly broken: ReadonlyMap<string, readonly (readonly Step<S, L>[])[]>;
  /** Why the answer cannot be complete, once a state was met that the system cannot go on from. */
  readonly trouble: string | null;
  /** The states stored, for a look at the whole graph once nothing is left to do. */
  states(): readonly S[];
  /** The stored state in whose zone this one lies; undefined where there is none. */
  cover(state: S): S | undefined;
  /** The path by which a stored state was reached. */
  path(state: S): readonly Step<S, L>[];
  /** States stored, and states worked off. */
  readonly stored: number;
  readonly explored: number;
  /** Memory of the states, those that larger ones have taken the place of included: the paths to others lead over them. */
  readonly bytes: number;
}

/** Paths kept for a property: a zone that was widened may give a path that no real run follows, then the next one is tried. */
const CANDIDATES = 40;

/** A stored state with the way by which it was reached. */
interface Node<S, L> {
  readonly state: S;
  readonly label: L | null;
  readonly parent: Node<S, L> | null;
  /** Operations on the way to it. */
  readonly cost: number;
  covered: boolean;
}

/**
 * Whether states with the same discrete part are joined to one: that allows more than the system can do, but of events that come in any order, each
 * within its tolerance, every order is else a state of its own.
 */
export type Joins = 'never' | 'always';

function nodeOf<S extends SymbolicState, L>(
  system: ZoneSystem<S, L>,
  state: S,
  label: L | null,
  parent: Node<S, L> | null,
): Node<S, L> {
  // Fewest operations first: what a person has to do to see it, before the number of steps, which counts inner events.
  const cost = (parent?.cost ?? 0) + (label === null ? 0 : (system.operations?.(label) ?? 0));
  return { state, label, parent, cost, covered: false };
}

/** The states passed, by discrete part. Invariant: none of the zones in a list includes another; nodes in it are the stored ones. */
class Passed<S extends SymbolicState, L> {
  private readonly byKey = new Map<string, Node<S, L>[]>();
  stored = 0;

  constructor(private readonly joins: Joins) {}

  /**
   * Puts a node in and takes out those it covers; the node that stands for it, which may have a larger zone. Null where it is covered itself, and then nothing
   * changes.
   */
  put(given: Node<S, L>): Node<S, L> | null {
    let nodes = this.byKey.get(given.state.key);
    if (!nodes) this.byKey.set(given.state.key, (nodes = []));
    for (const other of nodes) if (includes(other.state.zone, given.state.zone)) return null;
    const node = this.joined(given, nodes);
    const { state } = node;
    // Smaller zones passed before need no more work: what they lead to, the larger one leads to as well.
    let kept = 0;
    for (const other of nodes) {
      if (includes(state.zone, other.state.zone)) {
        other.covered = true;
        this.stored--;
      } else nodes[kept++] = other;
    }
    nodes.length = kept;
    nodes.push(node);
    this.stored++;
    return node;
  }

  /** With a zone that holds those of others, too, as far as they are to be joined. */
  private joined(node: Node<S, L>, others: readonly Node<S, L>[]): Node<S, L> {
    if (this.joins === 'never') return node;
    let { zone } = node.state;
    for (const other of others) zone = hullOf(zone, other.state.zone);
    return { ...node, state: { ...node.state, zone } };
  }

  holder(state: S): Node<S, L> | undefined {
    return this.byKey.get(state.key)?.find((node) => includes(node.state.zone, state.zone));
  }

  states(): S[] {
    return [...this.byKey.values()].flatMap((nodes) => nodes.map((node) => node.state));
  }
}

/** A state to be worked off, from where that was left (`next` null: not begun); `node` null: the beginning. */
interface Opened<S extends SymbolicState, L> {
  readonly node: Node<S, L> | null;
  readonly next: Iterator<Start<S, L> | Later | null> | null;
}

const ENDED = { done: true, value: undefined } as const;

function begun<S extends SymbolicState, L>(system: ZoneSystem<S, L>, { node, next }: Opened<S, L>): Opened<S, L> {
  return { node, next: next ?? system.successors(node!.state)[Symbol.iterator]() };
}

/** Nothing is computed before the first `run`. */
export function createExploration<S extends SymbolicState, L>(
  system: ZoneSystem<S, L>,
  joins?: Joins,
): Exploration<S, L> {
  const passed = new Passed<S, L>(joins ?? 'never');
  const queue = new CostQueue<Opened<S, L>>();
  // The initial states come as if they followed a state of their own: however many there are, a turn computes one.
  let open: Opened<S, L> | null = { node: null, next: system.initial()[Symbol.iterator]() };
  const broken = new Map<string, (readonly Step<S, L>[])[]>();
  let explored = 0;
  let bytes = 0;
  let trouble: string | null = null;

  const add = (state: S, label: L | null, parent: Node<S, L> | null): void => {
    const node = passed.put(nodeOf(system, state, label, parent));
    if (node === null) return;
    bytes += system.bytes(state);
    queue.push({ node, next: null }, node.cost);
    trouble ??= system.trouble?.(state) ?? null;
    for (const name of system.broken(state)) noteCandidate(broken, name, node);
  };
  /** Computes one successor, or opens the next node; false where nothing is left. */
  const turn = (): boolean => {
    if (!open) {
      const item = queue.shift();
      if (!item || item.node!.covered) return item !== undefined;
      if (item.next === null) explored++;
      open = begun(system, item);
    }
    const { node, next } = open;
    // What a covered state leads to, the one that covers it leads to as well.
    const { done, value } = node?.covered ? ENDED : next!.next();
    const later = value && 'later' in value;
    if (later) queue.push(open, node!.cost + value.later);
    else if (value) add(value.state, value.label, node);
    if (done === true || later) open = null;
    return true;
  };

  return {
    broken,
    states: () => passed.states(),
    cover: (state) => passed.holder(state)?.state,
    path: (state) => pathTo(passed.holder(state) ?? null),
    get trouble() {
      return trouble;
    },
    get stored() {
      return passed.stored;
    },
    get explored() {
      return explored;
    },
    get bytes() {
      return bytes;
    },
    run(turns) {
      for (let k = 0; k < turns; k++) if (!turn()) return true;
      return open === null && queue.size === 0;
    },
  };
}

/**
 * First in, first out among those of least cost: one queue for each number of operations. A step costs zero or more, so a successor enters
 * no queue before the one being emptied. Taken items are cut off now and then, not shifted out one by one, which would make each take linear.
 */
class CostQueue<T> {
  size = 0;
  private readonly buckets: { items: T[]; head: number }[] = [];
  private least = 0;

  push(item: T, cost: number): void {
    while (this.buckets.length <= cost) this.buckets.push({ items: [], head: 0 });
    this.buckets[cost]!.items.push(item);
    this.least = Math.min(this.least, cost);
    this.size++;
  }

  shift(): T | undefined {
    for (; this.least < this.buckets.length; this.least++) {
      const bucket = this.buckets[this.least]!;
      if (bucket.head === bucket.items.length) {
        bucket.items = [];
        bucket.head = 0;
        continue;
      }
      // At least half of it is used up: copying the rest costs no more than taking that half did.
      if (bucket.head > 4096 && bucket.head * 2 > bucket.items.length) {
        bucket.items = bucket.items.slice(bucket.head);
        bucket.head = 0;
      }
      this.size--;
      return bucket.items[bucket.head++];
    }
    return undefined;
  }
}

/** Keeps the path to a node that breaks a property, while there is room. */
function noteCandidate<S, L>(broken: Map<string, (readonly Step<S, L>[])[]>, name: string, node: Node<S, L>): void {
  const paths = broken.get(name);
  if (!paths) broken.set(name, [pathTo(node)]);
  else if (paths.length < CANDIDATES) paths.push(pathTo(node));
}

function pathTo<S, L>(node: Node<S, L> | null): Step<S, L>[] {
  const steps: Step<S, L>[] = [];
  for (let at = node; at; at = at.parent) steps.push({ label: at.label, state: at.state });
  return steps.reverse();
}
