import { describe, expect, it } from 'vitest';
import { parseExpression } from '../../grammar/src/api';
import { problemLines } from '../support/problem-lines';
import { rigFrom } from '../support/rig';

const range = (q: { nominal: number; min: number; max: number }) => [q.nominal, q.min, q.max];

/** What `travel VALUE` of a door comes to in a rig with these constants: nominal, least, most in microseconds. */
const travel = (value: string, lets = ''): number[] =>
  range(rigFrom(`rig r {\n${lets}\ndoor d { travel ${value} }\n}`).rig.doors[0]!.opensIn);
const chamber = (properties: string, lets = '') =>
  rigFrom(`rig r {\n${lets}\nchamber c { ${properties} }\n}`).rig.chambers[0]!;

describe('exact times', () => {
  it.each<[string, string, number[]]>([
    ['0.1 s + 0.2 s', '', [300_000, 300_000, 300_000]],
    ['1 s / 3 * 3', '', [1_000_000, 1_000_000, 1_000_000]],
    ['t', 'let t = 1 h / 7 * 7', [3_600_000_000, 3_600_000_000, 3_600_000_000]],
    ['b', 'let b = a + 1 ms\nlet a = 2 * c\nlet c = 0.5 s', [1_001_000, 1_001_000, 1_001_000]],
    ['-(1 s - 3 s)', '', [2_000_000, 2_000_000, 2_000_000]],
    // volume over volume flow: 250 L / (0.5 m3/s) = 0.5 s
    ['250 L / (0.5 m3/s)', '', [500_000, 500_000, 500_000]],
    ['sqm / (2 m * 1 m) * 1 s', 'let sqm = 1 m * 4 m', [2_000_000, 2_000_000, 2_000_000]],
  ])('travel %s', (value, lets, expected) => expect(travel(value, lets)).toEqual(expected));
});

describe('tolerances', () => {
  it.each<[string, number[]]>([
    ['1 s +- 20 ms', [1_000_000, 980_000, 1_020_000]],
    ['1 s +- 5 %', [1_000_000, 950_000, 1_050_000]],
    ['(1 s +- 10 ms) + (2 s +- 30 ms)', [3_000_000, 2_960_000, 3_040_000]],
    ['(2 s +- 30 ms) - (1 s +- 10 ms)', [1_000_000, 960_000, 1_040_000]],
    // 2 s (1.8 to 2.2) x 1.1 (0.99 to 1.21): 1.782 to 2.662
    ['(2 s +- 10 %) * (1.1 +- 10 %)', [2_200_000, 1_782_000, 2_662_000]],
    // 1 s / (2 +- 0.5): 0.4 to 0.666666... s, outward
    ['1 s / (2 +- 0.5)', [500_000, 400_000, 666_667]],
    // +- binds looser than +: (1 s + 1 s) +- 10 %
    ['1 s + 1 s +- 10 %', [2_000_000, 1_800_000, 2_200_000]],
  ])('%s', (value, expected) => expect(travel(value)).toEqual(expected));

  it('in per cent are relative, also of a percentage', () => {
    const { rig } = rigFrom(
      'rig r {\nchamber a { volume 1 L }\nchamber b { volume 1 L }\ndoor d { travel 1 s }\nstack a > d > b { moves 24 % +- 2 % }\n}',
    );
    // 2 % of 24 % = 0.48 %
    expect(range(rig.stacks[0]!.moves!).map((x) => Number(x.toFixed(9)))).toEqual([0.24, 0.2352, 0.2448]);
  });
});

describe('gauge pressures and degrees Celsius', () => {
  it.each([
    ['pressure 2 barg', 301_325],
    ['pressure -0.2 barg', 81_325],
    ['pressure 1 barg + 0.5 bar', 251_325],
    ['pressure 2 barg +- 0.1 barg', 301_325],
    // a difference of two gauge values is a plain difference of pressure
    ['pressure 3 barg - 1.5 barg', 150_000],
    ['pressure p / 2', 100_000],
  ])('%s', (property, pascal) => expect(chamber(property, 'let p = 2 bar').pressure!.nominal).toBeCloseTo(pascal, 6));

  it('take tolerances as differences', () =>
    expect(range(chamber('pressure 2 barg +- 0.1 barg').pressure!)).toEqual([301_325, 291_325, 311_325]));

  it.each([
    ['temperature -10 degC', 263.15],
    ['temperature 20 degC + 5 K', 298.15],
  ])('%s', (property, kelvin) => expect(chamber(property).temperature!.nominal).toBe(kelvin));

  it.each(['2 * 1 barg', '1 bar - 1 barg', '20 degC + 20 degC'])('%s has no single meaning', (value) =>
    expect(problemLines(`let x = ${value}`)).toEqual([expect.stringMatching(/^unit\/offset /)]),
  );
});

describe('scopes', () => {
  it('let a constant of the rig hide one of the file', () => {
    const { rig } = rigFrom('let t = 1 s\nrig r {\nlet t = 2 s\ndoor d { travel t }\n}');
    expect(rig.doors[0]!.opensIn.nominal).toBe(2_000_000);
  });

  it('do not see into other rigs', () =>
    expect(problemLines('rig q {\nlet t = 2 s\n}\nrig r {\ndoor d { travel t }\n}')).toEqual([
      'name/unknown "t": Nothing here is called t.',
    ]));

  it('tell a broken constant once, however often it is used', () =>
    expect(problemLines('let t = 1 s + 1 bar\nrig r {\ndoor d { travel t }\ndoor e { travel 2 * t }\n}')).toHaveLength(
      1,
    ));
});

describe('values from outside', () => {
  const override = (name: string, value: string) => ({
    overrides: new Map([[name, parseExpression(value).expression]]),
  });
  const TEXT = 'let t = 1 s\nrig r {\nlet u = t + 1 s\ndoor d { travel u }\n}';

  it.each([
    ['t', '5 s', 6_000_000],
    ['u', '2 * t', 2_000_000],
    ['t', '1 s +- 1 ms', 2_000_000],
  ])('%s = %s', (name, value, expected) =>
    expect(rigFrom(TEXT, override(name, value)).rig.doors[0]!.opensIn.nominal).toBe(expected),
  );

  it('are told once where they cannot be used', () => {
    expect(problemLines(TEXT, override('x', '1 s'))).toEqual([
      'value/override "": A value is given from outside for x, but no constant is called so.',
    ]);
    expect(problemLines(TEXT, override('t', '1 parsec'))).toEqual([
      'value/override "t": The value given from outside for t cannot be computed; t is left without value.',
    ]);
  });
});

describe('long texts', () => {
  it('work a chain of 5 000 constants in any order', () => {
    const chain = Array.from({ length: 5000 }, (_, i) => `let a${i} = a${i + 1} + 1 ms`).join('\n');
    const text = `${chain}\nlet a5000 = 1 s\nrig r {\ndoor d { travel a0 }\n}`;
    expect(rigFrom(text).rig.doors[0]!.opensIn.nominal).toBe(6_000_000);
  });

  it('stop at figures that are no quantity', () => {
    const squares = Array.from({ length: 500 }, (_, i) => `let a${i + 1} = a${i} * a${i}`).join('\n');
    expect(problemLines(`let a0 = 3\n${squares}`)).toEqual([
      expect.stringMatching(/^value\/out-of-range .*too large or too fine/),
    ]);
  });
});
