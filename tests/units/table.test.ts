import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { DIMENSION_NAMES } from '../../server/core/units/dimensions';
import { toNumber } from '../../server/core/units/rational';
import { AMBIGUOUS_UNITS, COMMON_SLIPS, UNITS } from '../../server/core/units/table';
import { parseQuantity, unitNamed } from '../../server/core/units/units';

const si = (number: string, unit: string): number => {
  const parsed = parseQuantity(number, unit);
  if (!parsed.ok) throw new Error(`${number} ${unit}`);
  return toNumber(parsed.value);
};

describe('conversion factors', () => {
  // NIST Special Publication 811 (2008), Appendix B.8, to the seven figures printed there; from `in` on written from memory of that table.
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
    ['in', 2.54e-2],
    ['ft', 3.048e-1],
    ['in2', 6.4516e-4],
    ['ft2', 9.290304e-2],
    ['in3', 1.6387064e-5],
    ['ft3', 2.831685e-2],
    ['galUS', 3.785412e-3],
    ['galUK', 4.54609e-3],
    ['galUS/min', 6.30902e-5],
    ['cfm', 4.719474e-4],
    ['lb', 4.535924e-1],
    ['lb/h', 1.259979e-4],
    ['lb/min', 7.559873e-3],
    ['lb/ft3', 1.601846e1],
    ['inH2O', 2.490889e2],
    ['mmH2O', 9.80665],
    ['g/cm3', 1e3],
    ['g/L', 1],
  ])('1 %s', (unit, factor) => expect(Math.abs(si('1', unit) / factor - 1)).toBeLessThan(5e-7));

  // 1 lbf = 0.45359237 kg x 9.80665 m/s2 = 4.4482216152605 N; 1 in2 = 0.0254^2 m2 = 0.00064516 m2 (all exact by definition).
  it('works psi from exact definitions', () => {
    expect(0.45359237 * 9.80665).toBeCloseTo(4.4482216152605, 13);
    expect(si('1', 'psi')).toBeCloseTo((0.45359237 * 9.80665) / 0.0254 ** 2, 8);
  });

  // 231 cubic inches; 1000 kg/m3 x 9.80665 m/s2 x 25.4 mm.
  it('works gallons and inches of water from exact definitions', () => {
    expect(231 * 0.0254 ** 3).toBeCloseTo(si('1', 'galUS'), 15);
    expect(1000 * 9.80665 * 0.0254).toBeCloseTo(si('1', 'inH2O'), 9);
  });

  // CODATA 2018: molar volume of an ideal gas at 273.15 K and 101 325 Pa, 22.413 969 54 L/mol.
  it.each([
    ['22.41396954', 'NL/min', 1 / 60],
    ['80.690290344', 'Nm3/h', 1],
    ['0.02241396954', 'Nm3/min', 1 / 60],
  ])('%s %s', (number, unit, molesPerSecond) =>
    expect(Math.abs(si(number, unit) / molesPerSecond - 1)).toBeLessThan(1e-9),
  );

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
    ['10', 'inH2Og', 103_815.9],
    ['-20', 'mmH2Og', 101_128.9],
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

  it('offers only units that exist for those that mean more than one thing', () => {
    for (const [word, { meant }] of Object.entries(AMBIGUOUS_UNITS)) {
      expect(unitNamed(word), word).toBeNull();
      for (const name of meant) expect(unitNamed(name)?.name, word).toBe(name);
    }
  });

  it('names a source for every factor that is no plain SI', () => {
    for (const name of [
      'psi',
      'psig',
      'in',
      'ft',
      'ft3',
      'cfm',
      'galUK',
      'lb',
      'inH2O',
      'NL/min',
      'Nm3/h',
      'barg',
      'atm',
      'bar',
      'min',
      'h',
      'd',
      'L',
      't',
      'degC',
      'kWh',
    ]) {
      expect(unitNamed(name)?.source, name).toMatch(/SI Brochure|NIST SP 811/);
    }
  });
});

describe('a unit with blanks around its stroke', () => {
  // The grammar knows what units are divided by from a list of its own: it must have every divisor of this table.
  const divided = UNITS.flatMap(({ name }) => (/^[A-Za-z0-9]+\/[A-Za-z0-9]+$/.test(name) ? [name] : []));
  it.each(divided)('%s', (name) => {
    const { problems } = parse(`rig r { feed f into c { rate 8 ${name.replace('/', ' / ')} } }`);
    expect(problems.map((p) => p.message)).toContain(`A unit is written without blanks inside: ${name}.`);
  });
});
