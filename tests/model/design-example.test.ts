/** The worked example of the language, resolved in full and compared with figures worked by hand. Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { rigFrom } from '../support/rig';
import { networkLines } from '../support/network-lines';

const TEXT = `rig biogas_bank "Digester gas bank" {
  medium biogas gas {
    molar_mass   27.2 g/mol
    heat_ratio   1.30
    temperature  35 degC
  }
  let settle = 1.5 s
  let swept  = 250 L
  chamber receiver { volume 6 m3    pressure 1.02 bar }
  chamber store    { volume 1.5 m3  pressure 1.02 bar   limit 10 bar }
  door upper  { pocket swept  travel 300 ms  bore 300 mm }
  door middle { pocket swept  travel 300 ms  bore 300 mm }
  door lower  { pocket swept  travel 300 ms  bore 300 mm  rest closed }
  stack receiver > upper > middle > lower > store
  feed digester into receiver { rate 0.12 kg/s }
  draw burner   from store    { rate 0.05 kg/s  only above 3 bar }
  controller { response 50 ms +- 10 ms   timer_accuracy 2 % }
  switch run = on
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }
  signal start     = run and ready and not hold
  signal upper_on  = TOF(start, settle)
  signal middle_on = TOF(start, 2.5 s)
  signal lower_on  = TOF(TON(middle_on, 2.0 s), 1.0 s)
  signal hold      = TOF(upper_on, 10 s)
  drive upper  = upper_on
  drive middle = middle_on
  drive lower  = lower_on
  require overlap(upper, middle) >= 1.0 s
  require overlap(middle, lower) in 50 ms .. 400 ms
  require gap(upper, lower) >= 100 ms
  require order(upper opens, upper closes, lower opens, middle closes, lower closes)
  require repeat() in 10 s .. 15 s
  require time_to(store, 6 bar) <= 15 min
  require peak(store) <= 10 bar
  scenario morning {
    at 0 s     feed digester on
    at 40 min  feed digester off
    at 55 min  switch run off
    for 1 h
  }
}
`;
const { rig } = rigFrom(TEXT);
const written = (at: { start: number; end: number }): string => TEXT.slice(at.start, at.end);

describe('the worked example', () => {
  // Accuracy 2 %: 1.5 s +- 30 ms, 2.5 s +- 50 ms, 2 s +- 40 ms, 1 s +- 20 ms, 10 s +- 200 ms.
  it('has the network of the text, presets widened by the timer accuracy', () =>
    expect(networkLines(rig)).toEqual([
      'start = LOGIC(run and ready and not hold) responds 50 ms (40 ms to 60 ms)',
      'upper_on = TOF(start, 1.5 s (1.47 s to 1.53 s)) responds 50 ms (40 ms to 60 ms)',
      'middle_on = TOF(start, 2.5 s (2.45 s to 2.55 s)) responds 50 ms (40 ms to 60 ms)',
      'lower_on/TON = TON(middle_on, 2 s (1.96 s to 2.04 s)) responds 50 ms (40 ms to 60 ms)',
      'lower_on = TOF(lower_on/TON, 1 s (980 ms to 1.02 s)) responds 50 ms (40 ms to 60 ms)',
      'hold = TOF(upper_on, 10 s (9.8 s to 10.2 s)) responds 50 ms (40 ms to 60 ms)',
      'drive upper = upper_on',
      'drive middle = middle_on',
      'drive lower = lower_on',
    ]));

  it('has its medium', () => {
    expect(rig.medium).toMatchObject({ name: 'biogas', phase: 'gas', law: 'ideal', dataSource: '' });
    expect(rig.medium!.molarMass!.nominal).toBe(0.0272);
    expect(rig.medium!.heatRatio!.nominal).toBe(1.3);
    expect(rig.medium!.temperature!.nominal).toBe(308.15);
  });

  it('has its chambers and doors in SI', () => {
    expect(rig.chambers.map((c) => [c.name, c.volume!.nominal, c.pressure!.nominal])).toEqual([
      ['receiver', 6, 102_000],
      ['store', 1.5, 102_000],
    ]);
    expect(rig.chambers[1]!.limit).toMatchObject({ kind: 'pressure', value: { nominal: 1_000_000 } });
    for (const door of rig.doors) {
      expect(door).toMatchObject({ rest: 'closed', opensIn: { nominal: 300_000 }, closesIn: { nominal: 300_000 } });
      expect(door.pocket!.nominal).toBe(0.25);
      // pi / 4 x 0.3^2
      expect(door.area!.nominal).toBeCloseTo(0.0706858, 7);
    }
  });

  it('has its stack, feed and draw', () => {
    const members = rig.stacks[0]!.members.map((m) => (m.kind === 'door' ? rig.doors : rig.chambers)[m.index]!.name);
    expect(members).toEqual(['receiver', 'upper', 'middle', 'lower', 'store']);
    expect(rig.lines).toMatchObject([
      { name: 'digester', kind: 'feed', chamber: 0, rate: { kind: 'mass_flow', value: { nominal: 0.12 } }, only: null },
      {
        name: 'burner',
        kind: 'draw',
        chamber: 1,
        only: { sensed: 'pressure', side: 'above', value: { nominal: 300_000 } },
      },
    ]);
  });

  it('has its sensor with hysteresis, off at the start (1.02 bar is not above 1.5 bar)', () => {
    expect(rig.sensors[0]).toMatchObject({
      name: 'ready',
      chamber: 0,
      on: { sensed: 'pressure', side: 'above', value: { nominal: 150_000 } },
      clears: { sensed: 'pressure', side: 'below', value: { nominal: 130_000 } },
      initiallyOn: false,
    });
    expect(rig.switches[0]).toMatchObject({ name: 'run', initial: true });
  });

  it('has its requirements as numbers, times in microseconds', () => {
    expect(
      rig.requirements.map((r) => [
        r.metric,
        r.comparison?.operator,
        r.comparison?.low.nominal,
        r.comparison?.high.nominal,
      ]),
    ).toEqual([
      ['overlap', '>=', 1_000_000, 1_000_000],
      ['overlap', 'in', 50_000, 400_000],
      ['gap', '>=', 100_000, 100_000],
      ['order', undefined, undefined, undefined],
      ['repeat', 'in', 10_000_000, 15_000_000],
      ['time_to', '<=', 900_000_000, 900_000_000],
      ['peak', '<=', 1_000_000, 1_000_000],
    ]);
    expect(rig.requirements[3]!.args.map((a) => (a.kind === 'event' ? `${a.name} ${a.event}` : a.kind))).toEqual([
      'upper opens',
      'upper closes',
      'lower opens',
      'middle closes',
      'lower closes',
    ]);
    expect(rig.requirements[5]!.args).toMatchObject([
      { kind: 'item', of: 'chamber', index: 1, name: 'store' },
      { kind: 'quantity', dimension: 'pressure', value: { nominal: 600_000 } },
    ]);
    expect(rig.requirements[2]!.text).toBe('gap(upper, lower) >= 100 ms');
  });

  it('has its scenario', () =>
    expect(rig.scenarios[0]).toMatchObject({
      name: 'morning',
      duration: { nominal: 3_600_000_000 },
      steps: [
        { at: { nominal: 0 }, action: 'feed', target: 0, on: true },
        { at: { nominal: 2_400_000_000 }, action: 'feed', target: 0, on: false },
        { at: { nominal: 3_300_000_000 }, action: 'switch', target: 0, on: false },
      ],
    }));

  it('places values where they are written', () => {
    const preset = rig.network.elements[1]!.preset!;
    expect(written(preset.at)).toBe('settle');
    expect(written(rig.doors[0]!.pocket!.at)).toBe('swept');
    expect(written(rig.sensors[0]!.on!.value.at)).toBe('1.5 bar');
    expect(written(rig.network.elements[3]!.at)).toBe('TON(middle_on, 2.0 s)');
    expect(written(rig.signals[0]!.at)).toBe('start');
  });
});
