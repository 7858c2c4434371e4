/**
 * Sensors that nothing can tell apart. Of sensors that turn freely and are read in one place alone, together (`q1 and q2 and not q3`), the rig sees
 * only what that part of the formula gives. Some of them turning together turn it, whatever the others do, and turned back they turn it back: so a proof
 * follows these few as one input that turns freely, and the others never turn. Of n sensors there would be 2ⁿ choices at every instant.
 *
 * Exact: the formula takes the same sequences of values at the same moments as with all of them turning, and how they stand is seen by nothing else.
 * A property that compares inputs with the start sees these at the start whenever the formula gives what it gave then, which they could be; and what
 * is found is a run of the rig.
 */
import { fold } from '../model/logic';
import type { ProofInput, ProofNetwork } from './network';

/** A part of a formula that only such sensors make up, each of them read once. */
interface Term {
  readonly inputs: readonly number[];
  /** What it gives at the start. */
  readonly initial: boolean;
  /** The fewest inputs that turn it when they turn together at the start. */
  readonly turnedBy: readonly number[];
  /** Values that it can take in two rounds of one instant, each input turning in one of them at most: bit 2·first + second. */
  readonly courses: number;
}

/** What is known of a formula read so far: the sensors in it that are joined by its last operator, and whether there is nothing else in it. */
interface Read {
  readonly op: 'and' | 'or' | 'xor' | null;
  readonly term: Term | null;
  readonly whole: boolean;
}

const OPAQUE: Read = { op: null, term: null, whole: false };

/**
 * Sensors with least times, and those that could show and be gone again at the first moment at which they show (which of them, is not followed), are
 * taken for one only where there are this many of them: a search of each would not end.
 */
const MANY = 5;

/**
 * The network with sensors that nothing can tell apart as one. `network`: as it is or loosened; `strict`: as it is, whose least times say what an input
 * really may do; `watched`: nets that properties look at.
 */
export function pooled(network: ProofNetwork, strict: ProofNetwork, watched: ReadonlySet<number>): ProofNetwork {
  const isFree = ({ minOn, minOff }: ProofInput): boolean => minOn === 0 && minOff === 0;
  const read = timesRead(network);
  const byNet = new Map<number, number>();
  network.inputs.forEach((input, index) => {
    const { net, kind, frozen } = input;
    const isSeen = watched.has(net) || network.driven[net]!.length > 0;
    if (kind === 'sensor' && !frozen && isFree(input) && !isSeen && read[net] === 1) byNet.set(net, index);
  });
  const inputs = [...network.inputs];
  for (const term of termsOf(network, byNet)) {
    const flickers = (term.courses & bitOf(!term.initial, term.initial)) !== 0;
    const isExact = !flickers && term.inputs.every((index) => isFree(strict.inputs[index]!));
    if (term.inputs.length < (isExact ? 2 : MANY)) continue;
    for (const index of term.inputs) inputs[index] = { ...inputs[index]!, frozen: true };
    const first = term.turnedBy[0]!;
    inputs[first] = { ...inputs[first]!, frozen: false, together: term.turnedBy, flickers };
  }
  return { ...network, inputs };
}

/** Net → places in which elements read it. */
function timesRead({ nets, elements }: ProofNetwork): Uint32Array {
  const times = new Uint32Array(nets);
  const nothing = (): void => undefined;
  const count = {
    net: (net: number) => void (times[net] = times[net]! + 1),
    const: nothing,
    not: nothing,
    and: nothing,
    or: nothing,
  };
  for (const logic of elements.flatMap((e) => e.inputs)) fold<void>(logic, { ...count, xor: nothing });
  return times;
}

/** The largest parts of formulas that read nothing but these inputs; operands of one operator count as a part, however they are bracketed. */
function termsOf({ elements, inputs }: ProofNetwork, byNet: ReadonlyMap<number, number>): Term[] {
  const found: Term[] = [];
  const end = ({ term }: Read): void => void (term && found.push(term));
  const joined =
    (op: 'and' | 'or' | 'xor') =>
    (a: Read, b: Read): Read => {
      const terms = [a, b].flatMap((side) => {
        if (side.whole || side.op === op) return side.term ?? [];
        end(side);
        return [];
      });
      const term = terms.length === 2 ? combined(op, terms[0]!, terms[1]!) : (terms[0] ?? null);
      return { op, term, whole: a.whole && b.whole };
    };
  const not = (a: Read): Read => {
    if (a.whole) return { ...a, op: null, term: negated(a.term!) };
    end(a);
    return OPAQUE;
  };
  const net = (at: number): Read => {
    const index = byNet.get(at);
    return index === undefined ? OPAQUE : { op: null, term: leafOf(index, inputs[index]!.initial), whole: true };
  };
  const domain = { net, const: () => OPAQUE, not, and: joined('and'), or: joined('or'), xor: joined('xor') };
  for (const logic of elements.flatMap((e) => e.inputs)) end(fold<Read>(logic, domain));
  return found;
}

const bitOf = (first: boolean, second: boolean): number => 1 << (2 * Number(first) + Number(second));
const COURSES = [false, true].flatMap((first) => [false, true].map((second) => ({ first, second })));

/** An input stays, turns in the first round, or turns in the second. */
function leafOf(index: number, initial: boolean): Term {
  const courses = bitOf(initial, initial) | bitOf(!initial, !initial) | bitOf(initial, !initial);
  return { inputs: [index], initial, turnedBy: [index], courses };
}

function negated({ courses, ...term }: Term): Term {
  const all = COURSES.filter(({ first, second }) => (courses & bitOf(first, second)) !== 0);
  const turned = all.reduce((bits, { first, second }) => bits | bitOf(!first, !second), 0);
  return { ...term, initial: !term.initial, courses: turned };
}

const OPERATORS = {
  and: (a: boolean, b: boolean): boolean => a && b,
  or: (a: boolean, b: boolean): boolean => a || b,
  xor: (a: boolean, b: boolean): boolean => a !== b,
};

/** Both read no input in common, so that what one does says nothing about the other. */
function combined(op: 'and' | 'or' | 'xor', a: Term, b: Term): Term {
  const gives = OPERATORS[op];
  const initial = gives(a.initial, b.initial);
  const ways = [
    { by: a.turnedBy, gives: gives(!a.initial, b.initial) },
    { by: b.turnedBy, gives: gives(a.initial, !b.initial) },
    { by: [...a.turnedBy, ...b.turnedBy], gives: gives(!a.initial, !b.initial) },
  ].filter((way) => way.gives !== initial);
  const fewest = Math.min(...ways.map(({ by }) => by.length));
  let courses = 0;
  for (const x of COURSES.filter(({ first, second }) => (a.courses & bitOf(first, second)) !== 0)) {
    for (const y of COURSES.filter(({ first, second }) => (b.courses & bitOf(first, second)) !== 0))
      courses |= bitOf(gives(x.first, y.first), gives(x.second, y.second));
  }
  return {
    inputs: [...a.inputs, ...b.inputs],
    initial,
    turnedBy: ways.find(({ by }) => by.length === fewest)!.by,
    courses,
  };
}
