/** A stroke is what the doors do: where it begins and ends, how strokes repeat, and which openings are listed. */
import { describe, expect, it } from 'vitest';
import { analyseTiming } from '../../server/core/timing/analyse';
import type { StrokeFacts } from '../../server/core/timing/facts';
import { rigOf } from '../support/rigs';

const bench = (body: string): string => `rig bench {
  medium air
  chamber hopper { volume 2 m3  pressure 1 bar }
  chamber bin    { volume 1 m3  pressure 1 bar }
  door upper { pocket 20 L  travel 150 ms }
  door lower { pocket 20 L  travel 150 ms }
  stack hopper > upper > lower > bin
  controller { response 15 ms }
  sensor ripe on hopper { pressure above 2 bar  clears below 1.5 bar }
${body}
}`;
const strokesOf = (body: string): readonly StrokeFacts[] => analyseTiming(rigOf(bench(body))).strokes;
const only = (body: string): StrokeFacts => strokesOf(body)[0]!;
const MS = 1_000;

/** Openings as `door leaves..shut` in milliseconds. */
const openings = (stroke: StrokeFacts): string[] =>
  stroke.doors.flatMap(({ door, windows }) =>
    windows.map(({ notShut: w }) => `${door} ${w.from / MS}..${w.to === null ? 'no end' : w.to / MS}`),
  );

describe('strokes as the doors make them', () => {
  it('lists every opening, whatever net caused it', () => {
    // upper is driven before `first` comes, 15 ms later, and again after it has gone.
    const stroke = only(`  signal first = TP(ripe, 3 s)
  drive upper = ripe and not first
  drive lower = first`);
    expect(openings(stroke)).toEqual(['0 15..45', '0 3030..no end', '1 15..3165']);
    expect(stroke).toMatchObject({ strokeEnds: null, repeat: null, strokeCount: 1 });
  });

  it('repeats as the doors do, not as the clock that starts them', () => {
    // beat first at 1415, then every 1.43 s; turn 1430, upper 1445. A pulse of 2 s passes over every other beat.
    const stroke = only(`  signal beat = TON(ripe and not beat, 1.4 s)
  signal turn = TP(beat, 2 s)
  drive upper = TP(turn, 400 ms)
  drive lower = TP(TON(turn, 900 ms), 400 ms)`);
    expect(stroke).toMatchObject({ repeat: 2_860 * MS, strokeCount: null, strokesPerPeriod: 1, lead: 0 });
    expect(openings(stroke)).toEqual(['0 1445..1995', '1 2360..2910']);
  });

  it('counts the strokes that a counter allows', () => {
    const stroke = only(`  switch again = off
  signal done = CTU(on1, again, 4)
  signal go   = ripe and not hold and not done
  signal on1  = TOF(go, 800 ms)
  signal hold = TOF(on1, 3 s)
  drive upper = on1
  drive lower = TP(TON(on1, 100 ms) and not on1, 500 ms)`);
    // go 15, on1 30, hold 45, go off 60, on1 off 875, hold off 3890, go 3905: 3.89 s.
    expect(stroke).toMatchObject({ repeat: 3_890 * MS, strokeCount: 4, pattern: null });
    expect(openings(stroke).filter((o) => o.startsWith('0'))).toEqual(['0 30..1025']);
  });

  it('knows an opening that never ends by its first command', () => {
    // start 15, up 30, hold 30, start off 45, up off 875, hold off 925, start 940, up 955: 80 ms after the door began to close.
    const stroke = only(`  signal start = ripe and not hold
  signal up    = TOF(start, 815 ms)
  signal hold  = TOF(start, 865 ms)
  drive upper = up`);
    const [window] = stroke.doors[0]!.windows;
    expect(window).toMatchObject({
      commanded: { from: 30 * MS, to: 875 * MS },
      fullyOpen: { from: 180 * MS, to: 875 * MS },
      notShut: { from: 30 * MS, to: null },
    });
    expect(stroke).toMatchObject({ repeat: 925 * MS, strokeEnds: null });
    expect(stroke.starts.slice(0, 3)).toEqual([30 * MS, 955 * MS, 1880 * MS]);
  });

  it('lists a later stroke that is not like the first', () => {
    // Of the first stroke lower gets 15 ms only, until odd comes; odd is set back late in the second, early in all after it.
    const stroke = only(`  signal go   = ripe and not hold
  signal on1  = TOF(go, 600 ms)
  signal hold = TOF(on1, 2 s)
  signal odd  = CTU(on1, even, 1)
  signal even = CTU(on1, F_TRIG(even), 2)
  drive upper = on1
  drive lower = on1 and not odd`);
    expect(openings(stroke)).toEqual([
      '0 30..825',
      '0 2720..3515',
      '0 5410..6205',
      '1 45..75',
      '1 2765..3530',
      '1 5425..6220',
    ]);
    expect(stroke).toMatchObject({ repeat: 2_690 * MS, settlesAfter: 2, strokeCount: null });
  });

  it('a pause with all doors shut does not end a stroke: the door that begins it must leave again', () => {
    const stroke = only(`  signal go   = TP(ripe, 300 ms)
  drive upper = go
  drive lower = TP(TON(ripe, 2 s), 300 ms)`);
    expect(openings(stroke)).toEqual(['0 15..465', '1 2030..2480']);
    expect(stroke).toMatchObject({ strokeEnds: 2_480 * MS, repeat: null, strokeCount: 1 });
  });

  it('an overlap without end is without end, not as long as the record', () => {
    const stroke = only('  drive upper = ripe\n  drive lower = TON(ripe, 2 s)');
    expect(stroke.pairs[0]!.overlap).toBe(Infinity);
  });

  it('a door driven for exactly its travel has been fully open, for no time', () => {
    const stroke = only('  signal x = TP(ripe, 150 ms)\n  drive upper = x');
    expect(stroke.doors[0]!.windows[0]!.fullyOpenParts).toEqual([{ from: 165 * MS, to: 165 * MS }]);
  });

  it('a rig that runs by itself is timed from its first opening', () => {
    const stroke = only(`  signal clock = TON(not rest, 2 s)
  signal rest  = TOF(clock, 700 ms)
  drive upper = clock`);
    // clock 2.015 s after power; rest 2.030, clock off 2.045, rest off 2.760, then 2.015 s again.
    expect(stroke).toMatchObject({ sensor: -1, trigger: { kind: 'power' }, repeat: 2_760 * MS, strokeCount: null });
    expect(stroke.trace.start).toBe(-2_015 * MS);
    expect(openings(stroke)).toEqual(['0 0..60']);
  });

  it('what F_TRIG does once as power comes keeps nothing from being timed', () => {
    const strokes = strokesOf(`  switch enter = off
  signal first = TP(enter, 2 s)
  drive upper = first
  drive lower = TP(F_TRIG(first), 1 s)`);
    expect(strokes.map((s) => [s.trigger.name, openings(s)])).toEqual([['enter', ['0 15..2165', '1 2045..3195']]]);
  });
});
