/**
 * What a proof watches for. A monitor looks at the discrete state (doors, nets) and at the door events of each step; the ones
 * about time (apart by at least so long, events in order) keep marks in the state and clocks of their own.
 *
 * Each property is an observer beside the rig: it never holds the rig up, so what it adds are distinctions between states, not restrictions.
 * Properties of states (`brokenNow`) need no memory. Those about distances in time carry a clock that starts when the first event happens
 * and is compared once, when the second does; those about sequences carry the place reached. Both are forgotten as soon as they can no longer
 * matter (`limits`, `UNCOMPARED`), because every clock that runs multiplies zones.
 *
 * The same words are read three times, in code that shares nothing: here over zones, in scan/watch.ts over scans, in trace-property.ts over
 * recorded runs; the tests compare them.
 */
import { idlesOpen } from '../model/intent';
import type { Vent } from '../model/intent';
import { holds, netsOf } from '../model/logic';
import type { Seen } from '../model/logic';
import type { Condition, DoorEvent, Rig } from '../model/rig';
import { scopeOf, type Scope } from './cone';
import type { ProofNetwork } from './network';
import { atLeast, atMost, copyZone, lowest, UNCOMPARED, type Zone } from './zone/dbm';
import type { Discrete, Instant } from './zone/discrete';

/** A property of a rig: it holds where no run breaks it. */
export type Property =
  /** The condition is never true for any length of time. */
  | { readonly kind: 'never'; readonly name: string; readonly condition: Condition }
  /** The doors are never off their seats together. */
  | PathProperty<'straight-through'>
  /** No straight-through path when power goes at this moment: doors without drive go to rest. */
  | PathProperty<'power-loss'>
  /** The door never closes with both sides shut. `outlets`: see `pocketOutlets`. */
  | {
      readonly kind: 'trapped-pocket';
      readonly name: string;
      readonly door: number;
      readonly outlets: readonly [readonly number[], readonly number[]];
    }
  /** Where nothing that decides about the door is under way and every input is as at the start, the door is at rest. */
  | {
      readonly kind: 'left-open';
      readonly name: string;
      readonly door: number;
      readonly initialInputs: ReadonlyMap<number, boolean>;
    }
  /** With the switches kept so, every door comes to rest in bounded time and stays there (see return-search.ts). */
  | {
      readonly kind: 'switched-off';
      readonly name: string;
      readonly switches: ReadonlyMap<number, boolean>;
      /** Which doors; all where left out. */
      readonly doors?: readonly number[];
    }
  /** Between one door being shut and the other leaving its seat, whichever comes first, there is at least so long, µs. */
  | { readonly kind: 'gap'; readonly name: string; readonly doors: readonly [number, number]; readonly least: number }
  /** The events follow one another as written, each later than the one before, over and over. */
  | {
      readonly kind: 'order';
      readonly name: string;
      readonly events: readonly { readonly door: number; readonly event: DoorEvent }[];
    };

/** A property of a path through doors. */
export interface PathProperty<Kind extends string = string> {
  readonly kind: Kind;
  readonly name: string;
  readonly doors: readonly number[];
  /** Switches that are meant to open the path: no break counts from one being thrown until it is back and nothing is under way. */
  readonly vents?: readonly Vent[];
}

/** A part of a step's zone, and the properties that it breaks (none: the unbroken part). */
export interface Watched {
  readonly zone: Zone;
  readonly flags: readonly string[];
}

/** The greatest constants that a clock is ever compared with (see `extrapolate`). */
export interface ClockLimits {
  readonly lower: number;
  readonly upper: number;
}

/** The observers of one search. Marks are theirs alone; clocks are numbered by slots after all others. */
export interface Monitor {
  initialMarks(): number[];
  /** Properties that the state breaks by itself. */
  states(state: Discrete): string[];
  /** Splits a step where a property about time is broken in a part of the zone, and gives the unbroken part, too. Takes `zone` over. */
  watch(at: Instant, zone: Zone, before: readonly number[]): Watched[];
  /** Nets that properties look at by themselves. */
  readonly nets: ReadonlySet<number>;
  /** Whether a property compares inputs with the start at all. */
  readonly comparesInputs: boolean;
  /** Whether it matters in this state for a property how all inputs stand: they are compared with the start. */
  looksAtInputs(state: Discrete): boolean;
  /** What the clocks of observers are compared with, by slot. */
  readonly limits: ReadonlyMap<number, ClockLimits>;
}

type Gap = Extract<Property, { kind: 'gap' }>;
type Rested = Extract<Property, { kind: 'left-open' }>;
type Order = Extract<Property, { kind: 'order' }>;

/** The clocks and marks of the properties about time: numbered from `first`, two a gap, then one an order. */
export function createMonitor(
  rig: Rig,
  network: ProofNetwork,
  properties: readonly Property[],
  first: number,
): Monitor {
  const scopes = new Map(properties.map((p) => [p, scopeOf(rig, network, p)]));
  const lookAt = (state: Discrete): Look => lookAtState(state, rig, network, scopes);
  const gaps = properties.filter((p): p is Gap => p.kind === 'gap');
  const orders = properties.filter((p): p is Order => p.kind === 'order');
  const vented = properties.filter(isVented);
  const rested = properties.filter((p): p is Rested => p.kind === 'left-open');
  const gapSlot = (gap: number, side: 0 | 1): number => first + gap * 2 + side;
  const orderSlot = (order: number): number => first + gaps.length * 2 + order;
  // An observer's clock breaks something below a constant; above it, it never keeps anything from happening.
  const limits = new Map<number, ClockLimits>();
  gaps.forEach(({ least }, g) => {
    for (const side of [0, 1] as const) limits.set(gapSlot(g, side), { lower: UNCOMPARED, upper: least - 1 });
  });
  orders.forEach((_, k) => limits.set(orderSlot(k), { lower: UNCOMPARED, upper: 0 }));
  return {
    // One an order, then one a vented path: 1 while its vent counts.
    initialMarks: () => [...orders, ...vented].map(() => 0),
    states: (state) => {
      const look = lookAt(state);
      // A path being vented may stand open: it was opened on purpose, and is excused until all is at rest again.
      const venting = new Set<Property>(vented.filter((_, v) => state.marks[orders.length + v] === 1));
      return properties.filter((p) => !venting.has(p) && brokenNow(p, look, rig)).map((p) => p.name);
    },
    watch(at, zone, before) {
      const watch: Watch = { at, before, broken: [], rest: zone };
      if (vented.length > 0) markVents(vented, at.state.marks, orders.length, lookAt(at.state));
      orders.forEach((order, k) => watchOrder(watch, order, k, orderSlot(k)));
      gaps.forEach((gap, g) => {
        for (const side of [0, 1] as const) watchGap(watch, gap, side, gapSlot(g, side));
      });
      watchPockets(watch, properties, lookAt(at.state));
      return watch.rest === null ? watch.broken : [...watch.broken, { zone: watch.rest, flags: [] }];
    },
    limits,
    nets: new Set(properties.flatMap(netsLookedAt)),
    comparesInputs: rested.length > 0,
    looksAtInputs(state) {
      if (rested.length === 0) return false;
      const look = lookAt(state);
      return rested.some((p) => look.still(p) && look.away(p.door));
    },
  };
}

function netsLookedAt(property: Property): readonly number[] {
  if (property.kind === 'never') return netsOf(property.condition);
  if (property.kind === 'switched-off') return [...property.switches.keys()];
  return isVented(property) ? property.vents.map(({ net }) => net) : [];
}

/** A property with a path that a switch is meant to open. */
export type Vented = PathProperty<'straight-through' | 'power-loss'> & { readonly vents: readonly Vent[] };

export function isVented(property: Property): property is Property & Vented {
  return (property.kind === 'straight-through' || property.kind === 'power-loss') && (property.vents?.length ?? 0) > 0;
}

/** Sets the marks of vented properties, from `first` on, by what is seen after a step. */
export function markVents(vented: readonly (Property & Vented)[], marks: number[], first: number, look: Look): void {
  vented.forEach((property, v) => {
    const thrown = property.vents.some((vent) => look.net(vent.net) === vent.thrown);
    // Excused from the throw on; only rest with the switch back ends it, since doors that it opened are still closing when it goes back.
    if (thrown) marks[first + v] = 1;
    else if (look.still(property)) marks[first + v] = 0;
  });
}

/** A step being watched: the parts of its zone that break something, and what is left. */
interface Watch {
  readonly at: Instant;
  readonly before: readonly number[];
  readonly broken: Watched[];
  rest: Zone | null;
}

/** Broken where an observer clock is below `least`; a clock that does not run is far above. */
function breakBelow(watch: Watch, name: string, slot: number, least: number): void {
  const clock = watch.before.indexOf(slot) + 1;
  if (watch.rest === null || clock === 0 || lowest(watch.rest, clock) >= least) return;
  const broken = copyZone(watch.rest);
  // The zone splits at the constant: the part below breaks the property, the part above goes on.
  if (atMost(broken, clock, least - 1)) watch.broken.push({ zone: broken, flags: [name] });
  if (!atLeast(watch.rest, clock, least)) watch.rest = null;
}

function breakAll(watch: Watch, name: string): void {
  if (watch.rest !== null) watch.broken.push({ zone: copyZone(watch.rest), flags: [name] });
}

/** A door with no travel shuts at once: what is trapped is seen at that instant only. */
function watchPockets(watch: Watch, properties: readonly Property[], look: Look): void {
  const { at } = watch;
  if (at.events.length === 0) return;
  for (const property of properties) {
    if (property.kind !== 'trapped-pocket' || at.network.doors[property.door]!.closes.hi > 0) continue;
    if (!at.events.some((e) => e.door === property.door && e.event === 'shuts')) continue;
    if (property.outlets.every((side) => isBlocked(side, look))) breakAll(watch, property.name);
  }
}

/** The other door leaves shut: broken where this side was shut less than the least time before. */
function watchGap(watch: Watch, gap: Gap, side: 0 | 1, slot: number): void {
  const { at } = watch;
  const door = gap.doors[side];
  const other = gap.doors[side === 0 ? 1 : 0];
  const shuts = at.events.some((e) => e.door === door && e.event === 'shuts');
  if (at.events.some((e) => e.door === other && e.event === 'opens')) {
    // Shutting and opening at one moment is a gap of zero: too short for any least above it.
    if (!shuts) breakBelow(watch, gap.name, slot, gap.least);
    else if (gap.least > 0) breakAll(watch, gap.name);
  }
  // The clock of a side runs while that door is shut, from the moment it shut; a door shut from the start has none, and no gap to keep.
  if (shuts) at.clocks.set(slot, -1);
  else if (at.state.doors[door]!.phase !== 'shut') at.clocks.delete(slot);
}

/** Moves the mark of an order on with the step's events; broken where one comes out of turn, or with the one before. */
function watchOrder(watch: Watch, order: Order, mark: number, slot: number): void {
  const { at } = watch;
  const { marks } = at.state;
  const happened = at.events.filter((h) => order.events.some((e) => sameEvent(h, e)));
  const was = marks[mark]!;
  const { place, sound } = followEvents(order, was, happened);
  if (!sound) breakAll(watch, order.name);
  else if (was > 0 && happened.length > 0) breakBelow(watch, order.name, slot, 1);
  marks[mark] = place;
  // At the first place there is no event before, so no distance to keep.
  if (marks[mark] === 0) at.clocks.delete(slot);
  else if (happened.length > 0) at.clocks.set(slot, -1);
}

interface NamedEvent {
  readonly door: number;
  readonly event: DoorEvent;
}

const sameEvent = (a: NamedEvent, b: NamedEvent): boolean => a.door === b.door && a.event === b.event;

/**
 * Goes on in an order with the events of one moment, of which the expected one is looked at first. Not sound where one comes out of
 * turn, or two that follow one another come together; from the last to the first of the next round they may.
 */
export function followEvents(
  { events }: Order,
  start: number,
  moment: readonly NamedEvent[],
): { readonly place: number; readonly sound: boolean } {
  const open = moment.filter((h) => events.some((e) => sameEvent(h, e)));
  // Events of one moment have no order of their own. The expected one is taken first, which favours the rig wherever it can be read so.
  let place = start;
  let sound = true;
  for (let first = true; open.length > 0; first = false) {
    const turn = open.findIndex((h) => sameEvent(h, events[place]!));
    if (turn < 0) return { place, sound: false };
    // Two of one moment do not follow one another, except where a round ends and the next begins.
    sound &&= first || place === 0;
    open.splice(turn, 1);
    place = (place + 1) % events.length;
  }
  return { place, sound };
}

/** What a property can see of a state, whatever the controller style. */
export interface Look extends Seen {
  closing(door: number): boolean;
  /** Not standing at its rest position. */
  away(door: number): boolean;
  /** Nothing that the property depends on is under way. */
  still(property: Property): boolean;
}

/** A state in response style as properties see it. */
function lookAtState(state: Discrete, rig: Rig, network: ProofNetwork, scopes: ReadonlyMap<Property, Scope>): Look {
  // One whose changes came too fast has come to rest, if it has, where its net is what it gives.
  const restsFree = (e: number): boolean =>
    state.free[e] === 0 || state.nets[network.elements[e]!.net] === state.outputs[e];
  return {
    net: (net) => state.nets[net] === 1,
    notShut: (door) => state.doors[door]!.phase !== 'shut',
    closing: (door) => state.doors[door]!.phase === 'closing',
    away: (door) => state.doors[door]!.phase !== (idlesOpen(rig, door) ? 'open' : 'shut'),
    still: (property) => {
      const { elements, doors } = scopes.get(property)!;
      return (
        elements.every((e) => state.queues[e]!.length === 0 && state.running[e] === 0 && restsFree(e)) &&
        doors.every((d) => state.doors[d]!.phase === 'shut' || state.doors[d]!.phase === 'open')
      );
    },
  };
}

/** Whether a state by itself breaks a property. */
export function brokenNow(property: Property, look: Look, rig: Rig): boolean {
  switch (property.kind) {
    case 'never':
      return holds(property.condition, look);
    case 'straight-through':
      return property.doors.every(look.notShut);
    case 'power-loss':
      return property.doors.every((d) => look.notShut(d) || rig.doors[d]!.rest === 'open');
    case 'trapped-pocket':
      return look.closing(property.door) && property.outlets.every((side) => isBlocked(side, look));
    case 'left-open':
      return look.still(property) && matches(property.initialInputs, look) && look.away(property.door);
    case 'switched-off':
      return look.still(property) && matches(property.switches, look) && restingDoors(property, rig).some(look.away);
    // Both off their seats is a gap below zero, whatever the least.
    case 'gap':
      return property.doors.every(look.notShut);
    case 'order':
      return false;
  }
}

/** Doors that must come to rest. */
export function restingDoors({ doors }: Extract<Property, { kind: 'switched-off' }>, rig: Rig): readonly number[] {
  return doors ?? rig.doors.map((_, d) => d);
}

const matches = (values: ReadonlyMap<number, boolean>, look: Look): boolean =>
  [...values].every(([net, value]) => look.net(net) === value);

/** Nothing can leave a pocket past these doors; without a door there is a chamber. */
export const isBlocked = (doors: readonly number[], look: Look): boolean =>
  doors.length > 0 && !doors.every(look.notShut);
