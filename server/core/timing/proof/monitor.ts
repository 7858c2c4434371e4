/**
 * What a proof watches for. A monitor looks at the discrete state (doors, nets) and at the door events of each step; the ones
 * about time (apart by at least so long, events in order) keep marks in the state and clocks of their own.
 */
import type { Condition, DoorEvent, Rig } from '../../model/rig';
import { atLeast, atMost, copyZone, extrapolate, lowest, type Zone } from './dbm';
import type { Discrete, Instant } from './discrete';

export type Property =
  | { readonly kind: 'never'; readonly name: string; readonly condition: Condition }
  | { readonly kind: 'straight-through'; readonly name: string; readonly doors: readonly number[] }
  /** No straight-through path when power goes at this moment: doors without drive go to rest. */
  | { readonly kind: 'power-loss'; readonly name: string; readonly doors: readonly number[] }
  | {
      readonly kind: 'trapped-pocket';
      readonly name: string;
      readonly door: number;
      readonly above: number;
      readonly below: number;
    }
  | {
      readonly kind: 'left-open';
      readonly name: string;
      readonly door: number;
      readonly initialInputs: ReadonlyMap<number, boolean>;
    }
  | { readonly kind: 'gap'; readonly name: string; readonly doors: readonly [number, number]; readonly least: number }
  | {
      readonly kind: 'order';
      readonly name: string;
      readonly events: readonly { readonly door: number; readonly event: DoorEvent }[];
    };

export interface Watched {
  readonly zone: Zone;
  readonly flags: readonly string[];
}

export interface Monitor {
  initialMarks(): number[];
  /** Properties that the state breaks by itself. */
  states(state: Discrete): string[];
  /** Splits a step where a property about time is broken in a part of the zone; always gives the unbroken part, too. */
  watch(at: Instant, zone: Zone, before: readonly number[]): Watched[];
  /** Forgets what observer and input clocks beyond their greatest constant say. */
  bound(slots: readonly number[], zone: Zone): void;
}

type Gap = Extract<Property, { kind: 'gap' }>;
type Order = Extract<Property, { kind: 'order' }>;

export function createMonitor(
  rig: Rig,
  properties: readonly Property[],
  firstObserver: number,
  inputMax: ReadonlyMap<number, number>,
): Monitor {
  const gaps = properties.filter((p): p is Gap => p.kind === 'gap');
  const orders = properties.filter((p): p is Order => p.kind === 'order');
  // Two observer clocks a gap: since each of the doors was shut. Marks: place in each order.
  const slotOf = (gap: number, side: 0 | 1): number => firstObserver + gap * 2 + side;
  const maxOf = new Map<number, number>(inputMax);
  gaps.forEach((gap, g) => {
    maxOf.set(slotOf(g, 0), gap.least);
    maxOf.set(slotOf(g, 1), gap.least);
  });
  return {
    initialMarks: () => orders.map(() => 0),
    states: (state) => {
      const look = lookAt(state);
      return properties.filter((p) => brokenNow(p, look, rig)).map((p) => p.name);
    },
    watch(at, zone, before) {
      const flags = orders.flatMap((order, k) => (followOrder(at, order, k) ? [] : [order.name]));
      const broken: Watched[] = [];
      let rest: Zone | null = copyZone(zone);
      gaps.forEach((gap, g) => {
        for (const side of [0, 1] as const) {
          if (rest === null) return;
          const result = watchGap(at, rest, before, gap, side, slotOf(g, side));
          if (result.broken) broken.push({ zone: result.broken, flags: [gap.name] });
          rest = result.rest;
          noteShut(at, gap, side, slotOf(g, side));
        }
      });
      return rest === null ? broken : [...broken, { zone: rest, flags }];
    },
    bound(slots, zone) {
      extrapolate(zone, [0, ...slots.map((slot) => maxOf.get(slot) ?? Infinity)]);
    },
  };
}

/** The other door leaves shut: broken where this side was shut less than the least time before. */
function watchGap(
  at: Instant,
  zone: Zone,
  before: readonly number[],
  gap: Gap,
  side: 0 | 1,
  slot: number,
): { broken: Zone | null; rest: Zone | null } {
  const other = gap.doors[side === 0 ? 1 : 0];
  if (!at.events.some((e) => e.door === other && e.event === 'opens')) return { broken: null, rest: zone };
  if (at.events.some((e) => e.door === gap.doors[side] && e.event === 'shuts'))
    return { broken: gap.least > 0 ? zone : null, rest: zone };
  const clock = before.indexOf(slot) + 1;
  if (clock === 0 || lowest(zone, clock) >= gap.least) return { broken: null, rest: zone };
  const broken = copyZone(zone);
  const rest = copyZone(zone);
  return {
    broken: atMost(broken, clock, gap.least - 1) ? broken : null,
    rest: atLeast(rest, clock, gap.least) ? rest : null,
  };
}

function noteShut(at: Instant, gap: Gap, side: 0 | 1, slot: number): void {
  const door = gap.doors[side];
  if (at.events.some((e) => e.door === door && e.event === 'shuts')) at.clocks.set(slot, -1);
  else if (at.state.doors[door]!.phase !== 'shut') at.clocks.delete(slot);
}

/** Moves the mark of an order on with the step's events; false where one comes out of turn. */
function followOrder(at: Instant, order: Order, mark: number): boolean {
  let sound = true;
  for (const event of at.events) {
    if (!order.events.some((e) => e.door === event.door && e.event === event.event)) continue;
    const expected = order.events[at.state.marks[mark]!]!;
    if (expected.door !== event.door || expected.event !== event.event) sound = false;
    else at.state.marks[mark] = (at.state.marks[mark]! + 1) % order.events.length;
  }
  return sound;
}

/** What a property can see of a state, whatever the controller style. */
export interface Look {
  net(net: number): boolean;
  notShut(door: number): boolean;
  closing(door: number): boolean;
  /** Nothing is under way. */
  readonly still: boolean;
}

function lookAt(state: Discrete): Look {
  return {
    net: (net) => state.nets[net] === 1,
    notShut: (door) => state.doors[door]!.phase !== 'shut',
    closing: (door) => state.doors[door]!.phase === 'closing',
    still:
      state.queues.every((q) => q.length === 0) &&
      state.running.every((r) => r === 0) &&
      state.doors.every((d) => d.phase === 'shut' || d.phase === 'open'),
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
      return look.closing(property.door) && !look.notShut(property.above) && !look.notShut(property.below);
    case 'left-open':
      return leftOpen(property, look, rig);
    case 'gap':
      return property.doors.every(look.notShut);
    case 'order':
      return false;
  }
}

/** Nothing is under way, every input is as at the start, and yet the door is away from rest: it may stand so for ever. */
function leftOpen(property: Extract<Property, { kind: 'left-open' }>, look: Look, rig: Rig): boolean {
  if (!look.still) return false;
  for (const [net, value] of property.initialInputs) if (look.net(net) !== value) return false;
  return look.notShut(property.door) !== (rig.doors[property.door]!.rest === 'open');
}

function holds(condition: Condition, look: Look): boolean {
  switch (condition.op) {
    case 'net':
      return look.net(condition.net);
    case 'door':
      return look.notShut(condition.door);
    case 'const':
      return condition.value;
    case 'not':
      return !holds(condition.a, look);
    case 'and':
      return holds(condition.a, look) && holds(condition.b, look);
    case 'or':
      return holds(condition.a, look) || holds(condition.b, look);
    case 'xor':
      return holds(condition.a, look) !== holds(condition.b, look);
  }
}
