/**
 * The control network as the proof engine sees it: elements with their blocks and ranges of times, and inputs that change
 * freely. Inputs that only one logic element reads are moved behind that element's response: a free signal delayed is again a
 * free signal (with least on and off times shorter by what the response may vary), and nothing then has to remember changes in flight
 * of something that may change at any moment. From power-on until that response has passed, the element gives off, as it would have.
 *
 * Only what the properties depend on is in it (the cone of influence): other elements are left out, other inputs never turn, other
 * doors have no drive.
 */
import { driveOf, predicateOf, readersOf } from '../model/logic';
import type { Predicate } from '../model/logic';
import type { BlockKind, Element, Logic, Rig } from '../model/rig';
import { feedingOrder } from '../timing/feeding';
import type { FeedingOrder } from '../timing/feeding';
import { compileProgram } from '../timing/program';
import type { Cone } from './cone';
import { moveInputs, type Builder } from './moved-inputs';
import { say } from '../words/say';

/** Whole microseconds, `lo` ≤ `hi`. */
export interface Range {
  readonly lo: number;
  readonly hi: number;
}

/** A block with its ranges of times, µs. */
export interface ProofElement {
  readonly kind: BlockKind;
  readonly inputs: readonly Logic[];
  /** The inputs as functions of net values. */
  readonly reads: readonly Predicate[];
  /** How long its timer runs. R_TRIG, F_TRIG: the response, for so long lasts their pulse; a new edge starts it again. */
  readonly preset: Range;
  readonly count: number;
  readonly response: Range;
  readonly net: number;
  /** Reads nothing, and its net may change at any moment, to any value (see cuts.ts). */
  readonly cut: boolean;
  /** Index of the rig's element; a delay put in for a moved input has the element whose response it is. */
  readonly origin: number;
}

/** A switch or sensor that turns freely, within its least times, µs. */
export interface ProofInput {
  readonly net: number;
  readonly kind: 'switch' | 'sensor';
  readonly index: number;
  readonly name: string;
  readonly initial: boolean;
  readonly minOn: number;
  readonly minOff: number;
  /** The text has least times for it, whatever this network lets it do: of inputs that do the same, another is turned rather. */
  readonly waits: boolean;
  /** The element whose response it was moved behind: the engine must be notified that much earlier. -1 where it was not moved. */
  readonly movedBehind: number;
  /** Moved: the net that is on once that response has passed since power-on; before, nothing of the input can show. Else -1. */
  readonly shownFrom: number;
  readonly shift: Range;
  /** Nothing that is asked depends on it, or it turns together with another or not at all (see pools.ts): it never turns by itself. */
  readonly frozen: boolean;
  /** Indices of the inputs that turn when it does, itself included. */
  readonly together: readonly number[];
  /** Stands for several, of which some may turn and others turn it back within the instant of `shownFrom`. */
  readonly flickers: boolean;
}

/** A door with its ranges of travel, µs. */
export interface ProofDoor {
  /** Net that drives it, -1 where nothing does. */
  readonly net: number;
  readonly opens: Range;
  readonly closes: Range;
  readonly restOpen: boolean;
}

/** All that a proof in either style knows of a rig; immutable. Indices of doors and inputs are the rig's, those of elements its own (`origin`). */
export interface ProofNetwork {
  /** Logic without response: settles before anything else looks. */
  readonly isJoin: readonly boolean[];
  readonly joinOrder: FeedingOrder;
  /** Order in which timers that are due at one moment run out, as in the event engine. */
  readonly dueRank: readonly number[];
  readonly nets: number;
  readonly elements: readonly ProofElement[];
  readonly inputs: readonly ProofInput[];
  readonly doors: readonly ProofDoor[];
  /** Steps in which the positions of doors that turn round are kept. */
  readonly positions: number;
  /** Changes in flight that one element may have; with more, what it gives counts as free (see `Discrete.free`). */
  readonly inFlight: number;
  /** Net → elements that read it. */
  readonly readers: readonly (readonly number[])[];
  /** Net → doors it drives. */
  readonly driven: readonly (readonly number[])[];
}

/** How finely a network is followed; a coarser one may do more. */
export interface Grain {
  /** Time, µs, that inputs stay as they are even where the text asks for none; above zero it costs a clock for each. */
  readonly least: number;
  readonly inFlight: number;
  /** Steps in which the positions of doors that turn round on their way are kept, outward: turning again and again gives finitely many states. */
  readonly positions: number;
}

const COARSE: Grain = { least: 0, inFlight: 4, positions: 64 };
/** Times are whole microseconds: no input turns twice within one, and a door that turns round half way is not taken for one a little further. */
export const FINE: Grain = { least: 1, inFlight: 8, positions: 1_000_000 };

export interface ProofInputState {
  /** Value of each net at the start, for nets of switches and sensors. */
  initial(net: number): boolean;
}

/** What properties look at besides how doors stand. */
export interface Watched {
  /** Nets, whose inputs must not be moved. */
  readonly nets: ReadonlySet<number>;
  /** Doors of which it is asked in which order they move. */
  readonly ordered: ReadonlySet<number>;
}

/**
 * `watched`: what properties look at. `cone`: all of the rig where left out. `grain`: how finely it is followed.
 */
export function proofNetwork(
  rig: Rig,
  start: ProofInputState,
  watched: Watched,
  cone: Cone | null = null,
  grain: Grain = COARSE,
): ProofNetwork {
  const all = rig.network.elements.map((element, origin) => toElement(element, origin, cone?.cuts));
  const builder: Builder = {
    nets: rig.network.nets.length,
    elements: cone ? all.filter((e) => cone.nets.has(e.net)) : all,
  };
  const inputs = rigInputs(rig, start, grain).map((i) => (cone && !cone.nets.has(i.net) ? { ...i, frozen: true } : i));
  const doors = rigDoors(rig).map((door, d) => (cone && !cone.doors.has(d) ? { ...door, net: -1 } : door));
  // What a property or a door sees directly must show when it turns, not one response later.
  const kept = new Set([...watched.nets, ...doors.map((d) => d.net)]);
  const ordered = new Set([...watched.ordered].map((d) => doors[d]!.net));
  // A scanned input is read at scans: nothing is in flight behind it, so there is nothing to move.
  const moved = rig.controller.style === 'scan' ? inputs : moveInputs(builder, inputs, { kept, ordered });
  const { nets } = builder;
  const elements = builder.elements.map((e): ProofElement => ({ ...e, reads: e.inputs.map(predicateOf) }));
  const readers = readersOf(nets, elements);
  return {
    nets,
    elements,
    inputs: moved,
    doors,
    positions: grain.positions,
    inFlight: grain.inFlight,
    readers,
    driven: drivenBy(nets, doors),
    ...ordersOf(rig, elements, readers),
  };
}

/**
 * The network allowed more than it can do, which costs fewer states: inputs that turn at any moment, and doors that may be anywhere once they have
 * turned round on their way.
 */
export function loosened(network: ProofNetwork): ProofNetwork {
  return { ...network, positions: 1, inputs: network.inputs.map((input) => ({ ...input, minOn: 0, minOff: 0 })) };
}

function ordersOf(
  rig: Rig,
  elements: readonly ProofElement[],
  readers: readonly (readonly number[])[],
): Pick<ProofNetwork, 'isJoin' | 'joinOrder' | 'dueRank'> {
  const isJoin = elements.map(({ kind, response }) => kind === 'LOGIC' && response.hi === 0);
  const joined = elements.map(({ net }, e) => (isJoin[e] ? readers[net]!.filter((r) => isJoin[r]) : []));
  // By the rig's elements: those put in for moved inputs are plain logic and never due.
  const { dueRank } = compileProgram(rig);
  return {
    isJoin,
    joinOrder: feedingOrder(elements.length, (e) => joined[e]!),
    dueRank: elements.map(({ origin }) => dueRank[origin]!),
  };
}

/**
 * Why the proof cannot follow a network; null where it can. A time that may be zero, or more, is two different cases: with zero there
 * is no response to settle behind, or no pulse at all.
 */
export function networkTrouble(rig: Rig, network: ProofNetwork): string | null {
  const mayVanish = ({ lo, hi }: Range): boolean => lo === 0 && hi > 0;
  const found = network.elements.find((e) => mayVanish(e.response) || mayVanish(e.preset));
  if (!found || rig.controller.style === 'scan') return null;
  return say`the tolerance of ${rig.network.elements[found.origin]!.name} lets its time be zero; state one that keeps it above`;
}

/** R_TRIG and F_TRIG. */
export const isTrigger = (kind: BlockKind): boolean => kind === 'R_TRIG' || kind === 'F_TRIG';

function toElement(element: Element, origin: number, cuts?: ReadonlySet<number>): ProofElement {
  if (cuts?.has(element.net)) return cutElement(element, origin);
  const range = (t: { min: number; max: number } | null): Range => (t ? { lo: t.min, hi: t.max } : { lo: 0, hi: 0 });
  return {
    kind: element.kind,
    inputs: element.inputs,
    reads: [],
    preset: range(isTrigger(element.kind) ? element.response : element.preset),
    count: element.count ?? 0,
    response: range(element.response),
    net: element.net,
    cut: false,
    origin,
  };
}

/** Stands for an element whose net is cut: it reads nothing, and its net changes freely. */
function cutElement({ net, response }: Element, origin: number): ProofElement {
  // A constant that depends on nothing: all that may happen to its net is said by `cut` (see `freeThings`).
  const never = { lo: 0, hi: 0 };
  const inputs: readonly Logic[] = [{ op: 'const', value: false }];
  const delay = { lo: response.min, hi: response.max };
  return { kind: 'LOGIC', inputs, reads: [], preset: never, count: 0, response: delay, net, cut: true, origin };
}

function rigInputs(rig: Rig, start: ProofInputState, { least }: Grain): ProofInput[] {
  const shift = { lo: 0, hi: 0 };
  const of =
    (kind: 'switch' | 'sensor') => (item: Rig['switches'][number] | Rig['sensors'][number], index: number) => ({
      net: item.net,
      kind,
      index,
      name: item.name,
      initial: start.initial(item.net),
      minOn: Math.max(least, item.minOn?.min ?? 0),
      minOff: Math.max(least, item.minOff?.min ?? 0),
      waits: item.minOn !== null || item.minOff !== null,
      movedBehind: -1,
      shownFrom: -1,
      shift,
      frozen: false,
      flickers: false,
    });
  return [...rig.switches.map(of('switch')), ...rig.sensors.map(of('sensor'))].map((input, k) => ({
    ...input,
    together: [k],
  }));
}

function rigDoors(rig: Rig): ProofDoor[] {
  return rig.doors.map((door, index) => ({
    net: driveOf(rig, index)?.net ?? -1,
    opens: { lo: door.opensIn.min, hi: door.opensIn.max },
    closes: { lo: door.closesIn.min, hi: door.closesIn.max },
    restOpen: door.rest === 'open',
  }));
}

function drivenBy(nets: number, doors: readonly ProofDoor[]): number[][] {
  const driven: number[][] = Array.from({ length: nets }, () => []);
  doors.forEach((door, d) => {
    if (door.net >= 0) driven[door.net]!.push(d);
  });
  return driven;
}
