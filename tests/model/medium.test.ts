import { describe, expect, it } from 'vitest';
import { MEDIA } from '../../server/core/model/media';
import { problemLines } from '../support/problem-lines';
import { rigFrom } from '../support/rig';

const medium = (statement: string, file = '') => rigFrom(`${file}\nrig r {\n${statement}\n}`).rig.medium;

describe('built-in media', () => {
  it('come with source and data', () =>
    expect(medium('medium water')).toMatchObject({
      phase: 'liquid',
      builtIn: 'water',
      density: null,
      // 1 / 0.45891 per GPa = 2.1791 GPa
      temperature: { nominal: 293.15 },
      dataSource: expect.stringContaining('IAPWS-95'),
    }));

  it('give single properties up to a block', () =>
    expect(medium('medium air { temperature 40 degC  law real }')).toMatchObject({
      phase: 'gas',
      law: 'real',
      temperature: { nominal: 313.15 },
      molarMass: { nominal: 0.0289655 },
    }));

  it('give way to a medium of another phase', () =>
    expect(medium('medium water packed')).toMatchObject({ phase: 'packed', density: null, dataSource: '' }));

  // R = 8.314462618 J/(mol K). Densities at 20 degC and 101 325 Pa of the ideal gas, kg/m3, as general engineering tables print them.
  it.each([
    ['air', 1.204],
    ['carbon_dioxide', 1.8295],
    ['helium', 0.1664],
    ['hydrogen', 0.0838],
    ['methane', 0.6669],
    ['nitrogen', 1.1646],
    ['oxygen', 1.3302],
    ['chlorine', 2.9477],
  ])('%s has about %d kg/m3 at 20 degC', (name, density) => {
    const { molarMass } = medium(`medium ${name}`)!;
    expect((101_325 * molarMass!.nominal) / (8.314462618 * 293.15) / density).toBeCloseTo(1, 3);
  });

  // Ratios of specific heats near room temperature, general engineering tables (3 figures; chlorine 1.34 there, 1.324 ideal).
  it.each([
    ['air', 1.4],
    ['carbon_dioxide', 1.288],
    ['helium', 1.667],
    ['hydrogen', 1.405],
    ['methane', 1.304],
    ['nitrogen', 1.4],
    ['oxygen', 1.395],
  ])('%s has a heat ratio of about %d', (name, ratio) =>
    expect(Math.abs(medium(`medium ${name}`)!.heatRatio!.nominal - ratio)).toBeLessThan(0.002),
  );

  it('all name their source', () => {
    for (const { source, name } of MEDIA) expect(source, name).toMatch(/\((19|20)\d\d\)|IAPWS/);
  });
});

describe('media of files', () => {
  const FILE = 'medium biogas gas { molar_mass 27.2 g/mol }';

  it('are named in a rig, and may be changed there', () => {
    expect(medium('medium biogas', FILE)).toMatchObject({ name: 'biogas', molarMass: { nominal: 0.0272 } });
    expect(medium('medium biogas { temperature 50 degC }', FILE)).toMatchObject({
      molarMass: { nominal: 0.0272 },
      temperature: { nominal: 323.15 },
    });
  });

  it('hold for rigs that state none, if there is one only', () => {
    expect(medium('', FILE)).toMatchObject({ name: 'biogas' });
    expect(medium('', `${FILE}\nmedium brine liquid { density 1.2 kg/L }`)).toBeNull();
  });

  it('have names of their own, apart from chambers and signals', () =>
    expect(problemLines('rig r {\nmedium water\nchamber water { volume 1 m3 }\n}')).toEqual([]));
});
