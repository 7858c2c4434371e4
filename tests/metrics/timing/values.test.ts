/** Values of the timing metrics on the gas bank; the arithmetic stands beside it in `tests/checks/rigs.ts`. Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { changed, GAS_BANK, LOCK, verdictOf } from '../../checks/rigs';

const second = 1_000_000;

describe('values', () => {
  it.each([
    // Fully open: upper 0.40-1.75 s, middle 0.40-2.75 s, lower 2.50-3.85 s.
    ['window(upper) >= 0 s', 1.35],
    ['window(middle) >= 0 s', 2.35],
    ['overlap(upper, middle) >= 0 s', 1.35],
    ['overlap(middle, lower) >= 0 s', 0.25],
    ['overlap(upper, lower) >= 0 s', 0],
    // Not shut: upper 0.10-2.05 s, middle 0.10-3.05 s, lower 2.20-4.15 s.
    ['open_time(upper) >= 0 s', 1.95],
    ['gap(upper, lower) >= 0 s', 0.15],
    ['gap(lower, upper) >= 0 s', 0.15],
    ['gap(middle, lower) >= -1 s', -0.85],
    ['opens_at(lower) >= 0 s', 2.2],
    ['opened_at(lower) >= 0 s', 2.5],
    ['closes_at(lower) >= 0 s', 3.85],
    ['shuts_at(lower) >= 0 s', 4.15],
    ['cycle() >= 0 s', 4.15],
    ['repeat() >= 0 s', 11.8],
    // middle_on is on for 2.65 s, the on-delay waits 2 s.
    ['margin(lower_on) >= 0 s', 0.65],
    ['pulse(start) >= 0 s', 0.15],
    ['pulse(middle_on) >= 0 s', 2.65],
  ])('%s is %d s', (requirement, seconds) => {
    const verdict = verdictOf(GAS_BANK, requirement);
    expect(verdict.actual).toEqual({ dimension: 'time', nominal: Math.round(seconds * second), range: null });
  });

  it('a gap across the repeat counts: lower is shut at 4.15 s, the next stroke opens upper at 11.90 s', () => {
    const late = changed(
      GAS_BANK,
      ['  require repeat', '  require opens_at(upper) <= 1 s\n  require repeat'],
      ['TOF(upper_on, 10 s)', 'TOF(upper_on, 2.5 s)'],
    );
    // hold ends at 4.30 s, start 4.35, upper 4.40 s: 0.25 s after lower is shut, more than the 0.15 s before it opens.
    expect(verdictOf(late, 'gap(upper, lower) >= 0 s').actual!.nominal).toBe(0.15 * second);
    const later = changed(late, ['TOF(upper_on, 2.5 s)', 'TOF(upper_on, 2.35 s)']);
    expect(verdictOf(later, 'gap(upper, lower) >= 0 s').actual!.nominal).toBe(0.1 * second);
  });

  it('a door that turns round half way is open for no time', () => {
    const short = changed(GAS_BANK, ['upper_on  = TOF(start, 1.5 s)', 'upper_on  = TP(start, 200 ms)']);
    expect(verdictOf(short, 'window(upper) >= 0 s').actual!.nominal).toBe(0);
  });

  it('what does not end is longer than any bound', () => {
    const held = changed(
      LOCK,
      ['drive hall_door = hall_on', 'drive hall_door = waiting'],
      ['  require gap(yard_door, hall_door) >= 500 ms\n', ''],
    );
    expect(verdictOf(held, 'window(hall_door) >= 1 h')).toMatchObject({ state: 'met', found: 'without end' });
    expect(verdictOf(held, 'window(hall_door) <= 1 h').state).toBe('failed');
  });
});

describe('comparisons', () => {
  it.each([
    ['gap(upper, lower) >= 150 ms', 'met'],
    ['gap(upper, lower) > 150 ms', 'failed'],
    ['gap(upper, lower) <= 150 ms', 'met'],
    ['gap(upper, lower) < 150 ms', 'failed'],
    ['gap(upper, lower) = 150 ms', 'met'],
    ['gap(upper, lower) = 151 ms', 'failed'],
    ['gap(upper, lower) = 160 ms +- 10 ms', 'met'],
    ['gap(upper, lower) <> 150 ms', 'failed'],
    ['gap(upper, lower) in 150 ms .. 1 s', 'met'],
    ['gap(upper, lower) in 151 ms .. 1 s', 'failed'],
    ['gap(upper, lower) in 0 s .. 149 ms', 'failed'],
  ])('%s: %s', (requirement, state) => expect(verdictOf(GAS_BANK, requirement).state).toBe(state));

  it('say what was found, by how much it misses, and why', () => {
    const verdict = verdictOf(GAS_BANK, 'gap(upper, lower) >= 400 ms');
    expect(verdict).toMatchObject({ code: 'require/failed', expected: '>= 400 ms', found: '150 ms' });
    expect(verdict.message).toBe(
      'gap(upper, lower) >= 400 ms does not hold: it is 150 ms, 250 ms too little: upper is shut at 2.05 s and lower leaves its seat at 2.2 s after ready goes on.',
    );
    expect(verdict.places.map((p) => p.message)).toEqual([
      'upper_on runs out after 1.5 s: upper closes.',
      'lower_on/TON runs out after 2 s: lower opens.',
    ]);
  });
});

describe('order', () => {
  it.each([
    ['order(upper opens, upper opened, upper closes, upper shuts)', 'met'],
    ['order(upper shuts, lower opens, middle closes, middle shuts, lower shuts)', 'met'],
    // Both are driven at 0.10 s.
    ['order(upper opens, middle opens)', 'failed'],
    ['order(lower opens, upper shuts)', 'failed'],
  ])('%s: %s', (requirement, state) => expect(verdictOf(GAS_BANK, requirement).state).toBe(state));

  it('names the two that are out of order', () =>
    expect(verdictOf(GAS_BANK, 'order(lower opens, upper shuts)').message).toBe(
      'order(lower opens, upper shuts) does not hold: upper is shut at 2.05 s and lower leaves its seat at 2.2 s after ready goes on.',
    ));
});

describe('never', () => {
  it.each([
    ['never(upper and lower)', 'met'],
    ['never(upper and middle)', 'failed'],
    ['never(lower and not middle and not hold)', 'met'],
    ['never(upper xor middle)', 'failed'],
    ['never(upper and middle and not run)', 'met'],
    ['never(hold)', 'failed'],
    ['never(upper)', 'failed'],
    ['never(start and upper_on and lower_on)', 'met'],
  ])('%s: %s', (requirement, state) => expect(verdictOf(GAS_BANK, requirement).state).toBe(state));

  it('says from when to when: both off their seats 0.10-2.05 s', () =>
    expect(verdictOf(GAS_BANK, 'never(upper and middle)').message).toBe(
      'never(upper and middle) does not hold: its condition is true from 100 ms to 2.05 s (1.95 s) after ready goes on.',
    ));

  it('looks at the rig at rest too', () =>
    expect(verdictOf(GAS_BANK, 'never(run and not ready)').message).toContain('while no sensor changes'));
});

describe('stands_open', () => {
  it('is about the rig at rest', () => {
    expect(verdictOf(LOCK, 'stands_open(hall_door)').state).toBe('failed');
    const open = changed(LOCK, ['drive hall_door = hall_on', 'drive hall_door = not hall_on']);
    expect(verdictOf(open, 'stands_open(hall_door)').state).toBe('met');
  });
});
