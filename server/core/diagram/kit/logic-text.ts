/** Logic of the network back as words, and which nets it reads in the negative. */
import { fold } from '../../model/logic';
import type { Logic } from '../../model/rig';

/** A piece of text, and the operator outermost in it. */
interface Piece {
  readonly text: string;
  readonly op: Logic['op'];
}

/** `run and ready and not hold`; brackets only where `and`, `or` and `xor` meet. */
export function logicText(logic: Logic, nameOf: (net: number) => string): string {
  const within = (piece: Piece, around: Logic['op']): string => {
    const joins = piece.op === 'and' || piece.op === 'or' || piece.op === 'xor';
    return joins && piece.op !== around ? `(${piece.text})` : piece.text;
  };
  const joined =
    (op: 'and' | 'or' | 'xor') =>
    (a: Piece, b: Piece): Piece => ({ text: `${within(a, op)} ${op} ${within(b, op)}`, op });
  return fold<Piece>(logic, {
    net: (net) => ({ text: nameOf(net), op: 'net' }),
    const: (value) => ({ text: value ? 'true' : 'false', op: 'const' }),
    not: (a) => ({ text: `not ${within(a, 'not')}`, op: 'not' }),
    and: joined('and'),
    or: joined('or'),
    xor: joined('xor'),
  }).text;
}

type Sign = 'plus' | 'minus' | 'none';
const OPPOSITE = { plus: 'minus', minus: 'plus', none: 'none' } as const;

/** Nets that a function reads, in order of first mention; `inverted` where every mention is in the negative. */
export function readNets(logic: Logic): { net: number; inverted: boolean }[] {
  const found = new Map<number, boolean>();
  type Visit = (sign: Sign) => void;
  const both = (a: Visit, b: Visit): Visit => {
    return (sign) => {
      a(sign);
      b(sign);
    };
  };
  fold<Visit>(logic, {
    net: (net) => (sign) => void found.set(net, (found.get(net) ?? true) && sign === 'minus'),
    const: () => () => undefined,
    not: (a) => (sign) => a(OPPOSITE[sign]),
    and: both,
    or: both,
    // An exclusive-or has no sign of its own: nothing inside it counts as inverted.
    xor: (a, b) => () => both(a, b)('none'),
  })('plus');
  return [...found].map(([net, inverted]) => ({ net, inverted }));
}
