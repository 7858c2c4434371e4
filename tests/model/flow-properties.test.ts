import { describe, expect, it } from 'vitest';
import { formatText } from '../../grammar/src/api';
import { problemLines } from '../support/problem-lines';
import { rigFrom } from '../support/rig';

const FRAME = (body: string) => `rig r {\nmedium air\nchamber a { volume 1 m3 }\nchamber b { volume 1 m3 }\n${body}\n}`;
const rig = (body: string) => rigFrom(FRAME(body)).rig;
const problems = (body: string) => problemLines(FRAME(body));
const door = (properties: string) => rig(`door d { ${properties} }`).doors[0]!;
const feed = (properties: string) => rig(`feed f into a { ${properties} }`).lines[0]!;
const draw = (properties: string) => rig(`draw f from a { ${properties} }`).lines[0]!;

describe('openings', () => {
  it('kv in m3/s at 1 bar', () => expect(door('kv 3.6 m3/h').kv!.nominal).toBeCloseTo(0.001, 12));
  it('xt beside kv', () => expect(door('kv 3.6 m3/h xt 0.4').xt!.nominal).toBe(0.4));
  it('conductance and ratio of ISO 6358, in SI', () => {
    // 1 L/(s bar) = 1e-8 m3/(s Pa).
    const { conductance, ratio } = door('conductance 5 L/s/bar ratio 0.35');
    expect(conductance!.nominal).toBeCloseTo(5e-8, 20);
    expect(ratio!.nominal).toBe(0.35);
    expect(door('conductance 300 L/min/bar ratio 0.35').conductance!.nominal).toBeCloseTo(5e-8, 20);
    expect(door('conductance 18 m3/h/bar ratio 0.35').conductance!.nominal).toBeCloseTo(5e-8, 20);
  });

  it.each([
    ['bore 10 mm leak 0.5 %', 'share', 0.005],
    ['leak 0.2 mm2', 'area', 2e-7],
    ['leak 0.01 L/s/bar', 'conductance', 1e-10],
  ])('%s', (properties, kind, value) => {
    const { leak } = door(properties);
    expect(leak!.kind).toBe(kind);
    expect(leak!.value.nominal).toBeCloseTo(value, 15);
  });

  it('thrust in newton', () => expect(door('thrust 1.2 kN').thrust!.nominal).toBe(1200));

  it.each([
    [
      'kv 3 m3/h conductance 5 L/s/bar ratio 0.3',
      'value/conflict "5 L/s/bar": The flow through the opening is stated twice',
    ],
    [
      'conductance 5 L/s/bar',
      'value/missing "conductance 5 L/s/bar": A conductance needs its critical back-pressure ratio',
    ],
    ['ratio 0.3', 'value/no-effect "ratio 0.3": ratio says something about conductance, which is not stated.'],
    ['kv 3 m3/h discharge 0.6', 'value/no-effect "discharge 0.6"'],
    ['leak 1 %', 'value/missing "1 %": A leak as a share needs the opening'],
    ['bore 5 mm leak 200 %', 'value/out-of-range "200 %"'],
    ['kv 3', 'unit/missing "3"'],
  ])('%s', (properties, message) => expect(problems(`door d { ${properties} }`)[0]).toContain(message));
});

describe('rates and pumps', () => {
  it.each([
    ['a feed counts free volume', () => feed('rate 10 m3/h'), 'free'],
    ['a draw counts actual volume', () => draw('rate 10 m3/h'), 'actual'],
    ['as stated: free', () => draw('rate free 10 m3/h'), 'free'],
    ['as stated: actual', () => feed('rate actual 10 m3/h'), 'actual'],
  ])('%s', (_, line, basis) => expect(line().rate).toMatchObject({ kind: 'volume_flow', basis }));

  it('a curve is pairs of pressure and flow', () => {
    const { curve, rate } = feed('curve 1 bar 10 m3/h, 3 bar 7.2 m3/h,\n 6 bar 0 m3/h');
    expect(rate).toBeNull();
    expect(curve).toMatchObject({ kind: 'volume_flow', basis: 'free' });
    expect(curve!.points.map((p) => [p.pressure.nominal, p.flow.nominal])).toEqual([
      [100_000, 10 / 3600],
      [300_000, 0.002],
      [600_000, 0],
    ]);
  });

  it('its numbers may be constants', () =>
    expect(rig('let p = 2 bar\nfeed f into a { curve p 1 kg/s, 2 * p 0 kg/s }').lines[0]!.curve!.points).toHaveLength(
      2,
    ));

  it.each([
    ['rate free 1 kg/s', 'value/no-effect "free"'],
    [
      'curve 3 bar 1 kg/s, 1 bar 2 kg/s',
      'value/conflict "1 bar": The points of a curve stand in order of rising pressure',
    ],
    ['curve 1 bar 1 kg/s, 3 bar 2 m3/h', 'value/conflict "2 m3/h": A curve counts either volumes or masses'],
    ['rate 1 kg/s curve 1 bar 1 kg/s', 'value/conflict "1 kg/s": What f moves is stated twice'],
    ['curve 1 kg/s 1 bar', 'unit/dimension "1 kg/s": 1 kg/s is a mass flow; a pressure is needed here.'],
    ['curve 1 bar', 'syntax/expected "bar": Expected a value such as 3 m3/h after bar.'],
    ['curve', 'syntax/expected "curve": Expected a value after curve'],
    ['curve 1 bar 2 m3/h, 3 bar', 'syntax/expected "bar": Expected a value such as 3 m3/h after bar.'],
  ])('%s', (properties, message) => expect(problems(`feed f into a { ${properties} }`)[0]).toContain(message));

  it('formats as it stands', () =>
    expect(formatText('rig r {\n  feed f into a { curve 1 bar 10 m3/h ,3 bar   7 m3/h }\n}\n').text).toBe(
      'rig r {\n  feed f into a { curve 1 bar 10 m3/h, 3 bar 7 m3/h }\n}\n',
    ));
});

describe('chambers', () => {
  const chamber = (properties: string) => rig(`chamber c { volume 1 m3 ${properties} }`).chambers[2]!;

  it('walls by conductance or by time', () => {
    expect(chamber('wall 12 W/K').wall!.nominal).toBe(12);
    expect(chamber('cools_in 4 min').coolsIn!.nominal).toBe(240_000_000);
  });

  it('a limit of the contents beside one of temperature', () =>
    expect(chamber('limit 80 degC limit 10 bar')).toMatchObject({
      limit: { kind: 'pressure', value: { nominal: 1_000_000 } },
      temperatureLimit: { nominal: 353.15 },
    }));

  it.each([
    ['wall 12 W/K cools_in 4 min', 'value/conflict "4 min"'],
    ['limit 80 degC limit 90 degC', 'value/repeated "limit": limit as a temperature is stated twice'],
    ['limit 10 bar limit 5 kg', 'value/repeated "5 kg": A chamber has one limit of its contents'],
    [
      'limit 2.4 m',
      'unit/dimension "2.4 m": 2.4 m is a length; a pressure, a density, a mass or a temperature is needed here. A level is limited by a requirement: require peak(c) <= 2.4 m.',
    ],
    [
      'limit 2.4 s',
      'unit/dimension "2.4 s": 2.4 s is a time; a pressure, a density, a mass or a temperature is needed here.',
    ],
  ])('%s', (properties, message) => expect(problems(`chamber c { volume 1 m3 ${properties} }`)[0]).toContain(message));
});

describe('atmosphere', () => {
  it('needs no statement', () => {
    const { chambers, stacks } = rig('door d\nstack a > d > atmosphere');
    expect(chambers[2]).toMatchObject({
      name: 'atmosphere',
      endless: true,
      volume: null,
      pressure: { nominal: 101_325 },
    });
    expect(stacks[0]!.members.map((m) => m.index)).toEqual([0, 0, 2]);
  });

  it('is no chamber where nothing names it', () => expect(rig('door d').chambers).toHaveLength(2));

  it('takes a pressure and a temperature, wherever its statement stands', () =>
    expect(
      rig('let p = 0.9 bar\ndoor d\nstack a > d > atmosphere\natmosphere { pressure p temperature 5 degC }')
        .chambers[2],
    ).toMatchObject({ pressure: { nominal: 90_000 }, temperature: { nominal: 278.15 } }));

  it('is there inside parts and as an argument', () => {
    const text = `part vent(from, to) {\ndoor d\nstack from > d > to\n}
part stub(from) {\ndoor d\nstack from > d > atmosphere\n}
rig r {\nchamber a\nplace x = vent(a, atmosphere)\nplace y = stub(a)\n}`;
    const { rig: placed } = rigFrom(text);
    expect(placed.chambers.map((c) => c.name)).toEqual(['a', 'atmosphere']);
    expect(placed.stacks.map((s) => s.members.at(-1)!.index)).toEqual([1, 1]);
  });

  it('of each rig is its own', () => {
    const text = 'rig q {\nchamber a\ndoor d\nstack a > d > atmosphere\n}\nrig r {\nchamber a\nchamber b\n}';
    expect(rigFrom(text, { name: 'r' }).rig.chambers).toHaveLength(2);
  });

  it('is hidden by a chamber of that name', () =>
    expect(
      rigFrom('rig r {\nchamber atmosphere { volume 1 m3 }\nsensor s on atmosphere { pressure above 1 bar }\n}').rig
        .chambers,
    ).toMatchObject([{ endless: false }]));

  it.each([
    ['atmosphere { pressure 1 bar }\natmosphere { pressure 2 bar }', 'value/repeated'],
    ['atmosphere { volume 1 m3 }', 'syntax/unknown-property "volume"'],
    ['atmosphere { pressure 2 s }', 'unit/dimension "2 s"'],
  ])('%s', (body, message) => expect(problems(body)[0]).toContain(message));
});
