import { describe, expect, expectTypeOf, it } from 'vitest';
import { SAMPLE_QUANTITY, type DimensionName as Word } from '../../grammar/src/vocabulary';
import {
  addVectors,
  describeVector,
  DIMENSION_NAMES,
  type DimensionName,
  dimensionOf,
  DIMENSIONS,
  subtractVectors,
} from '../../server/core/units/dimensions';

const vector = (name: DimensionName) => DIMENSIONS[name].vector;

describe('dimensions', () => {
  it('are those of the vocabulary', () => {
    expectTypeOf<DimensionName>().toEqualTypeOf<Word>();
    expect(Object.keys(SAMPLE_QUANTITY).sort()).toEqual([...DIMENSION_NAMES].sort());
  });

  it('have different exponents each', () => {
    for (const name of DIMENSION_NAMES) expect(dimensionOf([...vector(name)])).toBe(name);
  });

  it.each([
    ['volume', '/', 'time', 'volume_flow'],
    ['mass', '/', 'time', 'mass_flow'],
    ['mass', '/', 'volume', 'density'],
    ['length', '*', 'length', 'area'],
    ['area', '*', 'length', 'volume'],
    ['power', '*', 'time', 'energy'],
    ['energy', '/', 'mass', 'specific_energy'],
    ['pressure', '*', 'volume', 'energy'],
    ['mass', '/', 'amount', 'molar_mass'],
    ['time', '/', 'time', 'none'],
  ] as const)('%s %s %s = %s', (a, operator, b, result) => {
    const combine = operator === '*' ? addVectors : subtractVectors;
    expect(dimensionOf(combine(vector(a), vector(b)))).toBe(result);
  });

  // Exponents of kg, m and s: SI Brochure, 9th edition (BIPM 2019), table 4, derived units with special names.
  const NAMED = {
    '1': {},
    us: { s: 1 },
    Pa: { kg: 1, m: -1, s: -2 },
    N: { kg: 1, m: 1, s: -2 },
    J: { kg: 1, m: 2, s: -2 },
    W: { kg: 1, m: 2, s: -3 },
  };
  const ORDER = ['kg', 'm', 's', 'K', 'mol'] as const;
  type Exponents = Partial<Record<(typeof ORDER)[number], number>>;

  function exponentsOf(unit: string): number[] {
    const sum = [0, 0, 0, 0, 0];
    for (const [i, factor] of unit.split('/').entries()) {
      const [, name, power] = /^([A-Za-z]+|1)(\d?)$/.exec(factor)!;
      const known = (NAMED as Record<string, Exponents>)[name!] ?? { [name!]: 1 };
      for (const [j, base] of ORDER.entries()) sum[j]! += (i === 0 ? 1 : -1) * Number(power || 1) * (known[base] ?? 0);
    }
    return sum;
  }

  it.each(DIMENSION_NAMES)('%s has the exponents of its base unit', (name) =>
    expect(vector(name)).toEqual(exponentsOf(DIMENSIONS[name].base)),
  );

  it('products add and quotients subtract each exponent by itself', () => {
    expect(addVectors([1, 2, 3, 4, 5], [10, 20, 30, 40, 50])).toEqual([11, 22, 33, 44, 55]);
    expect(subtractVectors([11, 22, 33, 44, 55], [10, 20, 30, 40, 50])).toEqual([1, 2, 3, 4, 5]);
  });

  it('says what has no name', () => {
    expect(describeVector(addVectors(vector('time'), vector('time')))).toBe('a quantity in s2');
    expect(describeVector(subtractVectors(vector('none'), vector('mass')))).toBe('a quantity in kg-1');
  });
});
