/**
 * Inputs moved behind the response of the formula that reads them. A sensor that may turn at any moment, read through a response of 10 ms, could have any
 * number of changes in flight, each with a clock. A free signal delayed is again a free signal, so the element may as well answer at once, to an input
 * whose turns are shown one response later: no clock, no queue. Its other inputs must then be delayed by copies (`delayOthers`), so that all of them meet
 * the element as late as before.
 *
 * What is lost by it is in which round of its instant the element answered: after the response all that it read comes in the first. So nothing is moved where
 * that may matter (`tellsRounds`). Moved turns of one input are at least a microsecond apart; a response that varies can bring two changes to one moment, a pulse
 * that lasts no time. Two turns with no time between come to the same, save for a block that answers within that instant, and for a door whose
 * movements are counted: it leaves its seat at the first of them (`tellsPulses`).
 */
import { inputsOf, readersOf, replaceNets } from '../model/logic';
import type { Logic } from '../model/rig';
import type { ProofElement, ProofInput, Range } from './network';

/** The nets and elements of a network being made. */
export interface Builder {
  nets: number;
  elements: ProofElement[];
}

/** Nets that keep an input from being moved. */
export interface Unmoved {
  /** Seen by a property or a door at the moment at which they change. */
  readonly kept: ReadonlySet<number>;
  /** Drives of doors of which it is asked in which order they move. */
  readonly ordered: ReadonlySet<number>;
}

/** A block that answers without a response answers in the round after; a formula does so in the same one. */
const answersLater = ({ kind, response, cut }: ProofElement): boolean => !cut && kind !== 'LOGIC' && response.lo === 0;

/**
 * Moves inputs, and nets that are cut, behind the response of their only reader, which must be a logic element, or a latch that reads nothing else; changes the
 * builder's elements.
 */
export function moveInputs(builder: Builder, inputs: readonly ProofInput[], unmoved: Unmoved): ProofInput[] {
  const movable = movableIn(builder, inputs, unmoved);
  const shifts = new Map<number, { readonly shift: Range; readonly shownFrom: number }>();
  for (const reader of new Set(movable.values())) {
    const element = builder.elements[reader]!;
    // Constant true, delayed: on from the moment at which the first answer after power-on would come. Before it the element gives off.
    const shownFrom = delayed(builder, element, { op: 'const', value: true });
    shifts.set(reader, { shift: element.response, shownFrom });
    const given = asFormula(
      element,
      element.inputs.map((input) => delayOthers(builder, input, element, movable)),
    );
    builder.elements[reader] = {
      ...element,
      kind: 'LOGIC',
      inputs: [{ op: 'and', a: { op: 'net', net: shownFrom }, b: given }],
      response: { lo: 0, hi: 0 },
    };
  }
  return inputs.map((input) => {
    const reader = movable.get(input.net);
    if (reader === undefined) return input;
    const { shift, shownFrom } = shifts.get(reader)!;
    // A pulse comes out of a response that varies shorter or longer by as much.
    const less = (least: number): number => Math.max(0, least - (shift.hi - shift.lo));
    const movedBehind = builder.elements[reader]!.origin;
    return { ...input, movedBehind, shift, shownFrom, minOn: less(input.minOn), minOff: less(input.minOff) };
  });
}

/** Each net that can be moved, with the element that reads it. */
function movableIn(builder: Builder, inputs: readonly ProofInput[], { kept, ordered }: Unmoved): Map<number, number> {
  const { elements } = builder;
  const readers = readersOf(builder.nets, elements);
  const movable = new Map<number, number>();
  const free = [...inputs.filter(({ frozen }) => !frozen), ...elements.filter(({ cut }) => cut)];
  for (const { net } of free) {
    const [reader, second] = readers[net]!;
    // With two readers the two delays could differ within tolerance, and one moved input could not show at both moments.
    if (reader !== undefined && second === undefined && !kept.has(net)) movable.set(net, reader);
  }
  for (const reader of new Set(movable.values())) {
    const element = elements[reader]!;
    const { kind, response } = element;
    // A latch answers an order of changes: what it reads must come to it as it likes, or nothing of it.
    const mayAnswerAtOnce =
      kind === 'LOGIC' || (isLatch(kind) && inputsOf(element).every((net) => movable.get(net) === reader));
    const stays =
      response.hi === 0 ||
      !mayAnswerAtOnce ||
      tellsRounds(builder, reader) ||
      tellsPulses(builder, readers, reader, ordered);
    if (stays) for (const net of inputsOf(element)) if (movable.get(net) === reader) movable.delete(net);
  }
  return movable;
}

const isLatch = (kind: ProofElement['kind']): boolean => kind === 'SR' || kind === 'RS';

/** What an element gives for its inputs: a latch is a formula of its own net, which settles at once and in one round, as every formula without a response. */
function asFormula({ kind, net }: ProofElement, [first, reset]: readonly Logic[]): Logic {
  if (!isLatch(kind)) return first!;
  const own: Logic = { op: 'net', net };
  const isNotReset: Logic = { op: 'not', a: reset! };
  // IEC 61131-3, Table 43: of SR the set input is dominant, of RS the reset input.
  return kind === 'SR'
    ? { op: 'or', a: first!, b: { op: 'and', a: isNotReset, b: own } }
    : { op: 'and', a: isNotReset, b: { op: 'or', a: first!, b: own } };
}

/** Whether anything that decides what an element reads may change in another round than the first of an instant: behind a block that answers within it. */
function tellsRounds({ elements }: Builder, of: number): boolean {
  const feeding = new Map(elements.map((element) => [element.net, element]));
  const met = new Set([elements[of]!]);
  // A set is gone through to its end, whatever is put in meanwhile.
  for (const element of met) {
    if (answersLater(element)) return true;
    for (const net of inputsOf(element)) {
      const source = feeding.get(net);
      if (source) met.add(source);
    }
  }
  return false;
}

/** Whether a pulse that lasts no time, given by an element, differs from two turns with no time between. */
function tellsPulses(
  { elements }: Builder,
  readers: readonly (readonly number[])[],
  of: number,
  ordered: ReadonlySet<number>,
): boolean {
  const { response, net } = elements[of]!;
  if (response.lo === response.hi) return false;
  const met = new Set([net]);
  for (const at of met) {
    if (ordered.has(at)) return true;
    for (const reader of readers[at]!.map((e) => elements[e]!)) {
      if (answersLater(reader)) return true;
      if (reader.response.lo === 0) met.add(reader.net);
    }
  }
  return false;
}

/** A new element that gives `logic` after the response of `reader`; its net. */
function delayed(builder: Builder, reader: ProofElement, logic: Logic): number {
  const net = builder.nets++;
  builder.elements.push({ ...reader, kind: 'LOGIC', inputs: [logic], net });
  return net;
}

/** The expression with every net that is not moved replaced by a delayed copy of it, which of one that is cut is another that is cut. */
function delayOthers(
  builder: Builder,
  logic: Logic,
  reader: ProofElement,
  movable: ReadonlyMap<number, number>,
): Logic {
  const copies = new Map<number, number>();
  return replaceNets(logic, (net) => {
    if (movable.has(net)) return { op: 'net', net };
    let copy = copies.get(net);
    if (copy === undefined) {
      const cut = builder.elements.find((element) => element.cut && element.net === net);
      // A cut net does anything at any moment, and so does its delayed copy: another cut net, which needs no delay.
      if (cut) builder.elements.push({ ...cut, net: (copy = builder.nets++) });
      else copy = delayed(builder, reader, { op: 'net', net });
      copies.set(net, copy);
    }
    return { op: 'net', net: copy };
  });
}
