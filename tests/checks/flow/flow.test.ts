/** Flow checks: when they speak, when they are silent. The samples show each one with its fixes made. */
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { formatSi } from '../../../server/core/units/units';
import { applyFix, changed, look, messagesOf, problemsWith } from '../rigs';

const sample = (name: string): string =>
  readFileSync(resolve(__dirname, `../../../samples/broken/flow-${name}.rig`), 'utf8');

describe('flow/over-limit', () => {
  it('says after how many strokes', () => {
    const [message] = messagesOf(sample('over-limit'), 'flow/over-limit');
    expect(message).toMatch(
      /^store goes over its limit of 6 bar after \d+ strokes, .* from the start: nothing stops the rig there\.$/,
    );
  });
  it('is silent where a sensor stops it, and where no limit is stated', () => {
    const text = sample('over-limit');
    const stopped = changed(
      text,
      ['and not hold', 'and not full and not hold'],
      ['  switch run', '  sensor full on store { pressure above 5 bar  clears below 4.5 bar }\n  switch run'],
    );
    expect(messagesOf(stopped, 'flow/over-limit')).toEqual([]);
    expect(messagesOf(changed(text, ['  limit 6 bar', '']), 'flow/over-limit')).toEqual([]);
  });
});

describe('flow/cannot-keep-up', () => {
  it('names both rates and the interval that would do', () => {
    expect(messagesOf(sample('cannot-keep-up'), 'flow/cannot-keep-up')).toEqual([
      expect.stringMatching(
        /^receiver gets 27 g\/s and strokes every 16.1 s take 1\d\.\d+ g\/s from it at its limit. In the followed run it passes its limit of 1.8 bar and reaches 3\.\d+ bar by its end. An interval of \d\.\d+ s is short enough\.$/,
      ),
    ]);
  });
  it('is silent for less feed, where the store is drawn from', () => {
    const drawn = changed(
      sample('cannot-keep-up'),
      ['27 g/s', '8 g/s'],
      ['  controller', '  draw burner from store { rate 20 g/s  only above 1.5 bar }\n  controller'],
    );
    expect(messagesOf(drawn, 'flow/cannot-keep-up')).toEqual([]);
  });
  it('is silent where the feed waits for the strokes', () => {
    const waiting = changed(sample('cannot-keep-up'), ['27 g/s', '27 g/s  only below 1.7 bar']);
    expect(messagesOf(waiting, 'flow/cannot-keep-up')).toEqual([]);
  });
});

describe('flow/short-fill', () => {
  /** Two doors that are never open together: a lock for parts, whatever its openings. */
  const lock = `rig lock {
  medium nitrogen
  chamber cabinet { volume 800 L  pressure 1.8 bar }
  chamber tray { volume 200 L  pressure 1.2 bar }
  door inner { pocket 20 L  clearance 1 L  travel 250 ms  bore 80 mm }
  door outer { pocket 20 L  clearance 1 L  travel 250 ms  bore 80 mm }
  stack cabinet > inner > outer > tray
  switch go = off
  signal inner_on = TP(go, 900 ms)
  signal outer_on = TP(TON(go, 1.6 s), 900 ms)
  drive inner = inner_on
  drive outer = outer_on
}`;
  it('is silent where a stroke moves nothing whatever the openings', () => {
    expect(messagesOf(lock, 'flow/short-fill')).toEqual([]);
  });
  it('speaks where the same doors hand a pocket on', () => {
    const pump = changed(
      lock,
      [
        'stack cabinet > inner > outer',
        'door last { pocket 20 L  travel 250 ms  bore 20 mm }\n  stack cabinet > inner > outer > last',
      ],
      ['TON(go, 1.6 s), 900 ms)', 'TON(go, 600 ms), 1.6 s)'],
      ['drive inner', 'drive last = TP(TON(go, 1.6 s), 900 ms)\n  drive inner'],
    );
    expect(messagesOf(pump, 'flow/short-fill')).not.toEqual([]);
  });
});

describe('flow/stalls', () => {
  it('names the ceiling of the repeating stroke', () => {
    expect(messagesOf(sample('stalls'), 'flow/stalls')[0]).toContain(
      'once it is at 5.192 bar, below its limit of 10 bar',
    );
  });
  it('says with which source, and what the followed rig comes to where its feed goes beyond that', () => {
    expect(messagesOf(sample('stalls'), 'flow/stalls')[0]).toMatch(
      /, with receiver at 1.5 bar, where a stroke starts\.$/,
    );
    const fed = changed(sample('stalls'), [
      '  door upper',
      '  feed line into receiver { rate 60 g/s  only below 2 bar }\n\n  door upper',
    ]);
    const { filling } = look(fed).contexts[0]!.facts.flow!;
    const most = formatSi(filling!.highest[1]!.pressure!, 'pressure');
    expect(messagesOf(fed, 'flow/stalls')[0]).toContain(`the ceiling rises to ${most}.`);
    expect(filling!.highest[1]!.pressure).toBeGreaterThan(5.192e5);
  });
  it('is silent with a lower limit or a smaller clearance', () => {
    expect(messagesOf(changed(sample('stalls'), ['limit 10 bar', 'limit 5 bar']), 'flow/stalls')).toEqual([]);
    const small = sample('stalls').replaceAll('clearance 80 L', 'clearance 20 L');
    expect(messagesOf(small, 'flow/stalls')).toEqual([]);
  });
});

describe('flow/stalls of strokes that bring nothing', () => {
  const pump = (close: string): string => `rig pump_house {
  medium water
  chamber sump { volume 4 m3  level 1 m }
  chamber tank { volume 2 m3  level 0 m }
  door inlet  { pocket 50 L  travel 400 ms }
  door middle { pocket 50 L  travel 400 ms }
  door outlet { pocket 50 L  travel 400 ms }
  stack sump > inlet > middle > outlet > tank
  sensor wet on sump { level above 1.2 m  clears below 0.6 m }
  sequence stroke on wet {
    at 0 s      open inlet
    at 1.6 s    open middle
    at ${close} close inlet
    at 4 s      open outlet
    at 4.9 s    close middle
    at 7 s      close outlet
    repeat after 10 s
  }
}`;
  it('speaks where the inlet is shut (1.4 s) before the next door opens', () =>
    expect(messagesOf(pump('1 s'), 'flow/stalls')).toEqual([
      'A stroke brings nothing from sump to tank: each pocket is pushed back to where it was filled from. Open the next door before the one in front of it closes.',
    ]));
  it('is silent where the pockets are handed on', () => expect(messagesOf(pump('2.6 s'), 'flow/stalls')).toEqual([]));
});

describe('flow/short-fill', () => {
  it('names how far it got', () =>
    expect(messagesOf(sample('short-fill'), 'flow/short-fill')[0]).toContain(
      'The pocket of upper has pushed out only',
    ));
  it('is silent for a wide door, and where no opening is stated', () => {
    expect(messagesOf(sample('short-fill').replaceAll('bore 25 mm', 'bore 300 mm'), 'flow/short-fill')).toEqual([]);
    expect(messagesOf(sample('short-fill').replaceAll('  bore 25 mm', ''), 'flow/short-fill')).toEqual([]);
  });
});

describe('flow/reverse, flow/leak, flow/over-supply, flow/value', () => {
  it('speak', () => {
    expect(messagesOf(sample('reverse'), 'flow/reverse')[0]).toContain(
      'out of store instead of bringing some from receiver',
    );
    expect(messagesOf(sample('leak'), 'flow/leak')[0]).toContain(
      'store is tight for a liquid only, and methane is a gas',
    );
    // Two doors of 130 kW and the blower of 600 W.
    expect(messagesOf(sample('over-supply'), 'flow/over-supply')).toEqual([
      'The rig takes up to 260.6 kW at one moment of a stroke; the supply gives 250 kW.',
    ]);
    expect(messagesOf(sample('value'), 'flow/value')).toHaveLength(1);
  });
  it('are silent for the same rig put right', () => {
    expect(messagesOf(changed(sample('leak'), ['tight liquid', 'tight gas']), 'flow/leak')).toEqual([]);
    expect(messagesOf(changed(sample('over-supply'), ['limit 250 kW', 'limit 261 kW']), 'flow/over-supply')).toEqual(
      [],
    );
    // 260.6 kW to two figures, rounded up.
    const [fix] = problemsWith(look(sample('over-supply')), 'flow/over-supply')[0]!.fixes!;
    expect(fix!.title).toBe('Raise the limit of the supply to 270 kW');
    expect(messagesOf(applyFix(sample('over-supply'), fix!), 'flow/over-supply')).toEqual([]);
    expect(messagesOf(changed(sample('value'), ['> lower\n', '> lower > store\n']), 'flow/value')).toEqual([]);
    const forwards = changed(sample('reverse'), [
      'stack receiver > upper > middle > lower > store',
      'stack receiver > lower > middle > upper > store',
    ]);
    expect(messagesOf(forwards, 'flow/reverse')).toEqual([]);
  });
});

describe('flow/overflow, flow/force, flow/squeezed, flow/temperature', () => {
  it('takes no pocket for squeezed that comes to what the chamber of the trigger holds', () => {
    // The stroke after `full` starts with 5 bar in the kiln, which held 1 bar at the start; the pocket of the outer door comes to 4.1 bar.
    const text = `rig kiln_lock "Argon lock of a kiln" {
  medium argon
  chamber header { volume 1.2 m3  pressure 2 bar }
  chamber kiln   { volume 400 L   pressure 1 bar  limit 6 bar }
  door outer { pocket 25 L  clearance 1 L  travel 300 ms  bore 80 mm }
  door mid   { pocket 25 L  clearance 1 L  travel 300 ms  bore 80 mm }
  door inner { pocket 25 L  clearance 1 L  travel 300 ms  bore 80 mm }
  stack header > outer > mid > inner > kiln
  feed supply into header { rate 0.03 kg/s  only below 2.4 bar }
  controller { response 25 ms }
  switch go = on
  sensor ready on header { pressure above 1.8 bar  clears below 1.6 bar }
  sensor full  on kiln   { pressure above 5 bar    clears below 4.6 bar }
  signal start    = go and ready and not full and not rest
  signal outer_on = TP(start, 1.6 s)
  signal mid_on   = TOF(outer_on, 1.4 s)
  signal inner_on = TOF(TON(mid_on, 1.7 s), 700 ms)
  signal rest     = TOF(mid_on, 5 s)
  drive outer = outer_on
  drive mid   = mid_on
  drive inner = inner_on
  require gap(outer, inner) >= 200 ms
  require overlap(mid, inner) >= 100 ms
  require repeat() in 7 s .. 9 s
}
`;
    expect(messagesOf(text, 'flow/squeezed')).toEqual([]);
  });

  it('speak', () => {
    // Room: 2 m3 of water at 998.2 kg/m3.
    expect(messagesOf(sample('overflow'), 'flow/overflow')[0]).toMatch(/^pit has room for 1996 kg/);
    // The lower door: bore 200 mm are 314.2 cm2.
    expect(messagesOf(sample('force'), 'flow/force')[0]).toMatch(/^lower opens against .* on 314\.2 cm2/);
    // The lower door closes 57 L in 0.4 s on a store at 4 bar: about 57 kW.
    const weak = changed(sample('force'), ['thrust 3 kN', 'power moving 1 kW']);
    expect(messagesOf(weak, 'flow/force')[0]).toMatch(/^lower needs up to .* kW to push out .* stated power is 1 kW/);
    expect(messagesOf(sample('squeezed'), 'flow/squeezed')).toHaveLength(2);
    // A door that turns round before it is fully open starts to close from what its pocket holds then: between the two chambers.
    const turns = (ms: number): string => `rig pair {
      medium air
      chamber a { volume 6 m3  pressure 1.6 bar }
      chamber b { volume 2 m3  pressure 1.6 bar }
      door u { pocket 200 L  travel 300 ms  bore 300 mm }
      door l { pocket 200 L  travel 300 ms  bore 300 mm }
      stack a > u > l > b
      sensor go on a { pressure above 1.5 bar  clears below 1.3 bar }
      signal both = TP(go, ${ms} ms)
      drive u = both
      drive l = both
    }`;
    for (const ms of [200, 400]) {
      const said = messagesOf(turns(ms), 'flow/squeezed');
      expect(said.length).toBeGreaterThan(0);
      for (const message of said) expect(Number(/from ([\d.]+) bar/.exec(message)![1])).toBeCloseTo(1.55, 0);
    }
    expect(messagesOf(sample('temperature'), 'flow/temperature')[0]).toMatch(/^high gets as hot as .* its limit is 60/);
  });
  it('names a chamber that goes on being fed when the strokes have stopped', () => {
    // The sensor is on from 600 mm on and never clears: one stroke, then the well runs on. Room: 2 m3 of water at 12 degC.
    const lift = `rig lift {
      medium water { temperature 12 degC }
      chamber sump { volume 2 m3  floor_area 1.6 m2  level 300 mm }
      chamber tank { volume 3 m3  floor_area 1.5 m2  level 200 mm }
      door foot { travel 400 ms  bore 100 mm }
      stack sump > foot > tank
      feed well into sump { rate 3 kg/s }
      sensor high on sump { level above 600 mm  clears below 300 mm }
      drive foot = TP(high, 5 s)
    }`;
    expect(messagesOf(lift, 'flow/overflow')).toEqual([
      'sump goes on being fed after 1 stroke, when no further one starts, and nothing stops the feed: it has room for 1999 kg, then the liquid overflows.',
    ]);
    expect(
      messagesOf(
        changed(lift, ['TP(high,', 'TP(high and run,'], ['      drive', '      switch run = off\n      drive']),
        'flow/overflow',
      )[0],
    ).toMatch(/^sump goes on being fed although no stroke starts/);
    expect(messagesOf(changed(lift, ['rate 3 kg/s', 'rate 3 kg/s  only below 1 m']), 'flow/overflow')).toEqual([]);
  });
  it('are silent where it is sound', () => {
    expect(messagesOf(changed(sample('overflow'), ['rate 6 kg/s', 'rate 1 kg/s']), 'flow/overflow')).toEqual([]);
    expect(messagesOf(changed(sample('force'), ['thrust 3 kN', 'thrust 30 kN']), 'flow/force')).toEqual([]);
    expect(messagesOf(changed(sample('force'), ['thrust 3 kN', 'power moving 100 kW']), 'flow/force')).toEqual([]);
    expect(messagesOf(sample('squeezed').replaceAll('bore 18 mm', 'bore 200 mm'), 'flow/squeezed')).toEqual([]);
    const cool = changed(sample('temperature'), ['limit 60 degC', 'limit 400 degC']);
    expect(messagesOf(cool, 'flow/temperature')).toEqual([]);
  });
});
