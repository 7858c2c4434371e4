/**
 * The discrete part of a proof state and how it changes at one instant: nets, blocks, changes in flight, doors. Clocks are named
 * by slots; while a step is worked out, `clocks` says for every running clock which clock of the state before it continues
 * (or −1: it starts now).
 */
import type { Logic } from '../../model/rig';
import type { ProofElement, ProofNetwork, Range } from './network';

/** Changes in flight that one element may have; more is reported as an overflow, never dropped. */
export const QUEUE = 4;
/** Delta steps within one instant after which the network counts as never settling. */
const DELTAS = 200;

/** A change on its way through an element's response, due this long after it set out. */
export interface Pending {
  readonly value: boolean;
  readonly due: Range;
}

export type DoorPhase = 'shut' | 'opening' | 'open' | 'closing';

export interface DoorState {
  readonly phase: DoorPhase;
  /** Moving: time from setting out to arrival. */
  readonly due: Range;
  /** Moving: how far open it was when it set out, in parts of 1. */
  readonly from: Range;
}

/** What a moment did, for observers and properties. */
export interface DoorEventAt {
  readonly door: number;
  readonly event: 'opens' | 'opened' | 'closes' | 'shuts';
}

export class Discrete {
  constructor(
    readonly nets: Uint8Array,
    /** Block output before the response. */
    readonly outputs: Uint8Array,
    /** Last seen first input (IN, CLK, CU). */
    readonly seen: Uint8Array,
    readonly counts: Int32Array,
    readonly running: Uint8Array,
    readonly queues: Pending[][],
    readonly doors: DoorState[],
    /** Positions of observers (see properties.ts). */
    readonly marks: number[],
  ) {}

  copy(): Discrete {
    return new Discrete(
      this.nets.slice(),
      this.outputs.slice(),
      this.seen.slice(),
      this.counts.slice(),
      this.running.slice(),
      this.queues.map((q) => (q.length === 0 ? q : [...q])),
      [...this.doors],
      [...this.marks],
    );
  }

  /** Equal exactly where the discrete parts are equal. */
  key(): string {
    const queues = this.queues.map((q) => q.map((p) => `${p.value ? '+' : '-'}${p.due.lo}:${p.due.hi}`).join(''));
    const doors = this.doors.map((d) =>
      d.phase === 'shut' || d.phase === 'open'
        ? d.phase[0]
        : `${d.phase[0]}${d.phase[1]}${d.due.lo}:${d.due.hi}:${d.from.lo}:${d.from.hi}`,
    );
    return [this.nets.join(''), this.outputs.join(''), this.seen.join(''), this.counts.join(','), this.running.join('')]
      .concat(queues.join(';'), doors.join(';'), this.marks.join(','))
      .join('|');
  }
}

/** Fixed numbers for all clocks that can ever run, so that states with the same clocks have them in the same order. */
export interface Slots {
  timer(element: number): number;
  pending(element: number, place: number): number;
  door(door: number): number;
  input(input: number): number;
  observer(k: number): number;
}

export function slotsOf(network: ProofNetwork): Slots {
  const e = network.elements.length;
  const d = network.doors.length;
  const i = network.inputs.length;
  return {
    timer: (element) => element,
    pending: (element, place) => e + element * QUEUE + place,
    door: (door) => e * (1 + QUEUE) + door,
    input: (input) => e * (1 + QUEUE) + d + input,
    observer: (k) => e * (1 + QUEUE) + d + i + k,
  };
}

/** A step being worked out at one instant. */
export interface Instant {
  readonly network: ProofNetwork;
  readonly slots: Slots;
  readonly state: Discrete;
  /** Slot → slot of the state before that it continues, or −1. */
  readonly clocks: Map<number, number>;
  readonly events: DoorEventAt[];
  /** Bounds of a running clock in the zone before, for doors that turn round. */
  readonly clockRange: (slot: number) => Range;
  overflow: boolean;
  loops: boolean;
}

function evaluate(logic: Logic, nets: Uint8Array): boolean {
  switch (logic.op) {
    case 'net':
      return nets[logic.net] === 1;
    case 'const':
      return logic.value;
    case 'not':
      return !evaluate(logic.a, nets);
    case 'and':
      return evaluate(logic.a, nets) && evaluate(logic.b, nets);
    case 'or':
      return evaluate(logic.a, nets) || evaluate(logic.b, nets);
    case 'xor':
      return evaluate(logic.a, nets) !== evaluate(logic.b, nets);
  }
}

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
  emit(at, element, { value, responses: 1 }, next);
}

/** A value that a block gives, `responses` responses from now. */
interface Given {
  readonly value: boolean;
  readonly responses: number;
}

function emit(at: Instant, element: number, { value, responses }: Given, next: Change[]): void {
  const { response, net } = at.network.elements[element]!;
  if (response.hi === 0) {
    next.push([net, value]);
    return;
  }
  const queue = at.state.queues[element]!;
  if (queue.length >= QUEUE) {
    at.overflow = true;
    return;
  }
  at.clocks.set(at.slots.pending(element, queue.length), -1);
  at.state.queues[element] = [...queue, { value, due: { lo: response.lo * responses, hi: response.hi * responses } }];
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

const ONE = 1;
const given = (value: boolean): Given[] => [{ value, responses: ONE }];

/** One evaluation of a block on the present nets (IEC 61131-3; see the engine for the words). */
function runBlock(at: Instant, e: number): readonly Given[] {
  const element = at.network.elements[e]!;
  const { state } = at;
  const x = evaluate(element.inputs[0]!, state.nets);
  const was = state.seen[e] === 1;
  const q = state.outputs[e] === 1;
  state.seen[e] = x ? 1 : 0;
  switch (element.kind) {
    case 'LOGIC':
      return set(state, e, x);
    case 'SR':
      return set(state, e, x || (!evaluate(element.inputs[1]!, state.nets) && q));
    case 'RS':
      return set(state, e, !evaluate(element.inputs[1]!, state.nets) && (x || q));
    case 'CTU':
      return count(at, element, e, x && !was);
    case 'R_TRIG':
      return x && !was ? pulse() : [];
    case 'F_TRIG':
      return !x && was ? pulse() : [];
    case 'TON':
      return onDelay(at, element, e, x, was);
    case 'TOF':
      return offDelay(at, element, e, x, was);
    case 'TP':
      return timedPulse(at, element, e, x && !was);
  }
}

const pulse = (): Given[] => [
  { value: true, responses: 1 },
  { value: false, responses: 2 },
];

function set(state: Discrete, e: number, value: boolean): Given[] {
  if (state.outputs[e] === (value ? 1 : 0)) return [];
  state.outputs[e] = value ? 1 : 0;
  return given(value);
}

function count(at: Instant, element: ProofElement, e: number, edge: boolean): Given[] {
  const { counts } = at.state;
  if (evaluate(element.inputs[1]!, at.state.nets)) counts[e] = 0;
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

function onDelay(at: Instant, element: ProofElement, e: number, x: boolean, was: boolean): Given[] {
  if (!x) {
    stop(at, e);
    return set(at.state, e, false);
  }
  if (was) return [];
  if (element.preset.hi === 0) return set(at.state, e, true);
  start(at, e);
  return [];
}

function offDelay(at: Instant, element: ProofElement, e: number, x: boolean, was: boolean): Given[] {
  if (x) {
    stop(at, e);
    return set(at.state, e, true);
  }
  if (!was) return [];
  if (element.preset.hi === 0) return set(at.state, e, false);
  start(at, e);
  return [];
}

function timedPulse(at: Instant, element: ProofElement, e: number, edge: boolean): Given[] {
  if (!edge || at.state.running[e] === 1 || element.preset.hi === 0) return [];
  start(at, e);
  return set(at.state, e, true);
}

// ---------------------------------------------------------------- doors

/** Positions are kept outward in steps of 1/64, so that turning round again and again gives finitely many states. */
const STEPS = 64;
const outward = (r: Range): Range => ({
  lo: Math.max(0, Math.floor(r.lo * STEPS) / STEPS),
  hi: Math.min(1, Math.ceil(r.hi * STEPS) / STEPS),
});

const SHUT: DoorState = { phase: 'shut', due: { lo: 0, hi: 0 }, from: { lo: 0, hi: 0 } };
const OPEN: DoorState = { phase: 'open', due: { lo: 0, hi: 0 }, from: { lo: 1, hi: 1 } };

export function doorAtRest(restOpen: boolean): DoorState {
  return restOpen ? OPEN : SHUT;
}

/** The drive of a door goes on (opens it) or off (closes it). */
export function command(at: Instant, door: number, on: boolean): void {
  const before = at.state.doors[door]!;
  const { opens, closes } = at.network.doors[door]!;
  const there = on ? 'open' : 'shut';
  const moving = on ? 'opening' : 'closing';
  if (before.phase === there || before.phase === moving) return;
  const from = positionOf(at, door);
  const travel = on ? opens : closes;
  const way = on ? { lo: 1 - from.hi, hi: 1 - from.lo } : from;
  const due = { lo: Math.floor(way.lo * travel.lo), hi: Math.ceil(way.hi * travel.hi) };
  if (on && before.phase === 'shut') at.events.push({ door, event: 'opens' });
  if (!on && before.phase === 'open') at.events.push({ door, event: 'closes' });
  if (due.hi === 0) arrive(at, door, on);
  else {
    at.state.doors[door] = { phase: moving, due, from };
    at.clocks.set(at.slots.door(door), -1);
  }
}

/** A moving door gets to its end. */
export function arrive(at: Instant, door: number, open: boolean): void {
  at.clocks.delete(at.slots.door(door));
  at.state.doors[door] = open ? OPEN : SHUT;
  at.events.push({ door, event: open ? 'opened' : 'shuts' });
}

/** How far open a door is now: bounds in parts of 1. */
function positionOf(at: Instant, door: number): Range {
  const state = at.state.doors[door]!;
  if (state.phase === 'shut') return { lo: 0, hi: 0 };
  if (state.phase === 'open') return { lo: 1, hi: 1 };
  const { opens, closes } = at.network.doors[door]!;
  const travel = state.phase === 'opening' ? opens : closes;
  const elapsed = at.clockRange(at.slots.door(door));
  const moved = { lo: travel.hi === 0 ? 1 : elapsed.lo / travel.hi, hi: travel.lo === 0 ? 1 : elapsed.hi / travel.lo };
  return state.phase === 'opening'
    ? outward({ lo: state.from.lo + moved.lo, hi: state.from.hi + moved.hi })
    : outward({ lo: state.from.lo - moved.hi, hi: state.from.hi - moved.lo });
}
