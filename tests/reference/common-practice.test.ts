/**
 * Common practice, no source: a three-door train on off-delays from one start pulse, as it is usually wired. Presets 1.5 s and 2.5 s on
 * the first two doors, a 2.7 s on-delay from the second door's signal and a 1.0 s off-delay on the third, a 10 s hold-off from the first
 * door's signal joined with the inverted sensor into an exclusive-or.
 */
import { describe, expect, it } from 'vitest';
import { analyseTiming } from '../../server/core/timing/analyse';
import { MS, S, TOF, TON, not, sketch, xor } from '../support/network';

const train = (response: number) =>
  sketch({
    response,
    // On while there is too little; inverted by the joining line, which takes no time of its own.
    sensors: { low: 'below' },
    signals: {
      inverted: { is: not('low'), responds: 0 },
      start: xor('inverted', 'hold'),
      first_on: TOF('start', 1.5 * S),
      second_on: TOF('start', 2.5 * S),
      third_on: TOF(TON('second_on', 2.7 * S), 1 * S),
      hold: TOF('first_on', 10 * S),
    },
    doors: { first: 0, second: 0, third: 0 },
    drives: { first: 'first_on', second: 'second_on', third: 'third_on' },
  });

describe('three doors from one start pulse (common practice, no source)', () => {
  it('with zero response the third door never opens: its on-delay sees 2.5 s', () => {
    const [stroke] = analyseTiming(train(0)).strokes;
    expect(stroke.doors.map((d) => d.windows.length)).toEqual([1, 1, 0]);
    const ton = stroke.timers.find((t) => t.name === 'third_on/TON')!;
    expect(ton).toMatchObject({ longestInput: 2500 * MS, margin: -200 * MS, fires: 0 });
  });

  it('with 100 ms an element it works with 100 ms to spare', () => {
    const rig = train(100 * MS);
    const [stroke] = analyseTiming(rig).strokes;
    const start = rig.network.nets.findIndex((n) => n.name === 'start');
    const pulse = stroke.trace.edges.filter((e) => e.net === start).slice(0, 2);
    // start on 0.1, first 0.2, hold 0.3, start off 0.4: 300 ms wide.
    expect(pulse.map((e) => [e.t / MS, e.value])).toEqual([
      [100, true],
      [400, false],
    ]);
    // second on 0.2 … 0.4 + 2.5 + 0.1 = 3.0: 2.8 s against 2.7 s.
    const ton = stroke.timers.find((t) => t.name === 'third_on/TON')!;
    expect(ton).toMatchObject({ longestInput: 2800 * MS, margin: 100 * MS, fires: 1 });
    // TON on 0.2 + 2.7 + 0.1 = 3.0, third 3.1; TON off 3.0 + 0.1 = 3.1, third off 3.1 + 1.0 + 0.1 = 4.2.
    expect(stroke.doors[2].windows.map((w) => w.notShut)).toEqual([{ from: 3100 * MS, to: 4200 * MS }]);
    // first off 0.4 + 1.5 + 0.1 = 2.0, hold off 2.0 + 10 + 0.1 = 12.1, start 12.2: 12.1 s after the first, not 10 s.
    expect(stroke.repeat).toBe(12_100 * MS);
  });
});
