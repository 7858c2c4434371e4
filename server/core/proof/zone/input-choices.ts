/**
 * Ways in which inputs turn that come to the same. How hidden inputs (see hidden.ts) stand is seen by nothing but the formulas that read them, so of all sets of them
 * that may turn at an instant only one is needed for each outcome of these formulas, and none where no formula gives anything else than it does: of three inputs in
 * `run and ripe and not full and not hold` there are seven sets, of which one is needed while the hold is off and none while it is on.
 *
 * Exact: two settings of inputs count as one only where every formula that reads any of them gives the same for both whatever its other nets are, so that they never differ
 * in anything else, also where other things happen at that instant. That a formula gives what it gave with its other nets as they stand is asked only where
 * nothing else can happen to it at that instant. The states that are then passed over differ from others in hidden nets alone, and stand for them.
 */
import { netsOf } from '../../model/logic';
import type { ProofNetwork } from '../network';
import { isSettled } from './blocks';
import type { Discrete } from './discrete';
import type { Hidden } from './hidden';
import type { Candidate, Way } from './moves';

/** The candidates of a group with inputs that come to the same as one; none where nothing that they do would be seen. */
export type InputChoices = (group: readonly Candidate[], state: Discrete) => readonly Candidate[];

/** Inputs taken together: their settings are tried one by one. */
const MOST_INPUTS = 6;
/** Formulas, and other nets in each, that are compared for all their values. */
const MOST_READERS = 6;
const MOST_OTHERS = 6;

/** Made once a network. */
export function inputChoices(network: ProofNetwork, hidden: Hidden): InputChoices {
  const known = new Map<string, Reading | null>();
  const readingOf = (inputs: readonly number[]): Reading | null => {
    const key = inputs.join();
    let reading = known.get(key);
    if (reading === undefined) known.set(key, (reading = readingBy(network, inputs)));
    return reading;
  };
  return (group, state) => {
    const joined = group.filter((candidate) => isPlain(network, hidden, candidate));
    if (joined.length === 0 || joined.length > MOST_INPUTS) return group;
    const reading = readingOf(joined.map(({ id }) => id));
    if (reading === null || !reading.readers.every((e) => isSettled({ network, state }, e))) return group;
    const others = group.filter((candidate) => !joined.includes(candidate));
    const ways = neededWays(network, joined, reading, state, others.length === 0);
    if (ways.length === 0) return others;
    const [first, ...rest] = joined;
    return [...others, { id: first!.id, standsFor: rest.map(({ id }) => id), not: [], ways }];
  };
}

/** An input that turns by itself, whenever it likes, in one way, hidden and read by formulas alone. */
function isPlain(network: ProofNetwork, hidden: Hidden, { id, after, not, ways: [way, second] }: Candidate): boolean {
  const input = network.inputs[id];
  if (!input || after !== undefined || not.length > 0 || !way || second) return false;
  if (hidden.nets[input.net] === 0 || input.together.length !== 1 || input.together[0] !== id) return false;
  if (way.fired.length > 0 || way.below.length > 0 || way.free) return false;
  return network.readers[input.net]!.every((e) => network.elements[e]!.kind === 'LOGIC');
}

/** What reads some inputs, and for each setting of them (bit k: the k-th is on) the class of those that come to the same. */
interface Reading {
  readonly readers: readonly number[];
  readonly classes: readonly number[];
}

/** Null where there is too much to be compared. */
function readingBy(network: ProofNetwork, inputs: readonly number[]): Reading | null {
  const nets = inputs.map((index) => network.inputs[index]!.net);
  const readers = [...new Set(nets.flatMap((net) => network.readers[net]!))];
  const others = readers.map((e) => netsOf(network.elements[e]!.inputs[0]!).filter((net) => !nets.includes(net)));
  if (readers.length > MOST_READERS || others.some(({ length }) => length > MOST_OTHERS)) return null;
  const values = new Uint8Array(network.nets);
  const set = (chosen: readonly number[], bits: number): void =>
    chosen.forEach((net, k) => (values[net] = (bits >> k) & 1));
  const numbers = new Map<string, number>();
  const classes = Array.from({ length: 2 ** inputs.length }, (_, setting) => {
    set(nets, setting);
    const given = readers.map((e, r) =>
      Array.from({ length: 2 ** others[r]!.length }, (_, bits) => {
        set(others[r]!, bits);
        return network.elements[e]!.reads[0]!(values) ? '1' : '0';
      }).join(''),
    );
    const name = given.join();
    if (!numbers.has(name)) numbers.set(name, numbers.size);
    return numbers.get(name)!;
  });
  return { readers, classes };
}

/** Sets of inputs that turn: one for each other class: the smallest, and of these the one that need not wait. */
function neededWays(
  network: ProofNetwork,
  joined: readonly Candidate[],
  { readers, classes }: Reading,
  state: Discrete,
  isAlone: boolean,
): Way[] {
  const count = joined.length;
  const nets = joined.map(({ id }) => network.inputs[id]!.net);
  const now = nets.reduce((bits, net, k) => bits | (state.nets[net]! << k), 0);
  const best = new Map<number, { readonly turned: number; readonly cost: number }>();
  for (let turned = 1; turned < 2 ** count; turned++) {
    const of = classes[now ^ turned]!;
    if (of === classes[now]) continue;
    const cost = joined.reduce(
      (sum, { id }, k) => sum + (((turned >> k) & 1) === 0 ? 0 : 1 + (network.inputs[id]!.waits ? 1 / 16 : 0)),
      0,
    );
    const known = best.get(of);
    // Of equals the later one, as where choices are made one by one: what is written last turns first.
    if (known === undefined || cost <= known.cost) best.set(of, { turned, cost });
  }
  const sets = [...best.values()].sort((a, b) => a.cost - b.cost || b.turned - a.turned);
  const isSeen = (turned: number): boolean => {
    const after = state.nets.slice();
    nets.forEach((net, k) => (after[net]! ^= (turned >> k) & 1));
    return readers.some((e) => network.elements[e]!.reads[0]!(after) !== (state.outputs[e] === 1));
  };
  return sets
    .filter(({ turned }) => !isAlone || isSeen(turned))
    .map(({ turned }) => together(joined.flatMap(({ ways }, k) => (((turned >> k) & 1) === 0 ? [] : [ways[0]!]))));
}

/** All of them at one instant. */
function together(ways: readonly Way[]): Way {
  if (ways.length === 1) return ways[0]!;
  return {
    fired: [],
    below: [],
    inputs: ways.flatMap((way) => way.inputs ?? []),
    changes: (at) => ways.flatMap((way) => way.changes?.(at) ?? []),
  };
}
