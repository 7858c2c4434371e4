import { describe, expect, expectTypeOf, it } from 'vitest';
import type { DimensionName as Word } from '../../grammar/src/vocabulary';
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
  it('are those of the vocabulary', () => expectTypeOf<DimensionName>().toEqualTypeOf<Word>());

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

  it('says what has no name', () => {
    expect(describeVector(addVectors(vector('time'), vector('time')))).toBe('a quantity in s2');
    expect(describeVector(subtractVectors(vector('none'), vector('mass')))).toBe('a quantity in kg-1');
  });
});
