/** What goes on, or stays as it is permanently, after the trigger has come and gone: who is blamed, and who is not. */
import { describe, expect, it } from 'vitest';
import { look } from '../rigs';

/** A brine pump: intake and outfall driven by `signals`. */
const pump = (response: string, ...signals: string[]): string => `rig pump {
  medium water
  chamber pit { volume 2 m3  level 0.3 m  floor_area 2 m2 }
  chamber pan { volume 2 m3  level 0.1 m  floor_area 2 m2 }
  door intake { pocket 8 L  travel 80 ms }
  door outfall { pocket 8 L  travel 80 ms }
  stack pit > intake > outfall > pan
  controller { response ${response} }
  sensor wet on pit { level above 0.9 m  clears below 0.5 m }
  ${signals.join('\n  ')}
}`;
const found = (text: string, code: string) => look(text).problems.filter((p) => p.code === code);

const CLOCK = 'signal clock = TON(not TOF(clock, 800 ms), 800 ms)';

describe('cycle/never-ends', () => {
  it('sees strokes that a latch keeps going behind a clock that runs anyway', () => {
    const text = pump(
      '15 ms',
      'signal going = SR(wet, off)',
      CLOCK,
      'signal beat = clock and going',
      'drive intake = TP(beat, 300 ms)',
      'drive outfall = TP(TON(TP(beat, 900 ms), 600 ms), 200 ms)',
    );
    const [problem] = found(text, 'cycle/never-ends');
    expect(problem!.message).toBe(
      'intake and outfall go on opening and closing after wet has come and gone; no switch or sensor stops it.',
    );
  });

  it('is silent where only the clock goes on', () => {
    const text = pump(
      '15 ms',
      CLOCK,
      'signal beat = clock and wet',
      'drive intake = TP(beat, 300 ms)',
      'drive outfall = TP(TON(TP(beat, 900 ms), 600 ms), 200 ms)',
    );
    expect(found(text, 'cycle/never-ends')).toEqual([]);
    expect(found(text, 'door/left-open')).toEqual([]);
  });

  it('is silent where a loop that never settles ends the run, which is reported', () => {
    const text = pump(
      '0 s',
      'signal x = wet and not y',
      'signal y = x',
      'drive intake = x',
      'drive outfall = TP(wet, 1.2 s)',
    );
    expect(found(text, 'cycle/never-ends')).toEqual([]);
    expect(found(text, 'wire/loop-never-settles')).toHaveLength(1);
  });
});

describe('timer/never-ends', () => {
  it('blames the counter that nothing resets, not the timer behind it', () => {
    const text = pump(
      '15 ms',
      'signal go = wet and not hold',
      'signal done = CTU(open, F_TRIG(done), 2)',
      'signal open = TOF(go, 400 ms)',
      'signal hold = TOF(open, 2 s) or TOF(done, 1.7 s)',
      'drive intake = open',
      'drive outfall = TP(TON(TP(open, 1.6 s), 900 ms), 350 ms)',
    );
    const problems = found(text, 'timer/never-ends');
    expect(problems.map((p) => p.message)).toEqual([
      'hold/TOF#2 stays on for good: done (CTU) holds it, and nothing resets that, whatever the sensors and switches do.',
    ]);
    expect(text.slice(problems[0]!.at.start, problems[0]!.at.end)).toMatch(/^CTU/);
  });

  it('does not blame a clock that runs by itself and moves no door', () => {
    const text = pump(
      '30 ms',
      'signal blink = TON(not blink, 2.9 s)',
      'signal beat = TOF(blink, 600 ms)',
      'signal go = wet and (blink xor beat)',
      'drive intake = TP(go, 400 ms)',
      'drive outfall = TP(TON(TP(go, 1.2 s), 700 ms), 400 ms)',
    );
    expect(found(text, 'timer/never-ends')).toEqual([]);
  });

  it('blames a timer that feeds itself', () => {
    const text = pump('15 ms', 'signal kept = TOF(wet or kept, 400 ms)', 'drive intake = kept', 'drive outfall = off');
    expect(found(text, 'timer/never-ends').map((p) => p.message)).toEqual([
      'kept keeps itself on: once on, it never goes off again, whatever the sensors and switches do.',
    ]);
  });
});
