/** Signals that drive nothing are followed for a question about them, also past the moment from which the doors repeat or stand still. */
import { describe, expect, it } from 'vitest';
import { rigFrom } from '../../support/rig';
import { analyseRig } from '../../../server/core/run/analyse';
import { evaluateRequirement } from '../../../server/core/metrics/evaluate';
import { withinTolerance } from '../../../server/core/metrics/within-tolerance';

/** Doors open and shut within the second after the sensor; the lamps answer to it long after. */
const once = (requirement: string): string => `rig lamps {
  medium air
  chamber source { volume 300 L  pressure 1.5 bar }
  chamber sink { volume 300 L  pressure 1.2 bar }
  door a { pocket 4 L  travel 200 ms }
  stack source > a > sink
  controller { response 10 ms }
  sensor full on source { pressure above 2 bar }
  signal push = TP(full, 500 ms)
  signal alarm = TON(full, 90 s)
  signal bell = TP(alarm, 3 s)
  drive a = push
  require ${requirement}
}`;

/** The same with doors that repeat every second: the trigger is held, so the alarm comes on after some ninety strokes. */
const again = (requirement: string): string =>
  once(requirement).replace('TP(full, 500 ms)', 'TP(full and TON(not push, 500 ms), 500 ms)');

function verdict(text: string) {
  const { rig } = rigFrom(text);
  const { state, actual } = evaluateRequirement(analyseRig(rig), rig.requirements[0]!);
  return { state, value: actual?.nominal ?? null };
}

describe.each([
  ['doors that move once', once],
  ['doors that repeat', again],
])('%s', (_, rig) => {
  it('a pulse that comes long after them has its length', () =>
    expect(verdict(rig('pulse(bell) <= 2 s'))).toEqual({ state: 'failed', value: 3_000_000 }));

  it('one that does not end has no end', () =>
    expect(verdict(rig('pulse(alarm) >= 1 s'))).toEqual({ state: 'met', value: Infinity }));

  it('an on-delay of the sensor that is held has an input without end', () => {
    const timers = analyseRig(rigFrom(rig('cycle() > 0 s')).rig).timing.strokes[0]!.timers;
    expect(timers.find(({ name }) => name === 'alarm')).toMatchObject({ longestInput: null, comes: true });
  });

  it('a condition that comes true long after them does', () => {
    expect(verdict(rig('never(bell and full)')).state).toBe('failed');
    expect(verdict(rig('never(bell and not full)')).state).toBe('met');
  });
});

it('within tolerance such a pulse is as long as its own time may be', () => {
  const { rig } = rigFrom(once('pulse(bell) <= 3.05 s').replace('alarm, 3 s', 'alarm, 3 s +- 100 ms'));
  const within = withinTolerance(analyseRig(rig)).get(rig.requirements[0]!);
  expect(within).toMatchObject({ state: 'broken', range: { min: 2_900_000, max: 3_100_000 } });
});

it('beyond what is followed nothing is decided', () => {
  const late = again('pulse(bell) <= 2 s').replace('90 s', '20 h');
  expect(verdict(late)).toEqual({ state: 'undecided', value: null });
  expect(verdict(late.replace('pulse(bell) <= 2 s', 'never(bell and full)')).state).toBe('undecided');
});
