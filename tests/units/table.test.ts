import { describe, expect, it } from 'vitest';
import { DIMENSION_NAMES } from '../../server/core/units/dimensions';
import { toNumber } from '../../server/core/units/rational';
import { COMMON_SLIPS, UNITS } from '../../server/core/units/table';
import { parseQuantity, unitNamed } from '../../server/core/units/units';

const si = (number: string, unit: string): number => {
  const parsed = parseQuantity(number, unit);
  if (!parsed.ok) throw new Error(`${number} ${unit}`);
  return toNumber(parsed.value);
};

describe('conversion factors', () => {
  // NIST Special Publication 811 (2008), Appendix B.8, to the seven figures printed there.
  it.each([
    ['psi', 6.894757e3],
    ['psia', 6.894757e3],
    ['atm', 1.01325e5],
    ['bar', 1e5],
    ['mbar', 1e2],
    ['kbar', 1e8],
    ['kWh', 3.6e6],
    ['Wh', 3.6e3],
    ['L', 1e-3],
    ['mL', 1e-6],
    ['L/min', 1.666667e-5],
    ['min', 60],
    ['h', 3600],
    ['d', 8.64e4],
    ['t', 1e3],
    ['g/cm3', 1e3],
    ['g/L', 1],
  ])('1 %s', (unit, factor) => expect(Math.abs(si('1', unit) / factor - 1)).toBeLessThan(5e-7));

  // 1 lbf = 0.45359237 kg x 9.80665 m/s2 = 4.4482216152605 N; 1 in2 = 0.0254^2 m2 = 0.00064516 m2 (all exact by definition).
  it('works psi from exact definitions', () => {
    expect(0.45359237 * 9.80665).toBeCloseTo(4.4482216152605, 13);
    expect(si('1', 'psi')).toBeCloseTo((0.45359237 * 9.80665) / 0.0254 ** 2, 8);
  });

  it.each([
    ['0', 'degC', 273.15],
    ['-10', 'degC', 263.15],
    ['35', 'degC', 308.15],
    ['0', 'barg', 101_325],
    ['1', 'barg', 201_325],
    ['-0.2', 'barg', 81_325],
    ['500', 'mbarg', 151_325],
    ['100', 'kPag', 201_325],
    // 100 psig = 689 475.7 Pa + 101 325 Pa
    ['100', 'psig', 790_800.7],
  ])('%s %s counts from its own zero', (number, unit, value) => expect(si(number, unit)).toBeCloseTo(value, 1));

  it.each([
    ['36', 'kg/h', 0.01],
    ['3.6', 't/h', 1],
    ['3.6', 'm3/h', 1e-3],
    ['28.96', 'g/mol', 0.02896],
    ['2', 'kWh/kg', 7.2e6],
    ['24', '%', 0.24],
    ['2', 'GPa', 2e9],
  ])('%s %s', (number, unit, value) => expect(si(number, unit)).toBe(value));
});

describe('the table', () => {
  it('has each name once, also among spellings', () => {
    const names = UNITS.flatMap((unit) => [unit.name, ...(unit.aliases ?? [])]);
    expect(new Set(names).size).toBe(names.length);
  });

  it('has a unit for every dimension', () => {
    for (const dimension of DIMENSION_NAMES) expect(UNITS.some((unit) => unit.dimension === dimension)).toBe(true);
  });

  it('suggests only units that exist, for words that are none', () => {
    for (const [slip, meant] of Object.entries(COMMON_SLIPS)) {
      expect(unitNamed(slip), slip).toBeNull();
      expect(unitNamed(meant)?.name, slip).toBe(meant);
    }
  });

  it('names a source for every factor that is no plain SI', () => {
    for (const name of ['psi', 'psig', 'barg', 'atm', 'bar', 'min', 'h', 'd', 'L', 't', 'degC', 'kWh']) {
      expect(unitNamed(name)?.source, name).toMatch(/SI Brochure|NIST SP 811/);
    }
  });
});
