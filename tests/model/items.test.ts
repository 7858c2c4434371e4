import { describe, expect, it } from 'vitest';
import { rigFrom } from '../support/rig';

/** What is read here holds for any medium; that levels and rates need one is another matter. */
const WITHOUT_MEDIUM = { allow: ['value/missing'] };
const resolve = (body: string) =>
  rigFrom(`rig r {\nchamber c { volume 2 m3 }\nchamber e { volume 1 m3 }\n${body}\n}`, WITHOUT_MEDIUM).rig;

describe('doors', () => {
  it.each([
    ['travel 2 s', 2_000_000, 2_000_000],
    ['travel 2 s  closes_in 1 s', 2_000_000, 1_000_000],
    ['opens_in 3 s  closes_in 1 s', 3_000_000, 1_000_000],
    // nothing stated: moves at once
    ['pocket 1 L', 0, 0],
  ])('%s', (properties, opens, closes) => {
    const door = resolve(`door d { ${properties} }`).doors[0]!;
    expect([door.opensIn.nominal, door.closesIn.nominal]).toEqual([opens, closes]);
  });

  it('state power moving and held, rest, discharge and area', () => {
    const door = resolve(
      'door d { travel 1 s  area 2 cm2  discharge 0.6  rest open  power moving 300 W  power held 20 W  clearance 1 mL }',
    ).doors[0]!;
    expect(door).toMatchObject({
      rest: 'open',
      area: { nominal: 0.0002 },
      discharge: { nominal: 0.6 },
      powerMoving: { nominal: 300 },
      powerHeld: { nominal: 20 },
      clearance: { nominal: 1e-6 },
      pocket: null,
    });
  });
});

describe('chambers, supply, stacks', () => {
  it('keep everything stated, in SI', () => {
    const rig = resolve(
      'chamber z { volume 3 L  density 2 g/L  mass 6 g  temperature 20 degC  level 5 cm  floor_area 60 cm2  elevation -2 m  limit 4 kg/m3  tight liquid }\nsupply { limit 2 kW }\ndoor d { travel 1 s }\nstack c > d > e { moves 24 %  tight gas }',
    );
    expect(rig.chambers[2]).toMatchObject({
      volume: { nominal: 0.003 },
      density: { nominal: 2 },
      mass: { nominal: 0.006 },
      temperature: { nominal: 293.15 },
      level: { nominal: 0.05 },
      floorArea: { nominal: 0.006 },
      elevation: { nominal: -2 },
      limit: { kind: 'density', value: { nominal: 4 } },
      tight: 'liquid',
    });
    expect(rig.supply!.limit!.nominal).toBe(2000);
    expect(rig.stacks[0]).toMatchObject({ moves: { nominal: 0.24 }, tight: 'gas' });
  });
});

describe('feeds and draws', () => {
  it.each([
    ['rate 3.6 t/h', { rate: { kind: 'mass_flow', value: { nominal: 1 } } }],
    ['rate 3.6 m3/h', { rate: { kind: 'volume_flow', value: { nominal: 0.001 } } }],
    [
      'line_limit 12 kg/s  pump_limit 5 kg/s',
      { lineLimit: { value: { nominal: 12 } }, pumpLimit: { value: { nominal: 5 } } },
    ],
    ['only below 15 kg/m3', { only: { sensed: 'density', side: 'below', value: { nominal: 15 } } }],
    ['only above 2 m', { only: { sensed: 'level', side: 'above', value: { nominal: 2 } } }],
    ['power 1.5 kW', { power: { nominal: 1500 } }],
  ])('%s', (properties, expected) =>
    expect(resolve(`draw w from c { ${properties} }`).lines[0]).toMatchObject(expected),
  );
});

describe('switches and sensors', () => {
  it('have shortest times and thresholds', () => {
    const rig = resolve(
      'switch s = off { min_on 1 s }\nsensor low on c { level below 2 cm  clears above 3 cm  min_on 1 s  min_off 2 s }',
    );
    expect(rig.switches[0]).toMatchObject({ initial: false, minOn: { nominal: 1_000_000 }, minOff: null });
    expect(rig.sensors[0]).toMatchObject({
      on: { sensed: 'level', side: 'below', value: { nominal: 0.02 } },
      clears: { sensed: 'level', side: 'above', value: { nominal: 0.03 } },
      minOff: { nominal: 2_000_000 },
    });
  });

  it.each([
    ['volume 2 m3  pressure 2 bar', 'pressure above 1.5 bar', true],
    ['volume 2 m3  pressure 1 bar', 'pressure above 1.5 bar', false],
    ['volume 2 m3  pressure 1.5 bar', 'pressure above 1.5 bar', false],
    // between the two values nothing has brought it on yet
    ['volume 2 m3  pressure 1.4 bar', 'pressure above 1.5 bar clears below 1.3 bar', false],
    ['volume 2 m3  pressure 1 bar', 'pressure below 1.5 bar', true],
    // 40 kg / 2 m3 = 20 kg/m3
    ['volume 2 m3  mass 40 kg', 'density above 15 kg/m3', true],
    // 20 kg/m3 x 2 m3 = 40 kg
    ['volume 2 m3  density 20 kg/m3', 'mass above 50 kg', false],
    ['volume 2 m3  level 30 cm', 'level below 40 cm', true],
    ['volume 2 m3  mass 40 kg', 'pressure above 1.5 bar', null],
    ['volume 2 m3', 'mass above 1 kg', null],
  ])('chamber { %s }, sensor { %s } starts %s', (chamber, sensor, expected) => {
    const { rig } = rigFrom(`rig r {\nchamber c { ${chamber} }\nsensor s on c { ${sensor} }\n}`, WITHOUT_MEDIUM);
    expect(rig.sensors[0]!.initiallyOn).toBe(expected);
  });
});
