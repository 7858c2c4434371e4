import { describe, expect, it } from 'vitest';
import { applyFix, changed, codesOf, GAS_BANK, LOCK, look, messagesOf, problemsWith } from '../rigs';

const rest = (text: string, ...doors: readonly string[]): string =>
  doors.reduce((t, door) => t.replace(new RegExp(`(door ${door} +\\{)`), '$1 rest open '), text);

describe('loss/power', () => {
  it('finds a path of doors that all rest open', () =>
    expect(messagesOf(rest(LOCK, 'yard_door', 'hall_door'), 'loss/power')).toEqual([
      'yard_door and hall_door all rest open: without power the path from yard to hall is open straight through.',
    ]));

  it('finds doors that pass each other on their way to rest', () => {
    // The yard door goes to open while the hall door, open at that moment, goes to shut: 0.8 s together.
    const [problem] = problemsWith(look(rest(LOCK, 'yard_door')), 'loss/power');
    expect(problem!.severity).toBe('warning');
    expect(problem!.message).toContain(
      'yard_door and hall_door are off their seats together for 800 ms on their way to rest',
    );
  });

  it('is silent for doors that rest closed, and for one vent that rests open', () => {
    expect(messagesOf(LOCK, 'loss/power')).toEqual([]);
    const vent = rest(changed(LOCK, ['yard > yard_door > hall_door > hall', 'yard > yard_door > hall']), 'yard_door');
    expect(messagesOf(vent, 'loss/power')).toEqual([]);
  });
});

describe('loss/switch', () => {
  const latch = changed(GAS_BANK, [
    'signal lower_on  = TOF(TON(middle_on, 2 s), 1 s)',
    'signal lower_on  = RS(TON(middle_on, 2 s), over)\n  signal over      = run and F_TRIG(pushing)\n  signal pushing   = TOF(TON(middle_on, 2 s), 1 s)',
  ]);

  it('finds a latch that the switch cuts off from its reset', () => {
    const [problem] = problemsWith(look(latch), 'loss/switch');
    expect(problem!.message).toMatch(/^When run is thrown .* lower stays open for good\.$/);
    const fixed = applyFix(latch, problem!.fixes![0]!);
    expect(fixed).toContain('drive lower  = lower_on and run');
    expect(codesOf(look(fixed))).toEqual([]);
  });

  it('is silent for a switch that ends the stroke early, or opens a door by itself', () => {
    expect(messagesOf(GAS_BANK, 'loss/switch')).toEqual([]);
    const byHand = changed(
      LOCK,
      ['drive yard_door = yard_on', 'drive yard_door = yard_on or open_up'],
      ['  require gap(yard_door, hall_door) >= 500 ms\n', '  require overlap(yard_door, hall_door) >= 1 ms\n'],
    );
    expect(messagesOf(byHand, 'loss/switch')).toEqual([]);
  });

  it('finds a path that the switch opens in the middle of a stroke', () => {
    const byHand = changed(LOCK, ['drive yard_door = yard_on', 'drive yard_door = yard_on or open_up']);
    const found = problemsWith(look(byHand), 'loss/switch');
    expect(found.map((p) => p.severity)).toEqual(['error']);
    expect(found[0]!.message).toContain('yard_door and hall_door are off their seats together');
  });
});
