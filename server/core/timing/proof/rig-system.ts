/**
 * A rig in response style as a transition system over zones: inputs change at any moment (or after their least on and off
 * times), every response, preset and travel takes any time within its tolerance at each use.
 *
 * Order at one instant, as in the event engine: changes in flight that are due arrive first, all together; a timer may run out
 * only while no change in flight is forced to arrive at that same instant. A subset of the due things happens together; the
 * others must not be forced now (their clock is still below the latest due time).
 */
import { atLeast, atMost, copyZone, emptyClocks, highest, lowest, remapClocks, up, type Zone } from './dbm';
import {
  arrive,
  Discrete,
  doorAtRest,
  evaluateElements,
  expire,
  propagate,
  slotsOf,
  takePending,
  type Change,
  type Instant,
  type Slots,
} from './discrete';
import type { SymbolicState, Successor, ZoneSystem } from './explore';
import type { ProofNetwork, Range } from './network';
import type { Monitor } from './monitor';

/** What happened in a step, for the counter-example: every fired clock with its bounds. */
export interface RigLabel {
  readonly kind: 'input' | 'arrival' | 'expiry' | 'door';
  /** Input index and its new value. */
  readonly input?: { readonly index: number; readonly value: boolean };
  /** Clocks that fire: slot and the range it must lie in. */
  readonly fired: readonly { readonly slot: number; readonly due: Range }[];
  /** Clocks that must not have reached this bound. */
  readonly below: readonly { readonly slot: number; readonly bound: number }[];
}

export interface RigState extends SymbolicState {
  readonly discrete: Discrete;
  /** Slot of each clock of the zone, in order; clock k+1 is `slots[k]`. */
  readonly slots: readonly number[];
  /** For the counter-example: slot → slot of the state before (−1: starts at this step). */
  readonly origins: ReadonlyMap<number, number>;
  /** Properties this state breaks, found while the step was worked out. */
  readonly flags: readonly string[];
  readonly overflow: boolean;
  readonly loops: boolean;
}

/** One way on from a state: what to do at the instant. */
interface Move {
  readonly label: RigLabel;
  act(at: Instant): readonly Change[];
}

export function rigSystem(network: ProofNetwork, monitor: Monitor): ZoneSystem<RigState, RigLabel> {
  const slots = slotsOf(network);
  return {
    initial: () => initialStates(network, slots, monitor),
    successors: (state) => {
      if (state.overflow || state.loops) return [];
      const found: Successor<RigState, RigLabel>[] = [];
      for (const move of movesOf(network, slots, state)) {
        for (const next of take(network, slots, monitor, state, move)) found.push({ label: move.label, state: next });
      }
      return found;
    },
    broken: (state) => state.flags,
    trouble: (state) => {
      if (state.loops) return 'signals without response time go round and never settle';
      if (state.overflow)
        return 'a signal may change faster than the element behind it answers; state min_on and min_off of the sensors and switches';
      return null;
    },
  };
}

/** Everything off and at rest, then power comes on with the inputs at their start values. */
function initialStates(network: ProofNetwork, slots: Slots, monitor: Monitor): RigState[] {
  const e = network.elements.length;
  const discrete = new Discrete(
    new Uint8Array(network.nets),
    new Uint8Array(e),
    // An F_TRIG whose input is off at its first evaluation gives a pulse: its memory starts FALSE (IEC 61131-3, Table 44).
    Uint8Array.from(network.elements, (element) => (element.kind === 'F_TRIG' ? 1 : 0)),
    new Int32Array(e),
    new Uint8Array(e),
    Array.from({ length: e }, () => []),
    network.doors.map((d) => doorAtRest(d.restOpen)),
    monitor.initialMarks(),
  );
  const at: Instant = {
    network,
    slots,
    state: discrete,
    clocks: new Map(),
    events: [],
    clockRange: () => ({ lo: 0, hi: 0 }),
    overflow: false,
    loops: false,
  };
  for (const input of network.inputs) if (input.initial) discrete.nets[input.net] = 1;
  network.doors.forEach((door, d) => {
    if (door.net >= 0 && door.restOpen && discrete.nets[door.net] === 0) commandAtStart(at, d);
  });
  propagate(
    at,
    evaluateElements(
      at,
      network.elements.map((_, k) => k),
    ),
  );
  return settle(at, emptyClocks(), [], monitor);
}

function commandAtStart(at: Instant, door: number): void {
  const { closes } = at.network.doors[door]!;
  at.state.doors[door] = { phase: 'closing', due: closes, from: { lo: 1, hi: 1 } };
  at.clocks.set(at.slots.door(door), -1);
}

// ---------------------------------------------------------------- moves

function movesOf(network: ProofNetwork, slots: Slots, state: RigState): Move[] {
  return [
    ...arrivals(network, slots, state),
    ...expiries(network, slots, state),
    ...doorEnds(network, slots, state),
    ...inputMoves(network, slots, state),
  ];
}

interface Due {
  readonly element: number;
  readonly slot: number;
  readonly due: Range;
}

function heads(slots: Slots, { discrete }: RigState): Due[] {
  return discrete.queues.flatMap((queue, element) =>
    queue.length > 0 ? [{ element, slot: slots.pending(element, 0), due: queue[0]!.due }] : [],
  );
}

function runningTimers(network: ProofNetwork, slots: Slots, { discrete }: RigState): Due[] {
  return network.elements.flatMap((element, e) =>
    discrete.running[e] === 1 ? [{ element: e, slot: slots.timer(e), due: element.preset }] : [],
  );
}

/** All subsets but the empty one. */
function subsets<T>(items: readonly T[]): T[][] {
  return items.reduce<T[][]>((all, item) => [...all, ...all.map((some) => [...some, item])], [[]]).slice(1);
}

const below = (dues: readonly Due[]): { slot: number; bound: number }[] =>
  dues.map((d) => ({ slot: d.slot, bound: d.due.hi - 1 }));

function arrivals(_network: ProofNetwork, slots: Slots, state: RigState): Move[] {
  const due = heads(slots, state);
  return subsets(due).map((some) => ({
    label: { kind: 'arrival', fired: some, below: below(due.filter((d) => !some.includes(d))) },
    act: (at) => some.map((d) => takePending(at, d.element)),
  }));
}

function expiries(network: ProofNetwork, slots: Slots, state: RigState): Move[] {
  const flying = heads(slots, state);
  const due = runningTimers(network, slots, state);
  return subsets(due).map((some) => ({
    label: { kind: 'expiry', fired: some, below: below([...flying, ...due.filter((d) => !some.includes(d))]) },
    act: (at) => {
      const next: Change[] = [];
      for (const d of some) expire(at, d.element, next);
      return next;
    },
  }));
}

function doorEnds(_network: ProofNetwork, slots: Slots, { discrete }: RigState): Move[] {
  return discrete.doors.flatMap((door, d) => {
    if (door.phase === 'shut' || door.phase === 'open') return [];
    const open = door.phase === 'opening';
    const label: RigLabel = { kind: 'door', fired: [{ slot: slots.door(d), due: door.due }], below: [] };
    const act = (at: Instant): Change[] => {
      arrive(at, d, open);
      return [];
    };
    return [{ label, act }];
  });
}

function inputMoves(network: ProofNetwork, slots: Slots, state: RigState): Move[] {
  return network.inputs.map((input, index) => {
    const value = state.discrete.nets[input.net] === 0;
    const slot = slots.input(index);
    const least = value ? input.minOff : input.minOn;
    const fired = least > 0 && state.slots.includes(slot) ? [{ slot, due: { lo: least, hi: Infinity } }] : [];
    return {
      label: { kind: 'input', input: { index, value }, fired, below: [] },
      act: (at) => {
        if (input.minOn > 0 || input.minOff > 0) at.clocks.set(slot, -1);
        return [[input.net, value]];
      },
    };
  });
}

// ---------------------------------------------------------------- one step

function take(network: ProofNetwork, slots: Slots, monitor: Monitor, from: RigState, { label, act }: Move): RigState[] {
  const zone = copyZone(from.zone);
  const clockOf = (slot: number): number => from.slots.indexOf(slot) + 1;
  for (const { slot, bound } of label.below) if (!atMost(zone, clockOf(slot), bound)) return [];
  for (const { slot, due } of label.fired) {
    if (!atLeast(zone, clockOf(slot), due.lo) || !atMost(zone, clockOf(slot), due.hi)) return [];
  }
  const at: Instant = {
    network,
    slots,
    state: from.discrete.copy(),
    clocks: new Map(from.slots.map((slot) => [slot, slot])),
    events: [],
    clockRange: (slot) => ({ lo: lowest(zone, clockOf(slot)), hi: highest(zone, clockOf(slot)) }),
    overflow: false,
    loops: false,
  };
  propagate(at, act(at));
  return settle(at, zone, from.slots, monitor);
}

/** Rebuilds the zone over the clocks that run now, lets time pass within the invariants, and asks the monitor. */
function settle(at: Instant, zone: Zone, before: readonly number[], monitor: Monitor): RigState[] {
  const states: RigState[] = [];
  for (const verdict of monitor.watch(at, zone, before)) {
    const slots = [...at.clocks.keys()].sort((a, b) => a - b);
    const from = [
      0,
      ...slots.map((slot) => (at.clocks.get(slot)! < 0 ? -1 : before.indexOf(at.clocks.get(slot)!) + 1)),
    ];
    const next = remapClocks(verdict.zone, from);
    up(next);
    if (!invariants(at, slots, next)) continue;
    monitor.bound(slots, next);
    const flags = [...verdict.flags, ...monitor.states(at.state)];
    states.push({
      key: `${at.state.key()}|${slots.join(',')}|${flags.join(',')}`,
      zone: next,
      discrete: at.state,
      slots,
      origins: new Map(at.clocks),
      flags,
      overflow: at.overflow,
      loops: at.loops,
    });
  }
  return states;
}

/** No clock may pass the latest time it is due. */
function invariants(at: Instant, slots: readonly number[], zone: Zone): boolean {
  const cap = (slot: number, bound: number): boolean => atMost(zone, slots.indexOf(slot) + 1, bound);
  const { network, state } = at;
  for (let e = 0; e < network.elements.length; e++) {
    if (state.running[e] === 1 && !cap(at.slots.timer(e), network.elements[e]!.preset.hi)) return false;
    const queue = state.queues[e]!;
    for (let k = 0; k < queue.length; k++) if (!cap(at.slots.pending(e, k), queue[k]!.due.hi)) return false;
  }
  for (let d = 0; d < network.doors.length; d++) {
    const door = state.doors[d]!;
    const moving = door.phase === 'opening' || door.phase === 'closing';
    if (moving && !cap(at.slots.door(d), door.due.hi)) return false;
  }
  return true;
}
