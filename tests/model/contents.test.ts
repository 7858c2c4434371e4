import { describe, expect, it } from 'vitest';
import { problemLines } from '../support/problem-lines';

const rig = (medium: string, body: string): string[] => problemLines(`rig r {\n${medium}\n${body}\n}`);

describe('contents stated twice', () => {
  it.each([
    [
      'medium air',
      'pressure 1.5 bar mass 50 kg',
      'value/conflict "50 kg": c states its contents twice, as pressure and mass',
    ],
    [
      'medium air',
      'density 1 kg/m3 pressure 3 bar',
      'value/conflict "1 kg/m3": c states its contents twice, as pressure and density',
    ],
    [
      'medium air',
      'pressure 1 bar density 1 kg/m3 mass 1 kg',
      'c states its contents 3 times, as pressure, density and mass',
    ],
    ['medium water', 'level 10 cm mass 5 kg', 'as mass and level; state one of them.'],
    ['medium grain packed', 'density 700 kg/m3 mass 5 kg', 'as density and mass; state one of them.'],
  ])('%s { %s }', (medium, properties, message) =>
    expect(rig(medium, `chamber c { volume 1 m3 ${properties} }`).join('\n')).toContain(message),
  );

  it.each([
    ['medium air', 'pressure 1 bar temperature 40 degC'],
    ['medium water', 'pressure 2 bar level 10 cm'],
    ['medium grain packed', 'density 5 kg/m3 mass 5 kg'],
    ['', 'pressure 1 bar mass 5 kg'],
  ])('sound: %s { %s }', (medium, properties) =>
    expect(rig(medium, `chamber c { volume 1 m3 ${properties} }`)).toEqual([]),
  );
});

describe('levels and the rim', () => {
  const pit = (sensor: string): string[] =>
    rig('medium water', `chamber pit { volume 300 L floor_area 0.5 m2 level 0.1 m }\nsensor s on pit { ${sensor} }`);

  it('a level that no liquid can reach', () =>
    expect(pit('level above 0.7 m clears below 0.2 m')).toEqual([
      'value/out-of-range "0.7 m": pit is 0.6 m high (300 L over 0.5 m2): its level is never above the 0.7 m that s looks for.',
    ]));

  it('a level that is always below', () =>
    expect(pit('level below 0.7 m')[0]).toContain('its level is always below the 0.7 m that s looks for'));

  it('the rim itself is never passed, but may be what a sensor waits to fall below', () => {
    expect(pit('level above 0.6 m')).toHaveLength(1);
    expect(pit('level below 0.6 m')).toEqual([]);
    expect(pit('level above 0.59 m')).toEqual([]);
  });

  it('without a floor area a chamber is a cube, which is said', () =>
    expect(rig('medium water', 'chamber c { volume 1 m3 level 1.2 m }')).toEqual([
      'value/out-of-range "1.2 m": c is 1 m high (1000 L as a cube, since no floor_area is stated): a level of 1.2 m stands above its rim.',
    ]));

  it('conditions of feeds and draws are held against the rim too', () =>
    expect(rig('medium water', 'chamber c { volume 1 m3 }\ndraw d from c { rate 1 kg/s only above 2 m }')[0]).toContain(
      'its level is never above the 2 m that d looks for',
    ));
});

describe('without a medium', () => {
  it.each([
    [
      'feed f into c { rate 1 kg/s }',
      'value/missing "1 kg/s": f feeds something, but the rig states no medium; add one, such as medium water.',
    ],
    ['draw f from c { curve 1 bar 1 kg/s }', 'value/missing "curve 1 bar 1 kg/s": f draws something'],
    ['chamber d { volume 1 m3 level 5 cm }', 'value/missing "5 cm": d has a level'],
    ['sensor s on c { level above 5 cm }', 'value/missing "5 cm": s looks at a level'],
  ])('%s', (line, message) => expect(rig('', `chamber c { volume 1 m3 }\n${line}`)[0]).toContain(message));

  it('a rig of timing only needs none', () =>
    expect(rig('', 'chamber c { volume 1 m3 }\nfeed f into c\nsensor s on c { pressure above 1 bar }')).toEqual([]));

  it('a medium of the file serves', () =>
    expect(problemLines('medium water\nrig r {\nchamber c { volume 1 m3 }\nfeed f into c { rate 1 kg/s }\n}')).toEqual(
      [],
    ));

  it('one that cannot be read is its own mistake', () =>
    expect(rig('medium wattr', 'chamber c { volume 1 m3 }\nfeed f into c { rate 1 kg/s }')).toEqual([
      expect.stringMatching(/^name\/unknown "wattr"/),
    ]));
});
