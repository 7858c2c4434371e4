/** Nets by which states need not differ: those of inputs that turn freely, once all that read them have settled. */
import type { Monitor } from '../monitor';
import type { ProofNetwork } from '../network';
import { isSettled } from './blocks';
import type { Instant } from './discrete';

/** The nets by which states need not differ (1), and the elements that read them. */
export interface Hidden {
  readonly nets: Uint8Array;
  readonly readers: readonly number[];
}

/**
 * Nets (1) of inputs, and of cut elements, by which states need not differ: those that turn freely (no least times). Of two states that are alike but
 * for these nets, one becomes the other, and back, by turning them all at this very instant: every reader looks and, asked for what it gives
 * already, does nothing (`isSettled`); what a block saw last is in the state, so it sees no edge either. So whatever the one may do, the other may do by turning them together
 * with it, which is one of its steps; one of the two stands for both. A state with a reader that is not settled (a loop that goes
 * round without end at one instant is cut off before that) is compared as a whole (`keyOf`). Nets that properties look at are not hidden: `seen` has the nets of
 * conditions, vents and thrown switches, and where a property compares all inputs with the start the whole state is kept (`looksAtInputs`).
 */
export function hiddenInputs(network: ProofNetwork, seen: ReadonlySet<number>): Hidden {
  const hidden = new Uint8Array(network.nets);
  const readers = new Set<number>();
  const free = network.inputs.filter(({ frozen, minOn, minOff }) => !frozen && minOn === 0 && minOff === 0);
  const turning = free.flatMap(({ together }) => together.map((index) => network.inputs[index]!));
  for (const { net } of [...turning, ...network.elements.filter(({ cut }) => cut)]) {
    if (seen.has(net) || network.driven[net]!.length > 0) continue;
    hidden[net] = 1;
    for (const e of network.readers[net]!) readers.add(e);
  }
  return { nets: hidden, readers: [...readers] };
}

/** Equal for states that stand for one another; those compared as a whole are marked, so that none of them is taken for another. */
export function keyOf(at: Instant, monitor: Monitor, { nets, readers }: Hidden): string {
  return readers.every((e) => isSettled(at, e)) && !monitor.looksAtInputs(at.state)
    ? at.state.key(nets)
    : `!${at.state.key()}`;
}
