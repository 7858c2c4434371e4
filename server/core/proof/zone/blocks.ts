/**
 * What blocks and nets do at one instant of a proof step (IEC 61131-3; see the event engine for the words).
 *
 * The same rounds as `timing/network.ts`, written again on purpose: the event engine confirms what is found here, and shared code would share
 * its faults; tests/proof and tests/agreement compare the two. Differences: a timer has a clock instead of a due time, and a queue has room
 * for `inFlight` changes only, beyond which the net is set free.
 */
import type { Discrete, Instant } from './discrete';
import { command } from './door-steps';
import type { ProofElement } from '../network';

/** Rounds within one instant after which the network counts as never settling. */
const ROUNDS = 200;

/** A net and the value it takes. */
export type Change = readonly [net: number, value: boolean];

/**
 * Rounds of one instant until nothing changes any more, as in the event engine: changes come into force, all joins settle (each after
 * those that feed it), then every other element whose inputs have changed looks once; what they change with no response begins the
 * next round. The k-th change of one net belongs to the k-th round. `looking`: elements that look in any case.
 */
export function runRounds(at: Instant, first: readonly Change[], looking: readonly number[] = []): void {
  const { network } = at;
  const joins = new Set(looking.filter((e) => network.isJoin[e]));
  const others = new Set(looking.filter((e) => !network.isJoin[e]));
  let changes = first;
  for (let round = 0; changes.length > 0 || joins.size > 0 || others.size > 0; round++) {
    // A loop of zero response has no state after this instant: `loops` makes the whole search end as undecided, with that reason.
    if (round > ROUNDS) at.loops = true;
    if (at.loops) return;
    // Invariant: in one round a net changes at most once; its second change waits for the next round.
    const next: Change[] = [];
    const changed = new Set<number>();
    for (const change of changes) {
      if (changed.has(change[0])) {
        next.push(change);
        continue;
      }
      changed.add(change[0]);
      if (at.state.nets[change[0]] !== (change[1] ? 1 : 0)) turn(at, change[0], joins, others);
    }
    if (joins.size > 0) settleJoins(at, joins, others);
    // Declaration order, as in the event engine. No block sees what another emits in this round: all of that goes into `next`.
    const dirty = [...others].sort((a, b) => a - b);
    others.clear();
    for (const e of dirty) for (const value of runBlock(at, e)) emit(at, e, value, next);
    changes = next;
  }
}

/** Doors that were driven in the rounds of an instant see what came of them. */
export function settleDoors(at: Instant): void {
  // Once, at the end of the instant: a drive that went and came back within it moves no door.
  for (const door of at.driven) command(at, door, at.state.nets[at.network.doors[door]!.net] === 1);
}

/** A net changes: who reads it is to look. */
function turn(at: Instant, net: number, joins: Set<number>, others: Set<number>): void {
  at.state.nets[net] = 1 - at.state.nets[net]!;
  announce(at, net, joins, others);
}

/** Enters the readers of a changed net for their next look, and the doors it drives for the end of the instant. */
function announce({ network, driven }: Instant, net: number, joins: Set<number>, others: Set<number>): void {
  for (const reader of network.readers[net]!) (network.isJoin[reader] ? joins : others).add(reader);
  for (const door of network.driven[net]!) driven.add(door);
}

/**
 * Joins (logic without delay of its own) in the order of their ranks: one is evaluated after all that feed it, so each changes at most
 * once and no pulse of no width appears. Joins on a loop have no such order and are settled together.
 */
function settleJoins(at: Instant, joins: Set<number>, others: Set<number>): void {
  const { rank, looped, loopOf } = at.network.joinOrder;
  while (joins.size > 0 && !at.loops) {
    let first = -1;
    for (const e of joins) if (first < 0 || rank[e]! < rank[first]!) first = e;
    if (looped[first] === 1) {
      settleLoop(at, loopOf[first]!, joins, others);
      continue;
    }
    joins.delete(first);
    if (evaluatesTo(at, first) === at.state.outputs[first]) continue;
    at.state.outputs[first] = 1 - at.state.outputs[first]!;
    const { net } = at.network.elements[first]!;
    if (at.state.nets[net] !== at.state.outputs[first]) turn(at, net, joins, others);
  }
}

/** Joins that lead back to themselves change together, step by step; what lies outside sees only what they end at. */
function settleLoop(at: Instant, loop: number, joins: Set<number>, others: Set<number>): void {
  const { network, state } = at;
  const before = new Map<number, number>();
  for (let steps = 0; ; steps++) {
    const touched = [...joins].filter((e) => network.joinOrder.loopOf[e] === loop);
    for (const e of touched) joins.delete(e);
    const turning = touched.filter((e) => evaluatesTo(at, e) !== state.outputs[e]);
    if (turning.length === 0) break;
    if (steps > ROUNDS) {
      at.loops = true;
      return;
    }
    for (const e of turning) {
      const { net } = network.elements[e]!;
      if (!before.has(e)) before.set(e, state.outputs[e]!);
      state.outputs[e] = state.nets[net] = 1 - state.outputs[e]!;
      for (const reader of network.readers[net]!) {
        if (network.isJoin[reader] && network.joinOrder.loopOf[reader] === loop) joins.add(reader);
      }
    }
  }
  for (const [e, value] of before)
    if (state.outputs[e] !== value) announce(at, network.elements[e]!.net, joins, others);
}

/** What a LOGIC element gives for the nets as they stand: 1 or 0. */
export const evaluatesTo = (at: Instant, e: number): number =>
  at.network.elements[e]!.reads[0]!(at.state.nets) ? 1 : 0;

/** Whether an element that looked now would change nothing at all: it has seen what its inputs give, and gives what they ask for. */
export function isSettled(at: Pick<Instant, 'network' | 'state'>, e: number): boolean {
  const { kind, reads } = at.network.elements[e]!;
  const { nets, seen, counts } = at.state;
  const q = at.state.outputs[e] === 1;
  const x = reads[0]!(nets);
  if (kind === 'LOGIC') return x === q;
  // Timers and edge detectors do something at an edge only.
  if (x !== (seen[e] === 1)) return false;
  switch (kind) {
    case 'SR':
      return q === (x || (!reads[1]!(nets) && q));
    case 'RS':
      return q === (!reads[1]!(nets) && (x || q));
    case 'CTU':
      return counts[e] === 0 || !reads[1]!(nets);
    default:
      return true;
  }
}

/** A timer has run out. Gives the changes that follow without delay. */
export function expire(at: Instant, element: number): Change[] {
  const next: Change[] = [];
  const { kind } = at.network.elements[element]!;
  at.state.running[element] = 0;
  at.clocks.delete(at.slots.timer(element));
  // At its end TON goes on; TOF, TP and the pulse of an edge detector go off.
  const value = kind === 'TON';
  at.state.outputs[element] = value ? 1 : 0;
  emit(at, element, value, next);
  return next;
}

/**
 * Sends the new value of an element on its way: with the changes of the next round where there is no response, else into its queue with
 * a clock started now. A queue that would grow beyond `inFlight` is given up (`setFree`), which allows more than can happen, never less.
 */
function emit(at: Instant, element: number, value: boolean, next: Change[]): void {
  const { response, net } = at.network.elements[element]!;
  if (response.hi === 0) {
    next.push([net, value]);
    return;
  }
  // Free already: its net may change at any moment, so nothing need be remembered of this change.
  if (at.state.free[element] === 1) return;
  const queue = at.state.queues[element]!;
  if (queue.length >= at.network.inFlight) return setFree(at, element);
  at.clocks.set(at.slots.pending(element, queue.length), -1);
  at.state.queues[element] = [...queue, { value, due: response }];
}

/** Forgets what is in flight: from now on the net may change at any moment. */
function setFree(at: Instant, element: number): void {
  at.state.queues[element]!.forEach((_, place) => at.clocks.delete(at.slots.pending(element, place)));
  at.state.queues[element] = [];
  at.state.free[element] = 1;
}

/** Takes the oldest change in flight out of an element's queue; the others move up with their clocks. */
export function takePending(at: Instant, element: number): Change {
  const queue = at.state.queues[element]!;
  const head = queue[0]!;
  for (let k = 0; k < queue.length; k++) {
    // Each place has a slot of its own, so moving up renames the clocks; their values go on.
    const from = at.clocks.get(at.slots.pending(element, k + 1));
    if (k + 1 < queue.length) at.clocks.set(at.slots.pending(element, k), from!);
    else at.clocks.delete(at.slots.pending(element, k));
  }
  at.state.queues[element] = queue.slice(1);
  return [at.network.elements[element]!.net, head.value];
}

/** One evaluation of a block on the present nets. */
function runBlock(at: Instant, e: number): readonly boolean[] {
  const element = at.network.elements[e]!;
  const { state } = at;
  const x = element.reads[0]!(state.nets);
  const was = state.seen[e] === 1;
  const q = state.outputs[e] === 1;
  state.seen[e] = x ? 1 : 0;
  switch (element.kind) {
    case 'LOGIC':
      return set(state, e, x);
    case 'SR':
      return set(state, e, x || (!element.reads[1]!(state.nets) && q));
    case 'RS':
      return set(state, e, !element.reads[1]!(state.nets) && (x || q));
    case 'CTU':
      return count(at, element, e, x && !was);
    case 'R_TRIG':
      return x && !was ? pulse(at, element, e) : [];
    case 'F_TRIG':
      return !x && was ? pulse(at, element, e) : [];
    case 'TON':
      return onDelay(at, element, e, x, was);
    case 'TOF':
      return offDelay(at, element, e, x, was);
    case 'TP':
      return timedPulse(at, element, e, x && !was);
  }
}

/** A pulse of one response, made longer by edges during it; of one round where there is no response. */
function pulse(at: Instant, element: ProofElement, e: number): boolean[] {
  // Both at once: `runRounds` gives one net one change a round, so the second comes in the next round, and the pulse is one round wide.
  if (element.response.hi === 0) return [true, false];
  start(at, e);
  return set(at.state, e, true);
}

/** The value to emit, if the output changes at all. */
function set(state: Discrete, e: number, value: boolean): boolean[] {
  if (state.outputs[e] === (value ? 1 : 0)) return [];
  state.outputs[e] = value ? 1 : 0;
  return [value];
}

/** CTU: R dominates CU; the count stops at PV, beyond which nothing can be seen of it, so that states stay finitely many. */
function count(at: Instant, element: ProofElement, e: number, edge: boolean): boolean[] {
  const { counts } = at.state;
  if (element.reads[1]!(at.state.nets)) counts[e] = 0;
  else if (edge && counts[e]! < element.count) counts[e] = counts[e]! + 1;
  return set(at.state, e, counts[e]! >= element.count);
}

/** Starts the timer of an element: its clock is zero from this instant on (-1: no clock of the state before continues it). */
function start(at: Instant, e: number): void {
  at.state.running[e] = 1;
  at.clocks.set(at.slots.timer(e), -1);
}

/** Stops a timer; without its clock states that differ only in it become one. */
function stop(at: Instant, e: number): void {
  at.state.running[e] = 0;
  at.clocks.delete(at.slots.timer(e));
}

function onDelay(at: Instant, element: ProofElement, e: number, x: boolean, was: boolean): boolean[] {
  if (!x) {
    stop(at, e);
    return set(at.state, e, false);
  }
  // Only a rise starts the time; an element that looks for another reason must not start it anew.
  if (was) return [];
  if (element.preset.hi === 0) return set(at.state, e, true);
  start(at, e);
  return [];
}

function offDelay(at: Instant, element: ProofElement, e: number, x: boolean, was: boolean): boolean[] {
  if (x) {
    stop(at, e);
    return set(at.state, e, true);
  }
  if (!was) return [];
  if (element.preset.hi === 0) return set(at.state, e, false);
  start(at, e);
  return [];
}

function timedPulse(at: Instant, element: ProofElement, e: number, edge: boolean): boolean[] {
  // Not retriggerable: a rise during the pulse changes nothing.
  if (!edge || at.state.running[e] === 1 || element.preset.hi === 0) return [];
  start(at, e);
  return set(at.state, e, true);
}
