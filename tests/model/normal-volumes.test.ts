/** Feeds in normal volumes, bores in inches, gallons: units that people of the trade type. */
import { describe, expect, it } from 'vitest';
import { massRate } from '../../server/core/flow/lines';
import { lawOf } from '../../server/core/flow/media/medium-law';
import { problemLines } from '../support/problem-lines';
import { rigFrom } from '../support/rig';

const text = (medium: string, body: string): string =>
  `rig r {\n  medium ${medium}\n  chamber a { volume 2 m3 }\n  chamber b { volume 1 m3 }\n  door d { travel 300 ms  ${body} }\n  stack a > d > b\n`;
const fed = (medium: string, rate: string) => rigFrom(`${text(medium, '')}  feed f into a { rate ${rate} }\n}`).rig;
const rateOf = (medium: string, rate: string): number => {
  const rig = fed(medium, rate);
  const law = lawOf(rig.medium!);
  if (typeof law === 'string') throw new Error(law);
  return massRate(rig.lines[0]!.rate!, law)!;
};

describe('normal volumes', () => {
  // CODATA 2018: 1 Nm3 holds 1/0.02241396954 mol; molar masses g/mol: methane 16.0428, helium 4.002602.
  it.each([
    ['methane', '3600 Nm3/h', 0.0160428 / 0.02241396954],
    ['methane { temperature 60 degC }', '60 Nm3/min', 0.0160428 / 0.02241396954],
    ['helium', '60000 NL/min', 0.004002602 / 0.02241396954],
  ])('%s at %s counts the gas it holds, whatever its temperature', (medium, rate, kilograms) =>
    expect(rateOf(medium, rate) / kilograms).toBeCloseTo(1, 4),
  );

  it.each([
    ['water', 'liquid; write a mass flow or a volume flow.'],
    ['silt packed { density 1600 kg/m3 }', 'packed; write a mass flow.'],
  ])('of %s are an error', (medium, end) => {
    const [found] = problemLines(`${text(medium, '')}  feed f into a { rate 50 NL/min }\n}`);
    expect(found).toContain('unit/dimension "50 NL/min": Normal volumes count a gas, and');
    expect(found).toContain(end);
  });
});

describe('units of the trade', () => {
  it('a bore in inches', () =>
    expect(rigFrom(`${text('water', 'bore 12 in')}}`).rig.doors[0]!.area?.nominal).toBeCloseTo(
      (Math.PI / 4) * 0.3048 ** 2,
      9,
    ));

  it.each([
    ['pocket 20 gal', 'unit/unknown "gal": gal is not a known unit: a US gallon is 3.785 L'],
    ['pocket 3 ft', 'unit/dimension "3 ft": 3 ft is a length; a volume is needed here.'],
    ['bore 3 feet', 'unit/unknown "feet": feet is not a known unit. Did you mean ft?'],
  ])('%s', (body, message) => expect(problemLines(`${text('water', body)}}`)[0]).toContain(message));

  it('a flow in cubic feet', () => expect(rateOf('water', '1 cfm')).toBeCloseTo(0.4719474 * 0.99821, 3));
});
