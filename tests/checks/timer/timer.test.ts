/** Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { applyFix, changed, codesOf, GAS_BANK, look, messagesOf, problemsWith } from '../rigs';

/** middle_on is on 0.10–2.75 s: the on-delay of the lower door sees 2.65 s. */
const waits = (preset: string, more = ''): string =>
  changed(GAS_BANK, ['TON(middle_on, 2 s)', `TON(middle_on, ${preset})`], ['  drive upper ', `${more}  drive upper `]);

describe('timer/never-fires', () => {
  it('says by how much the pulse is too short', () =>
    expect(messagesOf(waits('3 s'), 'timer/never-fires')).toEqual([
      'lower_on/TON never runs out: it waits 3 s and its input stays on for 2.65 s, 350 ms too short.',
    ]));

  it('counts a pulse of exactly the preset as too short, and says that it is luck', () =>
    expect(messagesOf(waits('2.65 s'), 'timer/never-fires')).toEqual([
      'lower_on/TON never runs out: it waits 2.65 s and its input stays on exactly that long, which is not enough, so it may never run out.',
    ]));

  it('finds an input that goes off at the instant at which it comes on, and not only what waits for the timer', () => {
    const rig = waits('2 s').replace('response 50 ms', 'response 0 ms');
    const held = changed(rig, ['TON(middle_on, 2 s)', 'TON(start, 2 s)']);
    expect(messagesOf(held, 'timer/never-fires')).toEqual([
      'lower_on/TON never runs out: it waits 2 s and its input goes off at the very instant at which it comes on.',
    ]);
    expect(messagesOf(held, 'door/never-opens')).toHaveLength(1);
  });

  it('is silent one microsecond below', () => expect(messagesOf(waits('2649999 us'), 'timer/never-fires')).toEqual([]));

  it('is silent for a watchdog that is stated as one', () => {
    expect(messagesOf(waits('2 s', '  signal stuck = TON(middle_on, 30 s)\n'), 'timer/never-fires')).toHaveLength(1);
    const stated = waits('2 s', '  signal stuck = TON(middle_on, 30 s)\n  require margin(stuck) <= 0 s\n');
    expect(codesOf(look(stated))).toEqual([]);
  });

  it('is silent for a timer whose input does not come in a stroke at all', () =>
    expect(messagesOf(waits('2 s', '  signal off_long = TON(not run, 5 s)\n'), 'timer/never-fires')).toEqual([]));

  it('leaves the timers of a sequence alone', () => {
    const text = changed(GAS_BANK, [
      '  drive upper  = upper_on\n  drive middle = middle_on\n  drive lower  = lower_on\n',
      '  sequence go on start {\n    at 0 s  open upper\n    at 1 s  close upper\n    at 2 s  open middle, lower\n    at 3 s  close middle, lower\n  }\n',
    ]);
    expect(messagesOf(text, 'timer/never-fires')).toEqual([]);
  });
});

describe('timer/thin-margin', () => {
  it('without tolerances wants 2 % of the preset: 52 ms of 2.6 s, and there are 50 ms', () => {
    expect(messagesOf(waits('2.6 s'), 'timer/thin-margin')).toEqual([
      'lower_on/TON has hardly any margin: it waits 2.6 s and its input stays on for 2.65 s, only 50 ms longer (52 ms needed).',
    ]);
    // 2.59 s leaves 60 ms, and 2 % are 52 ms (51.8).
    expect(messagesOf(waits('2.59 s'), 'timer/thin-margin')).toEqual([]);
  });

  it('with tolerances wants what they can take: 2 % of 2.5 s and of 2.5 s is 100 ms; there are 150 ms, then 50 ms', () => {
    const accurate = (preset: string): string =>
      changed(waits(preset), ['response 50 ms', 'response 50 ms  timer_accuracy 2 %']);
    expect(messagesOf(accurate('2.5 s'), 'timer/thin-margin')).toEqual([]);
    expect(messagesOf(accurate('2.6 s'), 'timer/thin-margin')[0]).toContain('only 50 ms longer (102 ms needed)');
    // The start pulse is as long as three responses (upper_on, hold, start); the feeding element's own cancels: 3 x 30 ms, then 190 ms.
    const loose = changed(accurate('2.5 s'), ['response 50 ms', 'response 50 ms +- 30 ms']);
    expect(messagesOf(loose, 'timer/thin-margin')[0]).toContain('only 150 ms longer (190 ms needed)');
  });

  it('offers a preset that leaves just what is needed, whatever other timers lack, and to state the margin', () => {
    const text = waits('2.6 s', '  signal other = TON(upper_on, 1.78 s)\n');
    const about = (rig: string, timer: string) =>
      problemsWith(look(rig), 'timer/thin-margin').filter((p) => p.message.startsWith(timer));
    const [problem] = about(text, 'lower_on/TON');
    const fixed = problem!.fixes!.map((fix) => [fix.title, applyFix(text, fix)] as const);
    expect(fixed.map(([title]) => title)).toEqual([
      'Shorten lower_on/TON from 2.6 s to 2.59 s, so that lower_on/TON has time to spare',
      'State that 50 ms is enough margin',
    ]);
    for (const [, rig] of fixed) expect(about(rig, 'lower_on/TON')).toEqual([]);
    // The other timer is as thin as before: the goal was this one.
    expect(about(fixed[0]![1], 'other').length).toBe(about(text, 'other').length);
  });

  it('is silent where the margin is stated', () =>
    expect(messagesOf(waits('2.6 s', '  require margin(lower_on) >= 40 ms\n'), 'timer/thin-margin')).toEqual([]));

  it('is silent for a timer that ends its own input', () => {
    const beat = '  signal beat = TON(run and not beat, 8 s)\n  require pulse(beat) >= 10 ms\n';
    expect(messagesOf(waits('2 s', beat), 'timer/thin-margin')).toEqual([]);
  });
});

describe('timer/never-ends', () => {
  const hold = (expression: string): string =>
    changed(
      GAS_BANK,
      ['hold      = TOF(upper_on, 10 s)', `hold      = ${expression}`],
      ['  require repeat() in 10 s .. 15 s\n', ''],
    );

  it('finds an off-delay that feeds itself', () =>
    expect(messagesOf(hold('TOF(upper_on or hold, 10 s)'), 'timer/never-ends')).toEqual([
      'hold keeps itself on: once on, it never goes off again, whatever the sensors and switches do.',
    ]));

  it('finds it round another signal', () =>
    expect(
      messagesOf(hold('TOF(upper_on or again, 10 s)\n  signal again = hold and not lower_on'), 'timer/never-ends'),
    ).toHaveLength(1));

  it('is silent about one that is on between strokes and goes off in each', () =>
    expect(messagesOf(hold('SR(upper_on, idle)\n  signal idle = TON(not upper_on, 10 s)'), 'timer/never-ends')).toEqual(
      [],
    ));

  it('is silent where a switch releases it, and for plain feedback through the doors', () => {
    expect(messagesOf(hold('TOF(run and (upper_on or hold), 10 s)'), 'timer/never-ends')).toEqual([]);
    expect(messagesOf(GAS_BANK, 'timer/never-ends')).toEqual([]);
  });
});

describe('timer/retriggered', () => {
  // upper_on is off at 1.75 s, lower_on on at 2.20 s: 450 ms bridged by 2 s.
  const lamp = (preset: string): string =>
    changed(GAS_BANK, [
      '  drive upper ',
      `  signal lamp = TOF(upper_on or lower_on, ${preset})\n  require pulse(lamp) <= 10 s\n  drive upper `,
    ]);

  it('is information with the gap and the preset', () => {
    const [problem] = problemsWith(look(lamp('2 s')), 'timer/retriggered');
    expect(problem!.severity).toBe('information');
    expect(problem!.message).toBe(
      'lamp is started again before it runs out: its input goes off at 1.75 s and comes back 450 ms later after ready goes on, within the preset of 2 s.',
    );
  });

  it('offers a preset that runs out in between: 450 ms less 20 ms (2 % of 1 s), in the unit written', () => {
    const text = lamp('1 s');
    const fix = problemsWith(look(text), 'timer/retriggered')[0]!.fixes![0]!;
    expect(applyFix(text, fix)).toContain('lower_on, 0.43 s)');
  });

  it('is silent below the gap', () => expect(messagesOf(lamp('400 ms'), 'timer/retriggered')).toEqual([]));
});
