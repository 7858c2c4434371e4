/**
 * What the control network settles at once its inputs have been steady long enough. A block whose inputs stand still gives, after a bounded time, a
 * value that depends on nothing but them, as long as it keeps no past: a TON and a TOF give their input, a TP and the edges give off. Latches,
 * counters and loops keep a past, so that no value is known; a join may be known all the same, by the inputs that decide it.
 */
import { decidingNets, driveOf, drivesOf, elementOf, fold, inputsOfRig, isSequenced, netsOf } from './logic';
import type { Element, Logic, Rig } from './rig';

/** Null: not known, or not one value. */
export type Known = boolean | null;

/** Values of inputs that stand still; null for one that may go on changing. */
export type Inputs = (net: number) => Known;

/** Three-valued logic (Kleene): what holds whatever the unknown values are. A domain for `fold`, but for its nets and doors. */
export const knownLogic = {
  const: (value: boolean): Known => value,
  not: (x: Known): Known => (x === null ? null : !x),
  and: (x: Known, y: Known): Known => (x === false || y === false ? false : x === null || y === null ? null : true),
  or: (x: Known, y: Known): Known => (x === true || y === true ? true : x === null || y === null ? null : false),
  xor: (x: Known, y: Known): Known => (x === null || y === null ? null : x !== y),
};

/** Elements behind a net, each after those that it reads; `closing`: nets that are read by what they follow from, one of each loop. */
interface Behind {
  readonly order: readonly number[];
  readonly closing: ReadonlySet<number>;
}

/** Walks with a stack of its own: a chain may be as long as a rig. `reads`: whether what an element reads counts. */
function behind(rig: Rig, start: number, reads: (element: Element) => boolean): Behind {
  const order: number[] = [];
  const closing = new Set<number>();
  const done = new Map<number, boolean>();
  const path: { readonly net: number; readonly inputs: Iterator<number> }[] = [];
  const enter = (net: number): void => {
    const element = elementOf(rig, net);
    if (!element) return;
    const state = done.get(net);
    if (state === false) closing.add(net);
    if (state !== undefined) return;
    done.set(net, false);
    path.push({ net, inputs: (reads(element) ? element.inputs.flatMap((logic) => netsOf(logic)) : []).values() });
  };
  enter(start);
  for (let here = path.at(-1); here; here = path.at(-1)) {
    const next = here.inputs.next();
    if (!next.done) {
      enter(next.value);
      continue;
    }
    path.pop();
    done.set(here.net, true);
    order.push(here.net);
  }
  return { order, closing };
}

/** Values of elements in their order; one that is read before it has a value (part of a loop) is not known there. */
function valuesOf(
  rig: Rig,
  order: readonly number[],
  inputs: Inputs,
  give: (element: Element, of: (net: number) => Known) => Known,
  assigned: ReadonlyMap<number, boolean> = new Map(),
): (net: number) => Known {
  const found = new Map<number, Known>(assigned);
  const of = (net: number): Known =>
    found.get(net) ?? (rig.network.nets[net] && !elementOf(rig, net) ? inputs(net) : null);
  for (const net of order) if (!assigned.has(net)) found.set(net, give(elementOf(rig, net)!, of));
  return of;
}

/** The value that a net settles at. */
export function steadyValue(rig: Rig, net: number, inputs: Inputs): Known {
  const { order } = behind(rig, net, () => true);
  return valuesOf(rig, order, inputs, (element, of) =>
    steadyElement(element, (logic) => fold<Known>(logic, { ...knownLogic, net: of })),
  )(net);
}

function steadyElement({ kind, inputs }: Element, of: (logic: Logic) => Known): Known {
  const first = inputs[0] ? of(inputs[0]) : null;
  switch (kind) {
    case 'LOGIC':
    case 'TON':
    case 'TOF':
      return first;
    case 'TP':
    case 'R_TRIG':
    case 'F_TRIG':
      // An input that goes on changing starts it again and again.
      return first === null ? null : false;
    default:
      return null;
  }
}

/** Whether the door's one drive settles at off with such inputs, whatever was before: then the door is shut in the end. */
export function settlesShut(rig: Rig, door: number, inputs: Inputs): boolean {
  const [drive, ...others] = drivesOf(rig, door);
  if (!drive || drive.net < 0 || others.length > 0 || isSequenced(rig, door)) return false;
  return steadyValue(rig, drive.net, inputs) === false;
}

/** Nets that keep a past, or break a loop, beyond which their values are not tried one by one. */
const MOST_UNKNOWN = 10;

/**
 * Whether the door's one drive is off whenever the network stands still with such inputs, whatever its latches, counters and loops hold. A
 * network that stands still satisfies its own equations: a join gives its formula, a TON and a TOF their input, a TP and the edges are off, a
 * latch is what its inputs make it or, with both off, anything. So every assignment of the nets that keep a past is tried; those that
 * contradict an equation are not states of rest (that of a beat, `b = run and not TON(b, …)`, while it runs). Says nothing about whether a rest is reached.
 */
export function restsShut(rig: Rig, door: number, inputs: Inputs): boolean {
  if (settlesShut(rig, door, inputs)) return true;
  const [drive, ...others] = drivesOf(rig, door);
  if (!drive || drive.net < 0 || others.length > 0 || isSequenced(rig, door)) return false;
  const { order, closing } = behind(rig, drive.net, ({ kind }) => !IS_OFF_AT_REST.has(kind));
  // Their value does not follow from others: of latches and counters, and of one net of each loop.
  const unknown = order.filter((net) => closing.has(net) || KEEPS_A_PAST.has(elementOf(rig, net)!.kind));
  if (unknown.length > MOST_UNKNOWN) return false;
  for (let choice = 0; choice < 1 << unknown.length; choice++) {
    const assigned = new Map(unknown.map((net, bit) => [net, ((choice >> bit) & 1) === 1]));
    const valueOf = valuesOf(rig, order, inputs, equationOf, assigned);
    const agrees = unknown.every((net) => {
      const value = equationOf(elementOf(rig, net)!, valueOf);
      return value === null || value === assigned.get(net);
    });
    if (agrees && valueOf(drive.net) !== false) return false;
  }
  return true;
}

const KEEPS_A_PAST: ReadonlySet<Element['kind']> = new Set(['SR', 'RS', 'CTU']);
const IS_OFF_AT_REST: ReadonlySet<Element['kind']> = new Set(['TP', 'R_TRIG', 'F_TRIG']);

/** What an element gives while nothing changes, by its inputs; null where they leave it open. */
function equationOf({ kind, inputs }: Element, net: (net: number) => Known): Known {
  if (IS_OFF_AT_REST.has(kind)) return false;
  const value = (k: number): Known => (inputs[k] ? fold<Known>(inputs[k], { ...knownLogic, net }) : null);
  switch (kind) {
    case 'LOGIC':
    case 'TON':
    case 'TOF':
      return value(0);
    case 'SR':
      return value(0) === true ? true : value(0) === false && value(1) === true ? false : null;
    case 'RS':
      return value(1) === true ? false : value(1) === false && value(0) === true ? true : null;
    default:
      return null;
  }
}

/**
 * Whether the inputs, as they stand at the start, hold the door open: one sensor that decides about it, the other way round, shuts it; or only
 * switches decide about it, and with all of them off it is shut. Then the text says where the door stands, and it is not left open.
 */
export function isHeldOpen(rig: Rig, door: number, start: (net: number) => boolean): boolean {
  const net = driveOf(rig, door)?.net ?? -1;
  if (net < 0 || steadyValue(rig, net, start) !== true) return false;
  const deciding = decidingNets(rig, door);
  const inputs = inputsOfRig(rig).filter((input) => deciding.has(input.net));
  const sensors = inputs.filter(({ kind }) => kind === 'sensor');
  if (inputs.length > 0 && sensors.length === 0) return steadyValue(rig, net, () => false) === false;
  return sensors.some((sensor) => settlesShut(rig, door, (n) => start(n) !== (n === sensor.net)));
}
