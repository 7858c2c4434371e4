/** Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { applyFix, changed, codesOf, GAS_BANK, LOCK, look, messagesOf, problemsWith } from '../rigs';

describe('wire/undriven-door', () => {
  const undriven = changed(GAS_BANK, ['  drive lower  = lower_on\n', '']);

  it('names the door and where it stays', () =>
    expect(messagesOf(undriven, 'wire/undriven-door')).toEqual(['lower has no drive, so it stays shut permanently.']));

  it('says open for a door that rests open', () => {
    const open = changed(undriven, ['door lower   { pocket 250 L', 'door lower   { rest open  pocket 250 L']);
    expect(messagesOf(open, 'wire/undriven-door')).toEqual(['lower has no drive, so it stays open permanently.']);
  });

  it('offers the signal that bears its name, after the other drives, in their indentation', () => {
    const fix = problemsWith(look(undriven), 'wire/undriven-door')[0]!.fixes![0]!;
    expect(applyFix(undriven, fix)).toContain('  drive middle = middle_on\n  drive lower = lower_on\n');
  });

  it('offers it after the signals where nothing has a drive yet', () => {
    const bare = ['upper  = upper_on', 'middle = middle_on', 'lower  = lower_on'].reduce(
      (text, drive) => changed(text, [`  drive ${drive}\n`, '']),
      GAS_BANK,
    );
    const [upper] = problemsWith(look(bare), 'wire/undriven-door');
    expect(applyFix(bare, upper!.fixes![0]!)).toContain('TOF(upper_on, 10 s)\n  drive upper = upper_on\n');
  });

  it('offers nothing where no signal suggests itself', () => {
    const bare = changed(undriven, ['signal lower_on  =', 'signal outlet =']);
    const two = changed(bare, ['  signal hold ', '  signal spare = not run\n  signal hold ']);
    expect(problemsWith(look(two), 'wire/undriven-door')[0]!.fixes).toEqual([]);
  });

  it('leaves doors that a sequence moves alone', () => {
    const text = changed(
      LOCK,
      ['  drive yard_door = yard_on\n  drive hall_door = hall_on\n', ''],
      [
        '  require gap',
        '  sequence pass on waiting {\n    at 0 s  open yard_door\n    at 3 s  close yard_door\n    at 5 s  open hall_door\n    at 7 s  close hall_door\n    repeat after 30 s\n  }\n  require gap',
      ],
    );
    expect(messagesOf(text, 'wire/undriven-door')).toEqual([]);
  });
});

describe('wire/unread-sensor', () => {
  const second = (use: string): string =>
    changed(GAS_BANK, [
      '  signal start ',
      `  sensor full on store { pressure above 6 bar  clears below 5 bar }\n${use}  signal start `,
    ]);

  it('tells unread from read in vain', () => {
    expect(messagesOf(second(''), 'wire/unread-sensor')).toEqual(['full is read by no signal, so it has no effect.']);
    expect(messagesOf(second('  signal alarm = full\n'), 'wire/unread-sensor')).toEqual([
      'full is read by signals that drive nothing, so it has no effect.',
    ]);
  });

  it('says of a switch that throwing it has no effect, be it named in a scenario or not', () => {
    const spare = (use: string): string =>
      changed(GAS_BANK, ['  signal start ', `  switch spare = off\n${use}  signal start `]);
    const unread = ['spare is read by no signal, so throwing it has no effect.'];
    expect(messagesOf(spare(''), 'wire/unread-sensor')).toEqual(unread);
    expect(messagesOf(spare('  scenario day {\n    at 1 s  switch spare on\n  }\n'), 'wire/unread-sensor')).toEqual(
      unread,
    );
    // The lamp is reported (`name/unused`), or meant: the switch is not reported beside it.
    expect(messagesOf(spare('  signal lamp = spare\n'), 'wire/unread-sensor')).toEqual([]);
    expect(messagesOf(spare('  require never(spare and upper)\n'), 'wire/unread-sensor')).toEqual([]);
    expect(
      messagesOf(spare('  feed works into receiver { rate 0.1 kg/s }\n  drive works = spare\n'), 'wire/unread-sensor'),
    ).toEqual([]);
  });

  it('leaves a switch alone that starts a sequence, or that a driving signal reads', () => {
    expect(messagesOf(GAS_BANK, 'wire/unread-sensor')).toEqual([]);
    const text = changed(
      LOCK,
      ['  drive yard_door = yard_on\n', ''],
      [
        '  require gap',
        '  switch go = off\n  sequence pass on go {\n    at 0 s  open yard_door\n    at 3 s  close yard_door\n  }\n  require gap',
      ],
    );
    expect(messagesOf(text, 'wire/unread-sensor').filter((m) => m.startsWith('go '))).toEqual([]);
  });

  it('counts feeds, draws and requirements as use', () => {
    const feed = second('  feed works into receiver { rate 0.1 kg/s }\n  drive works = not full\n');
    expect(messagesOf(feed, 'wire/unread-sensor')).toEqual([]);
    expect(messagesOf(second('  require never(full and upper)\n'), 'wire/unread-sensor')).toEqual([]);
  });
});

describe('wire/loop-never-settles', () => {
  it('names the loop at rest', () => {
    const text = changed(GAS_BANK, ['  signal start ', '  signal odd = not odd responds 0 s\n  signal start ']);
    const [message] = messagesOf(text, 'wire/loop-never-settles');
    expect(message).toBe('odd depends on itself without delay and never settles, while the rig is at rest: odd → odd.');
  });

  it('names the moment of a loop that only a stroke closes', () => {
    // odd follows middle_on (0.10 s after the trigger) into a loop through its own inverse.
    const text = changed(GAS_BANK, [
      '  signal hold ',
      '  signal odd = middle_on and not odd responds 0 s\n  signal hold ',
    ]);
    expect(messagesOf(text, 'wire/loop-never-settles')[0]).toContain('100 ms after ready goes on: odd → odd');
  });

  it('is silent for feedback that settles or takes time', () => {
    const latch = changed(GAS_BANK, [
      '  signal start ',
      '  signal seal = (ready or seal) and run responds 0 s\n  signal start ',
    ]);
    expect(messagesOf(latch, 'wire/loop-never-settles')).toEqual([]);
    expect(messagesOf(GAS_BANK, 'wire/loop-never-settles')).toEqual([]);
  });
});

describe('wire/two-drivers', () => {
  const doubled = changed(GAS_BANK, [
    '  drive middle = middle_on\n',
    '  drive middle = middle_on\n  drive lower  = hold and not run # by hand\n',
  ]);

  it('marks the second and points to the first', () => {
    const [problem] = problemsWith(look(doubled), 'wire/two-drivers');
    expect(problem!.message).toBe('lower is driven twice; join both in one statement.');
    expect(problem!.related).toHaveLength(1);
  });

  it('joins both with or, in brackets where needed', () => {
    const fix = problemsWith(look(doubled), 'wire/two-drivers')[0]!.fixes![0]!;
    const joined = applyFix(doubled, fix);
    expect(joined).toContain('= (hold and not run) or lower_on');
    expect(codesOf(look(joined))).not.toContain('wire/two-drivers');
  });

  it('finds two sequences that move one door', () => {
    const steps = (name: string): string =>
      `  sequence ${name} on waiting {\n    at 0 s  open yard_door\n    at 3 s  close yard_door\n  }\n`;
    const text = changed(LOCK, ['  drive yard_door = yard_on\n', steps('a') + steps('b')]);
    expect(codesOf(look(text))).toContain('wire/two-drivers');
  });
});
