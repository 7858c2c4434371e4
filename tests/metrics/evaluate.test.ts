/** Which courses a requirement is measured on, and what cannot be decided; wrong arguments. */
import { describe, expect, it } from 'vitest';
import { METRICS } from '../../server/core/metrics/registry';
import { signatureOf } from '../../server/core/metrics/metric';
import { changed, GAS_BANK, LOCK, look, problemsWith, verdictOf } from '../checks/rigs';

describe('registry', () => {
  it('names are unique, with definitions and signatures', () => {
    expect(new Set(METRICS.map((m) => m.name)).size).toBe(METRICS.length);
    for (const m of METRICS) expect(m.definition.length, m.name).toBeGreaterThan(30);
    const signatures = METRICS.map(signatureOf);
    expect(signatures).toContain('gap(a: door, b: door): time');
    expect(signatures).toContain('order(event: door events …): holds or not');
  });
});

describe('triggers', () => {
  /** A second sensor opens the hall door alone, for 4 s. */
  const two = changed(
    LOCK,
    [
      '  signal asked',
      '  sensor full on hall { pressure above 1.2 bar  clears below 1.1 bar }\n  signal vented = TP(full, 4 s)\n  signal asked',
    ],
    ['drive hall_door = hall_on', 'drive hall_door = hall_on or vented'],
  );

  it('the worst stroke counts: 2 s - 0.8 s in the one, 4 s - 0.8 s in the other', () => {
    expect(verdictOf(two, 'window(hall_door) >= 1.2 s').state).toBe('met');
    expect(verdictOf(two, 'window(hall_door) <= 3 s').message).toContain('it is 3.2 s');
    expect(verdictOf(two, 'window(hall_door) <= 3 s').message).toContain('after full goes on');
  });

  it('strokes in which a door does not move say nothing about it', () =>
    expect(verdictOf(two, 'window(yard_door) in 2 s .. 2.5 s').state).toBe('met'));
});

describe('nothing to measure', () => {
  const silent = changed(GAS_BANK, ['start     = run and ready', 'start     = run and off and ready']);

  it('is not decided where no sensor starts a stroke', () =>
    expect(verdictOf(silent, 'gap(upper, lower) >= 0 s')).toMatchObject({
      state: 'undecided',
      code: 'require/undecided',
      message: 'gap(upper, lower) >= 0 s is not decided: no sensor starts a stroke.',
    }));

  it('is a failure for what is wanted and never happens, undecided for what is to be kept apart', () => {
    const still = changed(GAS_BANK, ['drive lower  = lower_on', 'drive lower  = lower_on and not run']);
    expect(verdictOf(still, 'overlap(middle, lower) >= 0 s').message).toBe(
      'overlap(middle, lower) >= 0 s does not hold: lower opens in no stroke. It takes two changes to open lower: ready on and then run off.',
    );
    expect(verdictOf(still, 'gap(upper, lower) >= 0 s').state).toBe('undecided');
    expect(verdictOf(still, 'margin(upper_on) >= 0 s').message).toContain('the signal holds no on-delay (TON)');
  });

  it('is not decided where the network never settles', () => {
    const loop = changed(GAS_BANK, ['  signal start', '  signal odd = not odd responds 0 s\n  signal start']);
    expect(verdictOf(loop, 'repeat() >= 1 s').message).toContain('is not decided: the control network never settles');
  });
});

describe('scenarios', () => {
  const bare = changed(GAS_BANK, ['  medium methane\n', '']);
  const scenario = changed(bare, [
    '  require overlap(upper',
    '  scenario drill {\n    at 1 s  sensor ready on\n    at 3 s  switch run off\n    for 20 s\n  }\n  require overlap(upper',
  ]);

  it('count from the start of the scenario: upper leaves its seat at 1 s + 0.10 s', () => {
    expect(verdictOf(scenario, 'opens_at(upper) = 1.1 s during drill').state).toBe('met');
    expect(verdictOf(scenario, 'shuts_at(lower) = 5.15 s during drill').state).toBe('met');
  });

  it('have no second stroke once the switch is off', () =>
    expect(verdictOf(scenario, 'repeat() >= 1 s during drill').message).toContain('there is no second stroke'));

  it('measure repeats between openings of the first door', () => {
    const long = changed(scenario, ['    at 3 s  switch run off\n    for 20 s', '    for 20 s']);
    expect(verdictOf(long, 'repeat() = 11.8 s during drill').state).toBe('met');
  });
});

describe('require/arguments', () => {
  const complaint = (requirement: string): string => {
    const looked = look(GAS_BANK.replace(/\n\}\n$/, `\n  require ${requirement}\n}\n`));
    return [...problemsWith(looked, 'require/arguments'), ...problemsWith(looked, 'name/unknown')]
      .map((p) => p.message)
      .join('|');
  };

  it.each([
    ['gap(upper) >= 1 s', 'gap takes two arguments and is given 1: gap(a: door, b: door): time.'],
    ['repeat(upper) >= 1 s', 'repeat takes no arguments and is given 1: repeat(): time.'],
    [
      'order(upper opens)',
      'order takes at least two door events and is given 1: order(event: door events …): holds or not.',
    ],
    ['gap(upper, store) >= 1 s', 'Argument 2 is the chamber store where gap takes door: gap(a: door, b: door): time.'],
    ['gap(upper, upper) >= 1 s', 'gap compares two doors and is given upper twice.'],
    ['margin(upper) >= 1 s', 'Argument 1 is the door upper where margin takes signal: margin(signal: signal): time.'],
    ['window(2 s) >= 1 s', 'Argument 1 is a time where window takes door: window(door: door): time.'],
    [
      'time_to(store, 2 s) <= 1 h',
      'Argument 2 is a time where time_to takes pressure, density, mass or length: time_to(chamber: chamber, target: pressure, density, mass or length): time.',
    ],
    ['repeat()', 'repeat gives a time and needs a comparison, for example >= 1 s.'],
    ['repeat() >= 2 bar', 'repeat gives a time and is compared with a pressure.'],
    ['never(upper and lower) >= 1 s', 'never holds or does not hold; it takes no comparison.'],
    ['overlop(upper, middle) >= 1 s', 'There is no metric overlop. Did you mean overlap?'],
    ['frobnicate(upper) >= 1 s', `There is no metric frobnicate. Metrics: ${METRICS.map((m) => m.name).join(', ')}.`],
    [
      'pressure(store) >= 1 bar',
      'There is no metric pressure. Metrics that give a pressure: peak, lowest, final, ceiling.',
    ],
  ])('%s', (requirement, message) => expect(complaint(requirement)).toBe(message));

  it('is silent where the name was unknown already', () =>
    expect(complaint('gap(upper, lowest_door) >= 1 s')).toBe(''));

  it('never counts as met', () => expect(verdictOf(GAS_BANK, 'gap(upper) >= 1 s').state).toBe('invalid'));
});
