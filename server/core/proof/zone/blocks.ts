/** What blocks and nets do at one instant of a proof step (IEC 61131-3; see the event engine for the words). */
import { QUEUE, type Discrete, type Instant } from './discrete';
import { command } from './door-steps';
import type { ProofElement } from '../network';

/** Delta steps within one instant after which the network counts as never settling. */
const DELTAS = 200;

/** A net and the value it takes. */
export type Change = readonly [net: number, value: boolean];

/**
 * Applies changes that happen together, then all that follows without delay, in delta steps. Doors see the settled values only.
 */
export function propagate(at: Instant, first: readonly Change[]): void {
  let changes = first;
  const doors = new Set<number>();
  for (let delta = 0; changes.length > 0; delta++) {
    if (delta > DELTAS) {
      at.loops = true;
      return;
    }
    const touched = new Set<number>();
    const changed = new Set<number>();
    const later: Change[] = [];
    for (const [net, value] of changes) {
      // Both edges of a pulse without width: the second belongs to the next delta step.
      if (changed.has(net)) {
        later.push([net, value]);
        continue;
      }
      changed.add(net);
      if (at.state.nets[net] === (value ? 1 : 0)) continue;
      at.state.nets[net] = value ? 1 : 0;
      for (const reader of at.network.readers[net]!) touched.add(reader);
      for (const door of at.network.driven[net]!) doors.add(door);
    }
    changes = [
      ...later,
      ...evaluateElements(
        at,
        [...touched].sort((a, b) => a - b),
      ),
    ];
  }
  for (const door of doors) command(at, door, at.state.nets[at.network.doors[door]!.net] === 1);
}

/** Evaluates elements on the present nets; gives the changes that follow without delay. */
export function evaluateElements(at: Instant, elements: readonly number[]): Change[] {
  const next: Change[] = [];
  for (const e of elements) for (const value of runBlock(at, e)) emit(at, e, value, next);
  return next;
}

/** A timer has run out. Gives the changes that follow without delay. */
export function expire(at: Instant, element: number, next: Change[]): void {
  const { kind } = at.network.elements[element]!;
  at.state.running[element] = 0;
  at.clocks.delete(at.slots.timer(element));
  const value = kind === 'TON';
  at.state.outputs[element] = value ? 1 : 0;
  emit(at, element, value, next);
}

function emit(at: Instant, element: number, value: boolean, next: Change[]): void {
  const { response, net } = at.network.elements[element]!;
  if (response.hi === 0) {
    next.push([net, value]);
    return;
  }
  if (at.state.free[element] === 1) return;
  const queue = at.state.queues[element]!;
  if (queue.length >= QUEUE) return setFree(at, element);
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

/** A pulse of one response, made longer by edges during it; of one delta step where there is no response. */
function pulse(at: Instant, element: ProofElement, e: number): boolean[] {
  if (element.response.hi === 0) return [true, false];
  start(at, e);
  return set(at.state, e, true);
}

function set(state: Discrete, e: number, value: boolean): boolean[] {
  if (state.outputs[e] === (value ? 1 : 0)) return [];
  state.outputs[e] = value ? 1 : 0;
  return [value];
}

function count(at: Instant, element: ProofElement, e: number, edge: boolean): boolean[] {
  const { counts } = at.state;
  if (element.reads[1]!(at.state.nets)) counts[e] = 0;
  else if (edge && counts[e]! < element.count) counts[e] = counts[e]! + 1;
  return set(at.state, e, counts[e]! >= element.count);
}

function start(at: Instant, e: number): void {
  at.state.running[e] = 1;
  at.clocks.set(at.slots.timer(e), -1);
}

function stop(at: Instant, e: number): void {
  at.state.running[e] = 0;
  at.clocks.delete(at.slots.timer(e));
}

function onDelay(at: Instant, element: ProofElement, e: number, x: boolean, was: boolean): boolean[] {
  if (!x) {
    stop(at, e);
    return set(at.state, e, false);
  }
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
  if (!edge || at.state.running[e] === 1 || element.preset.hi === 0) return [];
  start(at, e);
  return set(at.state, e, true);
}
