/** Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { changed, codesOf, GAS_BANK, LOCK, look, messagesOf, problemsWith } from '../rigs';

describe('cycle/overrun', () => {
  /** hold fed by middle_on, on to 2.75 s: the next stroke comes preset + 0.05 s after that, lower is shut at 4.15 s. */
  const hold = (preset: string): string =>
    changed(
      GAS_BANK,
      ['TOF(upper_on, 10 s)', `TOF(middle_on, ${preset})`],
      ['repeat() in 10 s .. 15 s', 'repeat() <= 15 s'],
    );

  it('says when the first door opens again and what is still open', () =>
    // hold off at 2.75 + 0.8 + 0.05 = 3.60, start 3.65 - that is 3.60 after the first at 0.05 -, upper 3.70 s.
    expect(messagesOf(hold('800 ms'), 'cycle/overrun')).toEqual([
      'The next stroke starts too early: upper opens again 3.7 s after ready goes on, while lower is still open, until 4.15 s.',
    ]));

  it('is silent from the moment the last door is shut: 4.15 - 2.90 = 1.25 s', () => {
    expect(messagesOf(hold('1.25 s'), 'cycle/overrun')).toEqual([]);
    expect(messagesOf(hold('1249 ms'), 'cycle/overrun')).toHaveLength(1);
  });

  it('is silent where running into each other is wanted', () => {
    const meant = changed(hold('1.2 s'), ['gap(upper, lower) >= 100 ms', 'overlap(upper, lower) >= 1 ms']);
    expect(messagesOf(meant, 'cycle/overrun')).toEqual([]);
  });

  it('finds a door that opens again before it is shut itself', () => {
    const rushed = changed(LOCK, ['pause   = TOF(passing, 20 s)', 'pause   = TOF(yard_on, 300 ms)']);
    expect(messagesOf(rushed, 'cycle/overrun')[0]).toContain('yard_door opens again');
  });
});

describe('cycle/repeat-differs', () => {
  const unstated = changed(GAS_BANK, ['  require repeat() in 10 s .. 15 s\n', '']);

  it('gives the real interval: 10 s and 1.8 s of the way round', () => {
    const [problem] = problemsWith(look(unstated), 'cycle/repeat-differs');
    expect(problem!.severity).toBe('information');
    expect(problem!.message).toBe(
      'Strokes follow one another every 11.8 s after ready goes on, not every 10 s as the preset of hold may suggest: the rest of the cycle takes 1.8 s.',
    );
  });

  it('is said once where several sensors start the same strokes', () => {
    const twice = changed(
      unstated,
      ['  sensor ready', '  sensor calm on store { pressure below 8 bar  clears above 9 bar }\n  sensor ready'],
      ['run and ready', 'run and (ready or not calm)'],
    );
    expect(messagesOf(twice, 'cycle/repeat-differs')).toEqual([
      'Strokes follow one another every 11.8 s after calm goes off, and alike after 1 other trigger, not every 10 s as the preset of hold may suggest: the rest of the cycle takes 1.8 s.',
    ]);
  });

  it('is silent once the interval is stated', () => expect(messagesOf(GAS_BANK, 'cycle/repeat-differs')).toEqual([]));

  it('warns where a stated sequence says otherwise', () => {
    const plan = (after: string): string =>
      changed(GAS_BANK, [
        '  require overlap(upper, middle)',
        `  sequence plan {\n    at 0 s  open upper\n    at 1.65 s  close upper\n    repeat after ${after}\n  }\n  require overlap(upper, middle)`,
      ]);
    expect(messagesOf(plan('10 s'), 'cycle/repeat-differs')).toEqual([
      'Strokes follow one another every 11.8 s after ready goes on, but sequence plan says 10 s.',
    ]);
    expect(codesOf(look(plan('10 s')))).toEqual(['cycle/repeat-differs']);
    expect(messagesOf(plan('11.8 s'), 'cycle/repeat-differs')).toEqual([]);
  });

  it('warns where strokes are not evenly spaced', () => {
    // Every second stroke sets a counter's output, which holds the next one back for 5 s more.
    const uneven = changed(
      unstated,
      ['and not hold', 'and not hold and not longer'],
      [
        '  signal hold ',
        '  signal flip   = odd xor R_TRIG(start)\n  signal odd    = SR(R_TRIG(start) and not odd_late, R_TRIG(start) and odd_late)\n  signal odd_late = TON(odd, 1 s)\n  signal longer = odd and TOF(upper_on, 15 s)\n  signal hold ',
      ],
    );
    const found = problemsWith(look(uneven), 'cycle/repeat-differs').filter((p) =>
      p.message.startsWith('Strokes are not evenly spaced'),
    );
    expect(found.map((p) => p.severity)).toEqual(['warning']);
  });
});

describe('cycle/never-ends', () => {
  const stand = (running: string): string => `rig stand {
  medium air
  chamber line    { volume 1 m3   pressure 1.01325 bar }
  chamber vessel  { volume 200 L  pressure 1.01325 bar }
  door valve { pocket 5 L  travel 150 ms }
  stack line > valve > vessel
  controller { response 20 ms }
  switch halt = off
  sensor charged on line { pressure above 1.4 bar  clears below 1.2 bar }
  signal running = ${running}
  signal tick    = TP(running and not pause, 1 s)
  signal pause   = TOF(tick, 2 s)
  drive valve = tick
}
`;

  it('warns where nothing stops it, informs where a switch does', () => {
    expect(messagesOf(stand('SR(charged, off)'), 'cycle/never-ends')).toEqual([
      'valve goes on opening and closing after charged has come and gone; no switch or sensor stops it.',
    ]);
    const [problem] = problemsWith(look(stand('RS(charged, halt)')), 'cycle/never-ends');
    expect(problem!.severity).toBe('information');
    expect(problem!.message).toContain('only halt stops it');
  });

  it('is silent where the sensor stops it', () => expect(messagesOf(stand('charged'), 'cycle/never-ends')).toEqual([]));

  it('tells a rig that moves from the start', () => {
    const text = stand('not halt').replace(/ {2}sensor.*\n/, '');
    expect(messagesOf(text, 'cycle/never-ends')).toEqual([
      'valve goes on opening and closing although no sensor has changed; only halt stops it.',
    ]);
  });

  it('is silent for a rig whose sensor is on from the start', () => {
    const full = stand('charged').replace(
      'line    { volume 1 m3   pressure 1.01325 bar',
      'line    { volume 1 m3   pressure 2 bar',
    );
    expect(messagesOf(full, 'cycle/never-ends')).toEqual([]);
  });
});

const lift = (body: string): string => `rig lift {
  medium air
  chamber pit  { volume 2 m3  pressure 1 bar }
  chamber roof { volume 1 m3  pressure 1 bar }
  door upper { pocket 20 L  travel 120 ms }
  door lower { pocket 20 L  travel 120 ms }
  stack pit > upper > lower > roof
  controller { response 15 ms }
${body}
}`;
const WETTED = '  sensor wet on pit { pressure above 2 bar  clears below 1.5 bar }\n';

describe('cycle/not-worked-out', () => {
  const clocks = (second: string): string =>
    lift(`  switch run = on
  signal tick = TON(run and not tick, 70 ms)
  signal tock = TON(run and not tock, ${second})
  drive upper = tick xor tock`);

  it('is an error where the budget ends before the rig repeats', () => {
    expect(problemsWith(look(clocks('1.000007 s')), 'cycle/not-worked-out').map((p) => p.severity)).toEqual(['error']);
  });

  it('is silent where the clocks meet soon', () => {
    expect(codesOf(look(clocks('140 ms')))).not.toContain('cycle/not-worked-out');
  });

  it('comes soon also where a thousand changes are under way at once', () => {
    const text = lift(`  switch run = on
  signal fast = TON(run and not fast, 1 us) responds 0 s
  signal slow = TON(run and not slow, 900 us)
  drive upper = fast xor slow`).replace('response 15 ms', 'response 2 s');
    expect(problemsWith(look(text), 'cycle/not-worked-out')).toHaveLength(1);
  });
});

describe('cycle/never-starts', () => {
  it('names the switch that stands off, as information, and times the strokes with it thrown', () => {
    const text = lift(`${WETTED}  switch run = off
  drive upper = TP(run and wet, 1 s)
  drive lower = TP(TON(TP(run and wet, 2 s), 1.5 s), 300 ms)`);
    expect(messagesOf(text, 'cycle/never-starts')).toEqual([
      'No single change starts a stroke: it waits for run on, then wet on starts one.',
    ]);
    const { timing } = look(text).contexts[0]!.facts;
    expect(timing.strokes.map((s) => [s.trigger.name, s.strokeEnds])).toEqual([['wet', 1_965_000]]);
  });

  it('warns where a sensor has to change first', () => {
    const text = lift(`${WETTED}  sensor brim on roof { pressure above 3 bar  clears below 2 bar }
  drive upper = TP(wet and brim, 1 s)
  drive lower = TP(TON(TP(wet and brim, 2 s), 1.5 s), 300 ms)`);
    expect(problemsWith(look(text), 'cycle/never-starts').map((p) => [p.severity, p.message])).toEqual([
      ['warning', 'No single change starts a stroke: it waits for brim on, then wet on starts one.'],
    ]);
  });

  it('is silent where one sensor does', () => {
    expect(codesOf(look(lift(`${WETTED}  drive upper = TP(wet, 1 s)`)))).not.toContain('cycle/never-starts');
  });

  it('finds what many inputs together start', () => {
    const sensors = Array.from({ length: 14 }, (_, i) =>
      `  sensor s${i} on pit { pressure above ${20 + i}e-1 bar  clears below 1.5 bar }`.replace(/(\d)(\d)e-1/, '$1.$2'),
    );
    const all = sensors.map((_, i) => `s${i}`).join(' and ');
    const [message] = messagesOf(lift(`${sensors.join('\n')}\n  drive upper = TP(${all}, 1 s)`), 'cycle/never-starts');
    expect(message).toMatch(/^No single change starts a stroke: it waits for s1 on, .* then s0 on starts one\.$/);
  });
});
