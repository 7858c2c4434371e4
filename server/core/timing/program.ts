/**
 * A rig's control network in the dense form that the event engine runs: kinds, times and fan-out in typed arrays, every boolean
 * function as a truth table over its distinct nets. Built once per rig and choice of times; holds no changing state.
 *
 * Why tables: a formula tree costs a walk at every look, and most functions have two to four inputs. With a table, a change of a net flips
 * one bit in the row number of each function that reads it, and the value of any function is one load. A function of n nets takes 2^n
 * bytes, hence the limit (`WIDEST_TABLE`). Why flat lists with start offsets: the readers of one net lie side by side in memory, and nothing
 * is allocated while the engine runs, which runs tens of thousands of times for one study of tolerances.
 */
import { doorDrives, netsOf, predicateOf, readersOf, sourcesOf } from '../model/logic';
import type { Predicate } from '../model/logic';
import type { BlockKind, Logic, Rig } from '../model/rig';
import { groupsOf } from './groups';
import type { Grouping } from './groups';
import { feedingOrder } from './feeding';
import type { FeedingOrder } from './feeding';

/** One choice out of every time's tolerance; nominal where a function is left out. Whole microseconds. */
export interface TimeChoice {
  readonly preset?: (element: number) => number;
  readonly response?: (element: number) => number;
  readonly opensIn?: (door: number) => number;
  readonly closesIn?: (door: number) => number;
  readonly scan?: () => number;
}

/** Codes of `Program.kind`, by block. */
export const KIND = {
  LOGIC: 0,
  TON: 1,
  TOF: 2,
  TP: 3,
  R_TRIG: 4,
  F_TRIG: 5,
  SR: 6,
  RS: 7,
  CTU: 8,
} as const satisfies Readonly<Record<BlockKind, number>>;

/** Functions of more nets than this are evaluated as formulas: a table doubles with every net; 2^8 bytes fit a few cache lines. */
const WIDEST_TABLE = 8;

/** The compiled network; immutable, shared by all engines of one choice of times. */
export interface Program {
  readonly style: 'response' | 'scan';
  /** Scan period, at least 1; unused in response style. */
  readonly scan: number;
  readonly nets: number;
  readonly elements: number;
  readonly kind: Uint8Array;
  /** Net that each element gives. */
  readonly outputNet: Int32Array;
  readonly preset: Float64Array;
  readonly response: Float64Array;
  /** CTU: PV. */
  readonly count: Int32Array;
  /** 1 for joins: logic without response, which settles before anything else looks. */
  readonly join: Uint8Array;
  /** Order in which joins settle, and loops among them. */
  readonly joinOrder: FeedingOrder;
  /** Order in which blocks that are due at one moment (timers, ends of edge pulses) have their turn. */
  readonly dueRank: Int32Array;
  /** Lane (queue of one response time) of each element, -1 where the response is zero. */
  readonly lane: Int32Array;
  readonly lanes: number;
  /** First and second input of each element as function numbers; -1 where there is none. */
  readonly input0: Int32Array;
  readonly input1: Int32Array;
  readonly functions: number;
  /** Truth table of function f: `table[base[f] + index]`; `base[f]` is -1 where `wide` holds it. */
  readonly base: Int32Array;
  readonly table: Uint8Array;
  readonly wide: readonly (Predicate | null)[];
  /** Users of net n stand at `fanStart[n] … fanStart[n+1]-1`: function, its index bit, and the element it belongs to. */
  readonly fanStart: Int32Array;
  readonly fanFunction: Int32Array;
  readonly fanBit: Int32Array;
  readonly fanElement: Int32Array;
  /** Doors driven by net n: `driveStart[n] … driveStart[n+1]-1`. */
  readonly driveStart: Int32Array;
  readonly driveDoor: Int32Array;
  readonly doors: readonly DoorProgram[];
  /** What doors, feeds or draws depend on, directly or through others; the whole where nothing is driven. */
  readonly driving: Part;
  readonly whole: Part;
  /** `driving` in independent groups. */
  readonly grouping: Grouping;
}

/** A part of the network: its nets and elements, ascending. A net is in it where `owner` has its `number`: one list serves all groups. */
export interface Part {
  readonly nets: Int32Array;
  readonly elements: Int32Array;
  readonly owner: Int32Array;
  readonly number: number;
}

/** A door's motion in whole units: it opens by `opens` and closes by `closes` units a microsecond out of `full`. */
export interface DoorProgram {
  readonly opensIn: number;
  readonly closesIn: number;
  readonly full: number;
  readonly opens: number;
  readonly closes: number;
  readonly rest: 0 | 1;
  readonly drives: number;
}

// Row `index`: bit k of it is the value of nets[k], the same bit that `fanBit` flips for that net.
function tableOf(logic: Logic, nets: readonly number[], scratch: Uint8Array): Uint8Array {
  const table = new Uint8Array(1 << nets.length);
  const isTrue = predicateOf(logic);
  for (let index = 0; index < table.length; index++) {
    nets.forEach((net, bit) => (scratch[net] = (index >> bit) & 1));
    table[index] = isTrue(scratch) ? 1 : 0;
  }
  return table;
}

interface Functions {
  readonly base: number[];
  readonly tables: Uint8Array[];
  readonly wide: (Predicate | null)[];
  readonly uses: { readonly net: number; readonly fn: number; readonly bit: number; readonly element: number }[];
  size: number;
}

function addFunction(into: Functions, logic: Logic, element: number, scratch: Uint8Array): number {
  const fn = into.base.length;
  const nets = netsOf(logic);
  const wide = nets.length > WIDEST_TABLE;
  nets.forEach((net, bit) => into.uses.push({ net, fn, bit: wide ? 0 : 1 << bit, element }));
  into.wide.push(wide ? predicateOf(logic) : null);
  into.base.push(wide ? -1 : into.size);
  if (wide) return fn;
  const table = tableOf(logic, nets, scratch);
  into.tables.push(table);
  into.size += table.length;
  return fn;
}

function gcd(a: number, b: number): number {
  while (b !== 0) [a, b] = [b, a % b];
  return a;
}

/** A door in whole units of way. */
function doorProgram(rig: Rig, index: number, drives: number, choice: TimeChoice): DoorProgram {
  const door = rig.doors[index]!;
  const opensIn = choice.opensIn?.(index) ?? door.opensIn.nominal;
  const closesIn = choice.closesIn?.(index) ?? door.closesIn.nominal;
  // Whole units (see motion.ts): full = lcm(a, b), one microsecond opens b/gcd and closes a/gcd of them. A travel of 0 moves at once, and
  // stands in for 1 only to give the other direction its scale.
  const a = Math.max(1, opensIn);
  const b = Math.max(1, closesIn);
  const shared = gcd(a, b);
  return {
    opensIn,
    closesIn,
    full: (a / shared) * b,
    opens: opensIn === 0 ? Infinity : b / shared,
    closes: closesIn === 0 ? Infinity : a / shared,
    rest: door.rest === 'open' ? 1 : 0,
    drives,
  };
}

function part(rig: Rig, owner: Int32Array): Part {
  const { nets, elements } = rig.network;
  const indices = (length: number, netOf: (i: number) => number) =>
    Int32Array.from(Array.from({ length }, (_, i) => i).filter((i) => owner[netOf(i)] === 1));
  return {
    nets: indices(nets.length, (net) => net),
    elements: indices(elements.length, (e) => elements[e]!.net),
    owner,
    number: 1,
  };
}

function marked(rig: Rig, nets: ReadonlySet<number>): Int32Array {
  return Int32Array.from(rig.network.nets, (_, net) => (nets.has(net) ? 1 : 0));
}

function parts(rig: Rig, followed: readonly number[]): { driving: Part; whole: Part; grouping: Grouping } {
  const whole = part(rig, new Int32Array(rig.network.nets.length).fill(1));
  // `driving` decides what has to repeat for a rig to repeat; a rig that drives nothing is compared as a whole.
  const from = rig.drives.map((d) => d.net).filter((net) => net >= 0);
  const driving = from.length > 0 ? part(rig, marked(rig, sourcesOf(rig, [...from, ...followed]))) : whole;
  return { driving, whole, grouping: groupsOf(rig, driving) };
}

/** Groups pairs (key, item) by key: starts (length `keys + 1`) and the order of items. */
function grouped(keys: number, keyOf: readonly number[]): { start: Int32Array; order: Int32Array } {
  const start = new Int32Array(keys + 1);
  // A counting sort: counts, their running sums as starts, then each item to the next free place of its key. Stable.
  for (const key of keyOf) start[key + 1]!++;
  for (let k = 0; k < keys; k++) start[k + 1]! += start[k]!;
  const fill = start.slice();
  const order = new Int32Array(keyOf.length);
  keyOf.forEach((key, item) => (order[fill[key]!++] = item));
  return { start, order };
}

function concat(tables: readonly Uint8Array[], size: number): Uint8Array {
  const all = new Uint8Array(Math.max(1, size));
  let at = 0;
  for (const table of tables) {
    all.set(table, at);
    at += table.length;
  }
  return all;
}

type Orders = Pick<Program, 'join' | 'joinOrder' | 'dueRank'>;

/** Orders depend only on which elements answer at once: many choices of times share them. One entry a network, for the last such set. */
const ORDERS = new WeakMap<Rig['network'], { readonly atOnce: string; readonly orders: Orders }>();

function ordersOf(rig: Rig, style: Program['style'], response: Float64Array): Orders {
  const atOnce = style + response.map((time) => (time === 0 ? 1 : 0)).join('');
  const known = ORDERS.get(rig.network);
  if (known?.atOnce === atOnce) return known.orders;
  const orders = newOrders(rig, style, response);
  ORDERS.set(rig.network, { atOnce, orders });
  return orders;
}

/** Orders of feeding at one moment, over elements that answer without a response; in scan style the written order is all. */
function newOrders(rig: Rig, style: Program['style'], response: Float64Array): Orders {
  const { nets, elements } = rig.network;
  const readers = style === 'scan' ? [] : readersOf(nets.length, elements);
  // In scan style everything answers within the scan, in written order; there are no rounds and so no joins.
  const join = Uint8Array.from(elements, (e, i) =>
    style !== 'scan' && e.kind === 'LOGIC' && response[i] === 0 ? 1 : 0,
  );
  const joined = elements.map((e, i) => (join[i] === 1 ? readers[e.net]!.filter((r) => join[r] === 1) : NONE));
  const fed = elements.map((e, i) => (style !== 'scan' && response[i] === 0 ? readers[e.net]! : NONE));
  return {
    join,
    joinOrder: feedingOrder(elements.length, (e) => joined[e]!),
    dueRank: dueRankOf(rig, response, fed),
  };
}

/** What can be due, in the order in which it feeds other such blocks; what lies between them only passes on. */
function dueRankOf(rig: Rig, response: Float64Array, fed: readonly (readonly number[])[]): Int32Array {
  const isDue = (kind: BlockKind, i: number) =>
    kind === 'TON' || kind === 'TOF' || kind === 'TP' || (/_TRIG$/.test(kind) && response[i]! > 0);
  const due = rig.network.elements.flatMap((e, i) => (isDue(e.kind, i) ? [i] : []));
  const number = new Map(due.map((e, i) => [e, i]));
  const next = due.map((e) => {
    const found = new Set<number>();
    const passed = new Set<number>();
    // From e through everything that answers within the instant, up to the next blocks that can be due; those are what e feeds.
    const open = [...fed[e]!];
    for (let at = open.pop(); at !== undefined; at = open.pop()) {
      const own = number.get(at);
      if (own !== undefined) found.add(own);
      else if (!passed.has(at)) {
        passed.add(at);
        open.push(...fed[at]!);
      }
    }
    return [...found];
  });
  const { rank } = feedingOrder(due.length, (i) => next[i]!);
  const ranks = new Int32Array(rig.network.elements.length);
  due.forEach((e, i) => (ranks[e] = rank[i]!));
  return ranks;
}

const NONE: readonly number[] = [];

function lanesOf(response: Float64Array): { lane: Int32Array; lanes: number } {
  const numbers = new Map<number, number>();
  const lane = new Int32Array(response.length).fill(-1);
  response.forEach((time, element) => {
    if (time === 0) return;
    if (!numbers.has(time)) numbers.set(time, numbers.size);
    lane[element] = numbers.get(time)!;
  });
  return { lane, lanes: numbers.size };
}

/**
 * Brings a rig's network into the engine's form. Times come from `choice`, nominal by default. `followed`: nets that have to repeat for the rig
 * to repeat, though they may drive nothing.
 */
export function compileProgram(rig: Rig, choice: TimeChoice = {}, followed: readonly number[] = []): Program {
  const { nets, elements } = rig.network;
  const style = rig.controller.style;
  const fns: Functions = { base: [], tables: [], wide: [], uses: [], size: 0 };
  const scratch = new Uint8Array(nets.length);
  const input = (at: 0 | 1) =>
    Int32Array.from(elements, (e, i) => (e.inputs[at] ? addFunction(fns, e.inputs[at], i, scratch) : -1));
  const input0 = input(0);
  const input1 = input(1);
  const fan = grouped(
    nets.length,
    fns.uses.map((u) => u.net),
  );
  const drives = doorDrives(rig);
  const drivesOf = new Int32Array(rig.doors.length);
  for (const { target } of drives) drivesOf[target]!++;
  const driven = grouped(
    nets.length,
    drives.map((d) => d.net),
  );
  const response = Float64Array.from(elements, (e, i) =>
    style === 'scan' ? 0 : (choice.response?.(i) ?? e.response.nominal),
  );
  return {
    style,
    scan: Math.max(1, choice.scan?.() ?? rig.controller.time.nominal),
    nets: nets.length,
    elements: elements.length,
    kind: Uint8Array.from(elements, (e) => KIND[e.kind]),
    outputNet: Int32Array.from(elements, (e) => e.net),
    preset: Float64Array.from(elements, (e, i) => (e.preset ? (choice.preset?.(i) ?? e.preset.nominal) : 0)),
    response,
    ...ordersOf(rig, style, response),
    count: Int32Array.from(elements, (e) => e.count ?? 0),
    ...lanesOf(response),
    input0,
    input1,
    functions: fns.base.length,
    base: Int32Array.from(fns.base),
    table: concat(fns.tables, fns.size),
    wide: fns.wide,
    fanStart: fan.start,
    fanFunction: fan.order.map((use) => fns.uses[use]!.fn),
    fanBit: fan.order.map((use) => fns.uses[use]!.bit),
    fanElement: fan.order.map((use) => fns.uses[use]!.element),
    driveStart: driven.start,
    driveDoor: driven.order.map((d) => drives[d]!.target),
    doors: rig.doors.map((_, index) => doorProgram(rig, index, drivesOf[index]!, choice)),
    ...parts(rig, followed),
  };
}
