/** The order in which timers that are due at one moment run out: those that feed others first, in a loop as written. */
import type { Element, Logic, Rig } from '../../model/rig';

const isTimed = (e: Element) =>
  (e.preset !== null && e.preset.nominal > 0) ||
  ((e.kind === 'R_TRIG' || e.kind === 'F_TRIG') && e.response.nominal > 0);

function readsInto(logic: Logic, found: Set<number>): void {
  if (logic.op === 'net') found.add(logic.net);
  else if (logic.op !== 'const') {
    readsInto(logic.a, found);
    if (logic.op !== 'not') readsInto(logic.b, found);
  }
}

/** Indices of the elements with a timer. Only what arrives with no response can matter at the same moment. */
export function timersInFeedingOrder(rig: Rig): number[] {
  const { elements, nets } = rig.network;
  const feeders = elements.map((e) => {
    const read = new Set<number>();
    e.inputs.forEach((logic) => readsInto(logic, read));
    return [...read].flatMap((net) => {
      const from = nets[net]!;
      return from.kind === 'element' && elements[from.index]!.response.nominal === 0 ? [from.index] : [];
    });
  });
  const order: number[] = [];
  const state = new Uint8Array(elements.length);
  const visit = (i: number): void => {
    if (state[i] !== 0) return;
    state[i] = 1;
    for (const feeder of feeders[i]!) visit(feeder);
    order.push(i);
  };
  elements.forEach((_, i) => visit(i));
  return order.filter((i) => isTimed(elements[i]!));
}
