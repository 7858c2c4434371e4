/**
 * What the control network comes to once its inputs have stood long enough. A block whose inputs stand still gives, after a bounded time, a
 * value that depends on nothing but them, as long as it keeps no past: a TON and a TOF give their input, a TP and the edges give off. Latches,
 * counters and loops keep a past, so that no value is known; a join may be known all the same, by the inputs that decide it.
 */
import { decidingNets, driveOf, drivesOf, fold, inputsOfRig, isSequenced } from './logic';
import type { Element, Logic, Rig } from './rig';

/** Null: not known, or not one value. */
export type Known = boolean | null;

/** Values of inputs that stand still; null of one that may change for ever. */
export type Inputs = (net: number) => Known;

/** Three-valued logic (Kleene): what holds whatever the unknown values are. A domain for `fold`, but for its nets and doors. */
export const knownLogic = {
  const: (value: boolean): Known => value,
  not: (x: Known): Known => (x === null ? null : !x),
  and: (x: Known, y: Known): Known => (x === false || y === false ? false : x === null || y === null ? null : true),
  or: (x: Known, y: Known): Known => (x === true || y === true ? true : x === null || y === null ? null : false),
  xor: (x: Known, y: Known): Known => (x === null || y === null ? null : x !== y),
};

/** The value that a net comes to. */
export function steadyValue(rig: Rig, net: number, inputs: Inputs): Known {
  const found = new Map<number, Known>();
  const of = (at: number): Known => {
    if (at < 0) return null;
    const known = found.get(at);
    if (known !== undefined) return known;
    const { kind, index } = rig.network.nets[at]!;
    if (kind !== 'element') return inputs(at);
    // Seen again while it is being computed, it is part of a loop.
    found.set(at, null);
    const value = steadyElement(rig.network.elements[index]!, (logic) =>
      fold<Known>(logic, { ...knownLogic, net: of }),
    );
    found.set(at, value);
    return value;
  };
  return of(net);
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

/** Whether the door's one drive comes to off with such inputs, whatever was before: then the door is shut in the end. */
export function settlesShut(rig: Rig, door: number, inputs: Inputs): boolean {
  const [drive, ...others] = drivesOf(rig, door);
  if (!drive || drive.net < 0 || others.length > 0 || isSequenced(rig, door)) return false;
  return steadyValue(rig, drive.net, inputs) === false;
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
