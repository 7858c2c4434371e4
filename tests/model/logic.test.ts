import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { doorsOf, fold, holds, netsOf, predicateOf, replaceNets } from '../../server/core/model/logic';
import type { Condition, Logic } from '../../server/core/model/rig';
import { logicText } from '../../server/core/diagram/kit/logic-text';

const OPERATORS = ['and', 'or', 'xor'] as const;

const formulas = fc.letrec<{ formula: Condition }>((tie) => ({
  formula: fc.oneof(
    { maxDepth: 5 },
    fc.record({ op: fc.constant('net' as const), net: fc.nat(3) }),
    fc.record({ op: fc.constant('door' as const), door: fc.nat(2) }),
    fc.record({ op: fc.constant('const' as const), value: fc.boolean() }),
    fc.record({ op: fc.constant('not' as const), a: tie('formula') }),
    fc.record({ op: fc.constantFrom(...OPERATORS), a: tie('formula'), b: tie('formula') }),
  ),
})).formula;

/** The formula in the words of JavaScript, as an evaluator that shares nothing with ours. */
function javascript(formula: Condition): string {
  return fold<string>(formula, {
    net: (net) => `nets[${net}]`,
    door: (door) => `doors[${door}]`,
    const: String,
    not: (a) => `!${a}`,
    and: (a, b) => `(${a} && ${b})`,
    or: (a, b) => `(${a} || ${b})`,
    xor: (a, b) => `(${a} !== ${b})`,
  });
}

const withoutDoors = (formula: Condition): Logic =>
  fold<Logic>(formula, {
    net: (net) => ({ op: 'net', net }),
    door: (door) => ({ op: 'net', net: door }),
    const: (value) => ({ op: 'const', value }),
    not: (a) => ({ op: 'not', a }),
    and: (a, b) => ({ op: 'and', a, b }),
    or: (a, b) => ({ op: 'or', a, b }),
    xor: (a, b) => ({ op: 'xor', a, b }),
  });

const values = fc.array(fc.boolean(), { minLength: 4, maxLength: 4 });

describe('logic', () => {
  it('gives a formula the value that JavaScript gives it', () => {
    fc.assert(
      fc.property(formulas, values, values, (formula, nets, doors) => {
        const expected: unknown = new Function('nets', 'doors', `return ${javascript(formula)}`)(nets, doors);
        expect(holds(formula, { net: (n) => nets[n]!, notShut: (d) => doors[d]! })).toBe(expected);
        const logic = withoutDoors(formula);
        const numbers = Uint8Array.from(nets, Number);
        expect(predicateOf(logic)(numbers)).toBe(holds(logic, { net: (n) => nets[n]!, notShut: () => false }));
      }),
    );
  });

  it('reads only the nets and doors that it names', () => {
    fc.assert(
      fc.property(formulas, values, values, (formula, nets, doors) => {
        const [seenNets, seenDoors] = [new Set<number>(), new Set<number>()];
        holds(formula, {
          net: (n) => nets[seenNets.add(n) ? n : n]!,
          notShut: (d) => doors[seenDoors.add(d) ? d : d]!,
        });
        expect(netsOf(formula)).toEqual([...seenNets]);
        expect(doorsOf(formula)).toEqual([...seenDoors]);
      }),
    );
  });

  it('replaces nets and nothing else', () => {
    fc.assert(
      fc.property(formulas, values, (formula, nets) => {
        const logic = withoutDoors(formula);
        const turned = replaceNets(logic, (net) => ({ op: 'not', a: { op: 'net', net } }));
        const [plain, inverted] = [Uint8Array.from(nets, Number), Uint8Array.from(nets, (on) => Number(!on))];
        expect(predicateOf(turned)(plain)).toBe(predicateOf(logic)(inverted));
      }),
    );
  });

  it('is written with the fewest brackets that keep its meaning', () => {
    const [a, b, c] = [0, 1, 2].map((net): Logic => ({ op: 'net', net }));
    const name = (net: number): string => 'abc'[net]!;
    const inner: Logic = { op: 'or', a: b!, b: c! };
    expect(logicText({ op: 'and', a: a!, b: { op: 'not', a: inner } }, name)).toBe('a and not (b or c)');
    expect(logicText({ op: 'or', a: a!, b: inner }, name)).toBe('a or b or c');
  });
});
