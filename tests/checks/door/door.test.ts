/** Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { applyFix, changed, codesOf, GAS_BANK, LOCK, look, messagesOf, problemsWith } from '../rigs';

const UNSTATED = changed(GAS_BANK, ['  require gap(upper, lower) >= 100 ms\n', '']);
/** A lock whose switch is for other tests: nothing reads it in this one. */
const withoutSwitch = (text: string): string => changed(text, ['  switch open_up = off\n', '']);
/** With the on-delay at 1.75 s lower leaves its seat at 0.10 + 1.75 + 0.05 + 0.05 = 1.95 s; upper is shut at 2.05 s. */
const LAPPED = changed(UNSTATED, ['TON(middle_on, 2 s)', 'TON(middle_on, 1.75 s)']);

describe('door/overlap', () => {
  it('names both doors, the time, its length and the timers', () => {
    const looked = look(LAPPED);
    const [problem] = problemsWith(looked, 'door/overlap');
    expect(problem!.message).toBe(
      'upper and lower are open together from 1.95 s to 2.05 s (100 ms) after ready goes on, never both fully open, and nothing says that they should be: lower opens by lower_on/TON (1.75 s), upper closes by upper_on (1.5 s).',
    );
    expect(problem!.related!.map((r) => LAPPED.slice(r.at.start, r.at.end))).toEqual(['1.75 s', '1.5 s']);
  });

  it('is silent one microsecond after: lower leaves its seat as upper is shut', () => {
    // 2.05 - 0.20 = 1.85 s.
    expect(messagesOf(changed(UNSTATED, ['TON(middle_on, 2 s)', 'TON(middle_on, 1.85 s)']), 'door/overlap')).toEqual(
      [],
    );
    expect(
      messagesOf(changed(UNSTATED, ['TON(middle_on, 2 s)', 'TON(middle_on, 1849999 us)']), 'door/overlap'),
    ).toHaveLength(1);
  });

  it.each([
    'require overlap(upper, lower) <= 1 s',
    'require gap(lower, upper) >= 1 s',
    'require order(upper closes, lower opens)',
    'require never(upper and middle and lower)',
  ])('is silent once stated: %s', (statement) => {
    const text = changed(LAPPED, ['  require repeat', `  ${statement}\n  require repeat`]);
    expect(messagesOf(text, 'door/overlap')).toEqual([]);
  });

  it('is not silenced by a statement about another pair', () => {
    expect(
      messagesOf(
        changed(LAPPED, ['  require repeat', '  require never(upper and hold)\n  require repeat']),
        'door/overlap',
      ),
    ).toHaveLength(1);
  });

  it('is silent for a pair that a sequence opens together', () => {
    const text = changed(GAS_BANK, [
      '  require overlap(upper, middle) >= 1 s\n',
      '  sequence plan {\n    at 0 s  open upper, middle\n    at 1.65 s  close upper\n    at 2.65 s  close middle\n  }\n',
    ]);
    expect(messagesOf(text, 'door/overlap')).toEqual([]);
  });

  it('does not pair doors across a chamber', () => {
    const text = changed(
      LAPPED,
      ['  door upper ', '  chamber between { volume 1 m3 }\n  door upper '],
      ['stack receiver > upper > middle > lower > store', 'stack receiver > upper > middle > between > lower > store'],
    );
    expect(messagesOf(text, 'door/overlap')).toEqual([]);
  });

  it('goes through pairs in the order of the stack, and names the door that opens first', () => {
    const four = `rig four {
  medium air
  chamber one { volume 1 m3  pressure 1 bar }
  chamber two { volume 1 m3  pressure 1 bar }
  door d { pocket 10 L  travel 100 ms }
  door b { pocket 10 L  travel 100 ms }
  door c { pocket 10 L  travel 100 ms }
  door a { pocket 10 L  travel 100 ms }
  stack one > a > b > c > d > two
  controller { response 10 ms }
  sensor full on one { pressure above 3 bar  clears below 2.5 bar }
  drive c = TP(full, 900 ms)
  drive b = TP(TON(full, 200 ms), 500 ms)
  drive a = TP(TON(full, 400 ms), 300 ms)
  drive d = TP(TON(full, 2 s), 300 ms)
}
`;
    expect(messagesOf(four, 'door/overlap').map((m) => m.slice(0, 7))).toEqual(['b and a', 'c and a', 'c and b']);
  });

  it('goes through the pairs of one door in the order of the stack, whichever it meets first', () => {
    const four = `rig four {
  medium air
  chamber one { volume 1 m3  pressure 1 bar }
  chamber two { volume 1 m3  pressure 1 bar }
  door a { pocket 10 L  travel 100 ms }
  door b { pocket 10 L  travel 100 ms }
  door c { pocket 10 L  travel 100 ms }
  door d { pocket 10 L  travel 100 ms }
  stack one > a > b > c > d > two
  controller { response 10 ms }
  sensor full on one { pressure above 3 bar  clears below 2.6 bar }
  drive a = TP(TON(full, 2 s), 300 ms)
  drive b = TP(full, 900 ms)
  drive d = TP(TON(full, 200 ms), 500 ms)
  drive c = TP(TON(full, 400 ms), 300 ms)
}
`;
    expect(messagesOf(four, 'door/overlap').map((m) => m.slice(0, 7))).toEqual(['b and c', 'b and d', 'd and c']);
  });

  it('parts them by the preset: 100 ms too long and 100 ms apart, either timer', () => {
    const fixes = problemsWith(look(LAPPED), 'door/overlap')[0]!.fixes!;
    expect(fixes.map((f) => f.title)).toEqual([
      'State that upper and lower must stay apart',
      'Lengthen lower_on/TON from 1.75 s to 1.95 s, so that upper and lower are apart',
      'Shorten upper_on from 1.5 s to 1.3 s, so that upper and lower are apart',
    ]);
    for (const fix of fixes) expect(messagesOf(applyFix(LAPPED, fix), 'door/overlap'), fix.title).toEqual([]);
    expect(applyFix(LAPPED, fixes[0]!)).toContain(
      '\n  require repeat() in 10 s .. 15 s\n  require gap(upper, lower) >= 100 ms\n',
    );
  });

  it('keeps the unit that was written, and constants: changed where used once, summed where used twice', () => {
    const fixed = (text: string): string => applyFix(text, problemsWith(look(text), 'door/overlap')[0]!.fixes!.at(-1)!);
    expect(fixed(changed(LAPPED, ['TOF(start, 1.5 s)', 'TOF(start, 1500 ms)']))).toContain('TOF(start, 1300 ms)');
    const once = changed(
      LAPPED,
      ['  controller', '  let settle = 1.5 s # wanted\n  controller'],
      ['TOF(start, 1.5 s)', 'TOF(start, settle)'],
    );
    expect(fixed(once)).toContain('let settle = 1.3 s # wanted');
    const twice = changed(once, ['TOF(start, 2.5 s)', 'TOF(start, settle + 1 s)']);
    expect(fixed(twice)).toContain('TOF(start, settle - 200 ms)');
  });
});

describe('door/straight-through', () => {
  // Both sides at once: the yard door 0.08 s on, the hall door 2 s later.
  const open = changed(
    LOCK,
    ['TON(passing, 5 s)', 'TON(passing, 1 s)'],
    ['  require gap(yard_door, hall_door) >= 500 ms\n', ''],
  );

  it('names the chambers and the time', () => {
    // yard_on: asked at 0.04, TP at 0.08, off at 3.08 + 0.04... shut at 3.88 s; hall: passing 0.08, TON 1.12, TP 1.16 s.
    expect(messagesOf(open, 'door/straight-through')).toEqual([
      'yard_door and hall_door are both open from 1.16 s to 3.88 s (2.72 s) after waiting goes on: a path straight through from yard to hall.',
    ]);
  });

  it('is the only finding of a pair that is all there is', () =>
    expect(codesOf(look(withoutSwitch(open)))).toEqual(['door/straight-through']));

  it('is meant only where every pair is wanted open', () => {
    const meant = changed(open, [
      '  require repeat',
      '  require overlap(yard_door, hall_door) >= 100 ms\n  require repeat',
    ]);
    expect(codesOf(look(withoutSwitch(meant)))).toEqual([]);
    const three = changed(
      GAS_BANK,
      ['TON(middle_on, 2 s)', 'TON(middle_on, 1 s)'],
      ['gap(upper, lower) >= 100 ms', 'order(upper opens, lower opens)'],
    );
    expect(messagesOf(three, 'door/straight-through')).toHaveLength(1);
  });

  it('speaks once for triggers that open the path alike, and counts the others', () => {
    const more = (count: number): string => {
      const names = Array.from({ length: count }, (_, i) => `bell_${i + 1}`);
      const sensors = names.map(
        (name) => `  sensor ${name} on yard { pressure above 1.03 bar  clears below 1.015 bar }\n`,
      );
      return changed(
        open,
        ['  signal asked ', `${sensors.join('')}  signal asked `],
        ['= waiting and not pause', `= (${['waiting', ...names].join(' or ')}) and not pause`],
      );
    };
    expect(messagesOf(more(1), 'door/straight-through')).toEqual([
      'yard_door and hall_door are both open from 1.16 s to 3.88 s (2.72 s) after waiting goes on, and alike after 1 other trigger: a path straight through from yard to hall.',
    ]);
    expect(messagesOf(more(2), 'door/straight-through')[0]).toContain('and alike after 2 other triggers');
  });

  it('leaves a single door alone', () => {
    const single = changed(
      open,
      ['yard > yard_door > hall_door > hall', 'yard > yard_door > hall'],
      ['  door hall_door  { pocket 40 L  travel 800 ms }\n', ''],
      ['  drive hall_door = hall_on\n', ''],
    );
    expect(messagesOf(single, 'door/straight-through')).toEqual([]);
  });
});

describe('door/trapped-pocket', () => {
  // Middle closes 2.75-3.05 s; with the on-delay at 2.4 s lower leaves its seat at 2.60 s, with 2.6 s at 2.80 s.
  const lowerAt = (preset: string): string =>
    changed(
      GAS_BANK,
      ['TON(middle_on, 2 s)', `TON(middle_on, ${preset})`],
      ['  require overlap(middle, lower) >= 50 ms\n', '  require order(upper opens, lower opens)\n'],
    );

  it('says for how long of the movement both sides are shut', () => {
    expect(messagesOf(lowerAt('2.55 s'), 'door/trapped-pocket')).toEqual([]);
    const found = messagesOf(
      changed(
        lowerAt('2.55 s'),
        ['middle_on = TOF(start, 2.5 s)', 'middle_on = TOF(start, 2.5 s)\n  signal wait = TOF(start, 2.6 s)'],
        ['TON(middle_on, 2.55 s)', 'TON(wait, 2.6 s)'],
      ),
      'door/trapped-pocket',
    );
    expect(found).toEqual([
      'middle closes from 2.75 s to 2.8 s (50 ms) after ready goes on while upper and lower are shut on either side: what is in its pocket has nowhere to go.',
    ]);
  });

  it('is an error for a liquid, which also needs a way on to a chamber', () => {
    const late = changed(lowerAt('2.55 s'), ['TON(middle_on, 2.55 s)', 'TON(hold, 3 s)']);
    expect(problemsWith(look(late), 'door/trapped-pocket')[0]!.severity).toBe('warning');
    const liquid = changed(late, ['medium methane', 'medium water']);
    expect(problemsWith(look(liquid), 'door/trapped-pocket')[0]!.severity).toBe('error');
    // Four doors: the second closes into the third's open pocket, but the fourth is shut. A gas goes there, water cannot.
    const four = changed(
      GAS_BANK,
      ['  door lower ', '  door last    { pocket 250 L  travel 300 ms }\n  door lower '],
      ['middle > lower > store', 'middle > lower > last > store'],
      ['  drive lower ', '  signal last_on = TOF(TON(hold, 6 s), 1 s)\n  drive last = last_on\n  drive lower '],
    );
    const of = (text: string): string[] => messagesOf(text, 'door/trapped-pocket').map((m) => m.split(' ')[0]!);
    expect(of(four)).toEqual(['lower']);
    expect(of(changed(four, ['medium methane', 'medium water']))).toEqual(['middle', 'lower']);
  });

  it('leaves doors next to a chamber, and doors without a pocket, alone', () => {
    expect(messagesOf(LOCK, 'door/trapped-pocket')).toEqual([]);
    const flat = changed(
      lowerAt('2.55 s'),
      ['TON(middle_on, 2.55 s)', 'TON(hold, 3 s)'],
      ['door middle  { pocket 250 L', 'door middle  {'],
    );
    expect(messagesOf(flat, 'door/trapped-pocket')).toEqual([]);
  });
});

describe('door/never-opens', () => {
  it('says what never comes', () => {
    const text = changed(
      GAS_BANK,
      ['  drive lower  = lower_on', '  drive lower  = lower_on and not run'],
      ['  require gap(upper, lower) >= 100 ms\n', ''],
      ['  require overlap(middle, lower) >= 50 ms\n', ''],
    );
    expect(messagesOf(changed(text, ['not run', 'not lower_on']), 'door/never-opens')).toHaveLength(1);
  });

  it('leaves doors alone that a switch opens, or a switch with the sensor', () => {
    const text = (drive: string): string =>
      changed(LOCK, ['  drive hall_door = hall_on', `  drive hall_door = ${drive}`]);
    expect(messagesOf(text('hall_on and open_up'), 'door/never-opens')).toEqual([]);
    expect(messagesOf(text('open_up'), 'door/never-opens')).toEqual([]);
    expect(messagesOf(text('open_up and not open_up'), 'door/never-opens')).toHaveLength(1);
  });
});

describe('door/too-short', () => {
  // 0.10-0.25 s: driven for 150 ms out of 300.
  const short = (preset: string): string =>
    changed(
      GAS_BANK,
      ['signal upper_on  = TOF(start, 1.5 s)', `signal upper_on  = TP(start, ${preset})`],
      ['  require overlap(upper, middle) >= 1 s\n', '  require order(upper opens, middle closes)\n'],
      ['repeat() in 10 s .. 15 s', 'repeat() >= 9 s'],
    );

  it('says by how much', () =>
    expect(messagesOf(short('150 ms'), 'door/too-short')).toEqual([
      'upper is driven for 150 ms from 100 ms after ready goes on and needs 300 ms to open, so it turns round 150 ms before it is fully open.',
    ]));

  it('is silent where it just arrives', () => {
    expect(messagesOf(short('301 ms'), 'door/too-short')).toEqual([]);
    expect(messagesOf(short('299 ms'), 'door/too-short')).toHaveLength(1);
  });
});

describe('door/left-open', () => {
  const idle = changed(
    LOCK,
    ['  drive hall_door = hall_on', '  drive hall_door = not hall_on'],
    ['  require gap(yard_door, hall_door) >= 500 ms\n', '  require overlap(yard_door, hall_door) >= 100 ms\n'],
  );

  it('finds a door that is open at rest', () =>
    expect(messagesOf(idle, 'door/left-open')[0]).toMatch(
      /^hall_door stands open while the rig waits for its trigger: .* is on at rest\.$/,
    ));

  it('is silent where that is stated', () => {
    const stated = changed(idle, ['  require repeat', '  require stands_open(hall_door)\n  require repeat']);
    expect(codesOf(look(withoutSwitch(stated)))).toEqual([]);
    const rests = changed(idle, ['door hall_door  { pocket 40 L', 'door hall_door  { rest open  pocket 40 L']);
    expect(messagesOf(rests, 'door/left-open')).toEqual([]);
  });

  it('leaves a door alone that a sensor holds open until it changes, or a switch by its position', () => {
    const inlet = (drive: string): string =>
      changed(
        LOCK,
        ['drive hall_door = hall_on', `drive hall_door = ${drive}`],
        ['  require gap(yard_door, hall_door) >= 500 ms\n', '  require overlap(yard_door, hall_door) >= 0 s\n'],
      );
    expect(messagesOf(inlet('not waiting'), 'door/left-open')).toEqual([]);
    expect(messagesOf(inlet('TOF(not waiting, 2 s)'), 'door/left-open')).toEqual([]);
    const byHand = changed(inlet('open_up'), ['switch open_up = off', 'switch open_up = on']);
    expect(messagesOf(byHand, 'door/left-open')).toEqual([]);
    expect(messagesOf(inlet('not TP(waiting, 2 s)'), 'door/left-open')).toHaveLength(1);
  });

  it('inverts a longer drive in brackets, and a negated one by dropping the not', () => {
    const fixed = (text: string): string =>
      applyFix(
        text,
        problemsWith(look(text), 'door/left-open')[0]!.fixes!.find((f) => f.title.startsWith('Invert'))!,
      );
    expect(fixed(idle)).toContain('drive hall_door = hall_on\n');
    expect(fixed(changed(idle, ['= not hall_on', '= not hall_on or open_up']))).toContain(
      'drive hall_door = not (not hall_on or open_up)\n',
    );
  });

  it('finds a latch that nothing resets, and leaves one with a reset alone', () => {
    const latch = (reset: string): string =>
      changed(
        LOCK,
        ['hall_on = TP(TON(passing, 5 s), 2 s)', `hall_on = SR(TON(passing, 5 s), ${reset})`],
        ['  require gap(yard_door, hall_door) >= 500 ms\n', ''],
        ['  require repeat() >= 20 s\n', ''],
      );
    expect(messagesOf(latch('off'), 'door/left-open')).toEqual([
      'hall_door stays open for good once a stroke has opened it: no switch or sensor shuts it again.',
    ]);
    expect(messagesOf(latch('open_up'), 'door/left-open')).toEqual([]);
  });
});

describe('door/off-sequence', () => {
  const plan = (steps: string): string =>
    changed(GAS_BANK, [
      '  require overlap(upper, middle)',
      `  sequence plan on ready {\n${steps}  }\n  require overlap(upper, middle)`,
    ]);

  it('is silent where the wired windows are the stated ones: 1.65 s of upper, lower 2.10 s to 3.75 s after it opens', () => {
    const text = plan(
      '    at 0 s  open upper, middle\n    at 1.65 s  close upper\n    at 2.1 s  open lower\n    at 2.65 s  close middle\n    at 3.75 s  close lower\n',
    );
    expect(codesOf(look(text))).toEqual([]);
  });

  it('allows the stated tolerance', () => {
    const loose = plan('    at 0 s  open upper\n    at 1.5 s +- 150 ms  close upper\n');
    expect(messagesOf(loose, 'door/off-sequence')).toEqual([]);
    const tight = plan('    at 0 s  open upper\n    at 1.5 s +- 149 ms  close upper\n');
    expect(messagesOf(tight, 'door/off-sequence')).toEqual([
      'Sequence plan wants upper driven from 0 s to 1.5 s, and the signals drive it from 0 s to 1.65 s (counted from the first opening, after ready goes on).',
    ]);
  });

  it('says that a door is not driven', () => {
    const twice = plan(
      '    at 0 s  open upper\n    at 1.65 s  close upper\n    at 4 s  open upper\n    at 5 s  close upper\n',
    );
    expect(messagesOf(twice, 'door/off-sequence')[0]).toContain('from 4 s to 5 s, and the signals do not drive it');
  });
});

describe('door/at-power-on', () => {
  const lock = (inner: string): string => `rig lock {
  medium air
  chamber hall { volume 30 m3  pressure 1 bar }
  chamber cell { volume 1 m3   pressure 1 bar }
  door outer { pocket 4 L  travel 200 ms }
  door inner { pocket 4 L  travel 200 ms }
  stack hall > outer > inner > cell
  controller { response 25 ms }
  switch insert = off
  switch lit = on
  signal outer_on = TP(insert, 6 s)
  drive outer = outer_on
  drive inner = ${inner}
}`;

  it('names the door that a first pulse of F_TRIG or R_TRIG opens, and when', () => {
    expect(messagesOf(lock('TP(F_TRIG(outer_on), 3 s)'), 'door/at-power-on')).toEqual([
      'inner opens 50 ms after power-on: F_TRIG gives a pulse at its first execution, though nothing fell.',
    ]);
    expect(messagesOf(lock('TP(R_TRIG(lit), 3 s)'), 'door/at-power-on')).toEqual([
      'inner opens 50 ms after power-on: R_TRIG gives a pulse at its first execution, though nothing rose.',
    ]);
  });

  it('names a door that a timer moves which waits for something to be off', () => {
    // outer_on is off at power-on: the timer and the pulse answer 25 ms later each, 1 s + 0.05 s.
    expect(messagesOf(lock('TP(TON(not outer_on, 1 s), 3 s)'), 'door/at-power-on')).toEqual([
      'inner opens 1.05 s after power-on and shuts again, with all switches and sensors off too: drive inner comes on by itself.',
    ]);
    // Held back until outer_on was on once, it is silent.
    const seen = 'SR(outer_on, TON(lit and not lit, 1 s))';
    expect(messagesOf(lock(`TP(TON(not outer_on, 1 s) and ${seen}, 3 s)`), 'door/at-power-on')).toEqual([]);
  });

  it('is silent where the edge is held back, and where a level drives the door', () => {
    expect(messagesOf(lock('TP(F_TRIG(outer_on) and TON(lit, 1 s), 3 s)'), 'door/at-power-on')).toEqual([]);
    expect(messagesOf(lock('TP(lit, 3 s)'), 'door/at-power-on')).toEqual([]);
  });
});
