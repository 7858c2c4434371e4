/** Logic of the network back as words, and which nets it reads in the negative. */
import type { Logic } from '../../model/rig';

/** `run and ready and not hold`; brackets only where `and`, `or` and `xor` meet. */
export function logicText(logic: Logic, nameOf: (net: number) => string): string {
  switch (logic.op) {
    case 'net':
      return nameOf(logic.net);
    case 'const':
      return logic.value ? 'true' : 'false';
    case 'not':
      return `not ${bracketed(logic.a, nameOf, 'not')}`;
    default:
      return `${bracketed(logic.a, nameOf, logic.op)} ${logic.op} ${bracketed(logic.b, nameOf, logic.op)}`;
  }
}

function bracketed(logic: Logic, nameOf: (net: number) => string, around: string): string {
  const text = logicText(logic, nameOf);
  const joins = logic.op === 'and' || logic.op === 'or' || logic.op === 'xor';
  return joins && logic.op !== around ? `(${text})` : text;
}

/** Nets that a function reads, in order of first mention; `inverted` where every mention is in the negative. */
export function readNets(logic: Logic): { net: number; inverted: boolean }[] {
  const found = new Map<number, boolean>();
  // An exclusive-or has no sign of its own: nothing inside it counts as inverted.
  const visit = (part: Logic, sign: 'plus' | 'minus' | 'none'): void => {
    if (part.op === 'net') found.set(part.net, (found.get(part.net) ?? true) && sign === 'minus');
    else if (part.op === 'not') visit(part.a, OPPOSITE[sign]);
    else if (part.op !== 'const') {
      visit(part.a, part.op === 'xor' ? 'none' : sign);
      visit(part.b, part.op === 'xor' ? 'none' : sign);
    }
  };
  visit(logic, 'plus');
  return [...found].map(([net, inverted]) => ({ net, inverted }));
}

const OPPOSITE = { plus: 'minus', minus: 'plus', none: 'none' } as const;
