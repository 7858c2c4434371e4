/**
 * What may happen next in a rig in response style. Things that happen at one instant may depend on each other: an input that turns
 * just as another signal arrives is seen together with it. Only things that reach a common element or door can; all others are
 * taken one after the other, in any order, with no time between them, which comes to the same.
 */
import { takePending, expire, type Change } from './blocks';
import { highest, lowest } from './dbm';
import type { DoorState, Instant, Slots } from './discrete';
import { arrive } from './door-steps';
import type { ProofNetwork, Range } from '../network';
import type { RigState } from './system';

/** What happened in a step, for the counter-example: every fired clock with its bounds. */
export interface RigLabel {
  /** Inputs that turned (index into the network's inputs), with their new values. */
  readonly inputs: readonly { readonly index: number; readonly value: boolean }[];
  /** Clocks that fire: slot and the range it must lie in. */
  readonly fired: readonly { readonly slot: number; readonly due: Range }[];
  /** Clocks that must not have gone beyond this bound. */
  readonly below: readonly { readonly slot: number; readonly bound: number }[];
  /** A net changed that counts as free: no counter-example. */
  readonly free: boolean;
}

/** One way on from a state: what to do at the instant. */
export interface Move {
  readonly label: RigLabel;
  act(at: Instant): readonly Change[];
}

/** Which of the things that may happen can be seen together, and the doors that each may drive at once. */
export interface Reach {
  /** Things are numbered: inputs, then responses of elements, then timers of elements. */
  meet(a: number, b: number): boolean;
  doors(thing: number): readonly number[];
}

/** One thing that may happen at an instant. */
interface Thing {
  readonly id: number;
  /** The clock that must lie in `due`; null where nothing has to be waited for. */
  readonly slot: number | null;
  readonly due: Range;
  readonly input?: { readonly index: number; readonly value: boolean };
  readonly free?: true;
  act(at: Instant, next: Change[]): void;
}

const ANY: Range = { lo: 0, hi: Infinity };

/** Worked out once a network. */
export function reachOf(network: ProofNetwork): Reach {
  const { inputs, elements, doors } = network;
  const cones = [
    ...inputs.map(({ net }) => coneOf(network, net)),
    ...elements.map(({ net }) => coneOf(network, net)),
    ...elements.map(({ net, response }, e) =>
      response.hi === 0 ? coneOf(network, net).add(e) : new Set<number>().add(e),
    ),
  ];
  const meets = cones.map((a) => cones.map((b) => [...a].some((part) => b.has(part))));
  const driven = cones.map((cone) => doors.flatMap((_, d) => (cone.has(elements.length + d) ? [d] : [])));
  return { meet: (a, b) => meets[a]![b]!, doors: (thing) => driven[thing]! };
}

/** Elements evaluated, and doors (numbered after them) driven, at the instant a net changes. */
function coneOf(network: ProofNetwork, start: number): Set<number> {
  const cone = new Set<number>();
  const open = [start];
  for (let net = open.pop(); net !== undefined; net = open.pop()) {
    for (const door of network.driven[net]!) cone.add(network.elements.length + door);
    for (const reader of network.readers[net]!) {
      if (cone.has(reader)) continue;
      cone.add(reader);
      const { response, net: out } = network.elements[reader]!;
      if (response.hi === 0) open.push(out);
    }
  }
  return cone;
}

/** Everything that may happen next, one instant each. */
export function movesOf(network: ProofNetwork, slots: Slots, reach: Reach, state: RigState): Move[] {
  const flying = arrivals(network, slots, state);
  const changing = [...inputThings(network, slots, state), ...flying, ...freeThings(network, state)];
  const timers = expiries(network, slots, state);
  const moving = (some: readonly Thing[]): Thing[] => movingDoors(slots, reach, state, some);
  const choices = (group: readonly Thing[]): Thing[][] => subsets(group.filter((thing) => mayFire(state, thing)));
  return [
    ...groups(changing, reach).flatMap((group) =>
      choices(group).map((some) => moveOf(some, [...without(group, some), ...moving(some)])),
    ),
    ...groups(timers, reach).flatMap((group) =>
      choices(group).map((some) => {
        // A timer sees what arrives at the moment it runs out.
        const first = flying.filter((f) => some.some((t) => reach.meet(f.id, t.id)));
        return moveOf(some, [...without(group, some), ...first, ...moving(some)]);
      }),
    ),
    ...state.discrete.doors.flatMap((door, d) => (isMoving(door) ? [moveOf([doorEnd(slots, door, d)], [])] : [])),
  ];
}

/** Whether some point of the zone lets it happen; most things are not due yet, and need not be tried. */
function mayFire({ zone, slots }: RigState, { slot, due }: Thing): boolean {
  if (slot === null) return true;
  const clock = slots.indexOf(slot) + 1;
  return highest(zone, clock) >= due.lo && lowest(zone, clock) <= due.hi;
}

/** `some` happen together; `others` may not be so late that they would have to happen now. */
function moveOf(some: readonly Thing[], others: readonly Thing[]): Move {
  return {
    label: {
      inputs: some.flatMap((t) => (t.input ? [t.input] : [])),
      fired: some.flatMap((t) => (t.slot === null ? [] : [{ slot: t.slot, due: t.due }])),
      below: others.flatMap((t) =>
        t.slot === null || t.due.hi === Infinity ? [] : [{ slot: t.slot, bound: t.due.hi - 1 }],
      ),
      free: some.some((t) => t.free),
    },
    act(at) {
      const next: Change[] = [];
      for (const thing of some) thing.act(at, next);
      return next;
    },
  };
}

const without = (all: readonly Thing[], some: readonly Thing[]): Thing[] => all.filter((t) => !some.includes(t));

/** All subsets but the empty one. */
function subsets<T>(items: readonly T[]): T[][] {
  return items.reduce<T[][]>((all, item) => [...all, ...all.map((some) => [...some, item])], [[]]).slice(1);
}

/** Things that meet, directly or by others of them. */
function groups(things: readonly Thing[], reach: Reach): Thing[][] {
  const found: Thing[][] = [];
  for (const thing of things) {
    const near = found.filter((group) => group.some((other) => reach.meet(thing.id, other.id)));
    for (const group of near) found.splice(found.indexOf(group), 1);
    found.push([...near.flat(), thing]);
  }
  return found;
}

function inputThings(network: ProofNetwork, slots: Slots, state: RigState): Thing[] {
  return network.inputs.flatMap((input, index): Thing[] => {
    if (input.shownFrom >= 0 && state.discrete.nets[input.shownFrom] === 0) return [];
    const value = state.discrete.nets[input.net] === 0;
    const least = value ? input.minOff : input.minOn;
    const slot = slots.input(index);
    const waits = least > 0 && state.slots.includes(slot);
    const thing: Thing = {
      id: index,
      slot: waits ? slot : null,
      due: { lo: least, hi: Infinity },
      input: { index, value },
      act(at, next) {
        if (input.minOn > 0 || input.minOff > 0) at.clocks.set(slot, -1);
        next.push([input.net, value]);
      },
    };
    return [thing];
  });
}

function arrivals(network: ProofNetwork, slots: Slots, { discrete }: RigState): Thing[] {
  return discrete.queues.flatMap((queue, element): Thing[] => {
    if (queue.length === 0) return [];
    const act: Thing['act'] = (at, next) => void next.push(takePending(at, element));
    return [{ id: network.inputs.length + element, slot: slots.pending(element, 0), due: queue[0]!.due, act }];
  });
}

function freeThings(network: ProofNetwork, { discrete }: RigState): Thing[] {
  return network.elements.flatMap(({ net }, element): Thing[] => {
    if (discrete.free[element] === 0) return [];
    const act: Thing['act'] = (at, next) => void next.push([net, at.state.nets[net] === 0]);
    return [{ id: network.inputs.length + element, slot: null, due: ANY, free: true, act }];
  });
}

function expiries(network: ProofNetwork, slots: Slots, { discrete }: RigState): Thing[] {
  const first = network.inputs.length + network.elements.length;
  return network.elements.flatMap(({ preset }, e): Thing[] => {
    if (discrete.running[e] === 0) return [];
    return [{ id: first + e, slot: slots.timer(e), due: preset, act: (at, next) => expire(at, e, next) }];
  });
}

const isMoving = (door: DoorState): boolean => door.phase === 'opening' || door.phase === 'closing';

/** A door that must arrive now has arrived before its drive can turn. */
function movingDoors(slots: Slots, reach: Reach, { discrete }: RigState, some: readonly Thing[]): Thing[] {
  const doors = new Set(some.flatMap((thing) => reach.doors(thing.id)));
  return [...doors].flatMap((d) => (isMoving(discrete.doors[d]!) ? [doorEnd(slots, discrete.doors[d]!, d)] : []));
}

function doorEnd(slots: Slots, door: DoorState, d: number): Thing {
  return { id: -1, slot: slots.door(d), due: door.due, act: (at) => arrive(at, d, door.phase === 'opening') };
}
