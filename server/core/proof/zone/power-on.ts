/**
 * The instant at which power comes, of a rig in response style: the first evaluation, with every input as at the start, and what inputs
 * bring about that turn at that very instant, once it has settled.
 *
 * Everywhere else an input that turns together with something else is a move of its own (`moves.ts`). Here there is no state before, so that
 * it has to be followed here: doors see only what an instant ends with, and one that the first evaluation would send off, and the input calls
 * back, has not moved. Inputs that can call no such door back, nor meet one that can, may as well turn a moment later, with no time between.
 */
import { runRounds, settleDoors } from './blocks';
import { Discrete, type Instant, type Slots } from './discrete';
import { doorAtRest } from './door-steps';
import { inputCandidates, type RigLabel, type Way } from './moves';
import type { ProofNetwork } from '../network';
import { groups, type Reach } from './reach';

/** Something that the instant of power-on may come to; `label` null where no input turned. */
export interface PowerOn {
  readonly label: RigLabel | null;
  readonly at: Instant;
}

/** Every way in which power-on may go, the one in which no input turns first. `marks`: those of observers. */
export function* powerOn(
  network: ProofNetwork,
  slots: Slots,
  reach: Reach,
  marks: readonly number[],
): Generator<PowerOn> {
  const evaluated = firstEvaluation(network, slots, marks);
  const plain = copyOf(evaluated);
  settleDoors(plain);
  yield { label: null, at: plain };
  const sentOff = new Set(network.doors.keys());
  for (const d of sentOff) if (plain.state.doors[d] === evaluated.state.doors[d]) sentOff.delete(d);
  if (sentOff.size === 0 || evaluated.loops) return;
  const callBack = (id: number): boolean => reach.doors(id).some((d) => sentOff.has(d));
  // One that was moved behind a response shows nothing yet (`after`): turned now, it does so when that response has passed.
  const candidates = inputCandidates(network, slots, { discrete: evaluated.state, slots: [] }).filter(
    ({ after }) => after === undefined,
  );
  const turning = groups(candidates, reach, null).filter((group) => group.some(({ id }) => callBack(id)));
  for (const ways of someOf(turning.flat().flatMap((c) => c.ways))) {
    const at = copyOf(evaluated);
    runRounds(
      at,
      ways.flatMap((way) => way.changes?.(at) ?? []),
    );
    settleDoors(at);
    const inputs = ways.flatMap((way) => way.inputs ?? []);
    yield { label: { inputs, fired: [], below: [], free: false }, at };
  }
}

/** Everything off and at rest, then every element looks once, whatever changed, as when power comes in the event engine. */
function firstEvaluation(network: ProofNetwork, slots: Slots, marks: readonly number[]): Instant {
  const e = network.elements.length;
  const state = new Discrete(
    new Uint8Array(network.nets),
    new Uint8Array(e),
    // An F_TRIG whose input is off at its first evaluation gives a pulse: its memory starts FALSE (IEC 61131-3, Table 44).
    Uint8Array.from(network.elements, (element) => (element.kind === 'F_TRIG' ? 1 : 0)),
    new Int32Array(e),
    new Uint8Array(e),
    Array.from({ length: e }, () => []),
    network.doors.map((d) => doorAtRest(d.restOpen)),
    Uint8Array.from(network.elements, ({ cut }) => (cut ? 1 : 0)),
    [...marks],
  );
  const at: Instant = {
    network,
    slots,
    state,
    clocks: new Map(),
    events: [],
    driven: new Set(),
    clockRange: () => ({ lo: 0, hi: 0 }),
    loops: false,
  };
  for (const input of network.inputs) if (input.initial) state.nets[input.net] = 1;
  runRounds(at, [], [...network.elements.keys()]);
  network.doors.forEach((door, d) => {
    if (door.net >= 0) at.driven.add(d);
  });
  return at;
}

const copyOf = (at: Instant): Instant => ({
  ...at,
  state: at.state.copy(),
  clocks: new Map(at.clocks),
  events: [...at.events],
  driven: new Set(at.driven),
});

/** Every choice of one way or more, one at a time: of n ways there are 2ⁿ − 1, and whoever asks may stop. */
function* someOf(ways: readonly Way[], from = 0, chosen: readonly Way[] = []): Generator<readonly Way[]> {
  for (let k = from; k < ways.length; k++) {
    const next = [...chosen, ways[k]!];
    yield next;
    yield* someOf(ways, k + 1, next);
  }
}
