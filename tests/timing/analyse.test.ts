/** Facts of strokes, worked by hand. Times in the comments in seconds from the trigger's edge. */
import { describe, expect, it } from 'vitest';
import { analyseTiming } from '../../server/core/timing/analyse';
import type { StrokeFacts } from '../../server/core/timing/facts';
import { rigOf } from '../support/rigs';
import { MS, S, TOF, TON, TP, and, not, or, sketch, workedExample } from '../support/network';

const span = (x: { from: number; to: number | null } | null) => x && [x.from / MS, x.to === null ? null : x.to / MS];
const windows = (stroke: StrokeFacts) =>
  stroke.doors.map((d) => d.windows.map((w) => [span(w.commanded), span(w.notShut), span(w.fullyOpen)]));

describe('the worked example of the language page', () => {
  const facts = analyseTiming(workedExample());
  const [stroke] = facts.strokes;

  it('has one trigger, at rest nothing moves', () => {
    expect(facts.strokes).toHaveLength(1);
    expect(stroke).toMatchObject({ sensor: 0, becomes: true });
    expect(facts.atRest).toMatchObject({ moves: false, loop: null, openDoors: [] });
    expect(facts.incomplete).toBeNull();
  });

  it('gives the windows of each door', () => {
    // start 0.05 (response), doors on 0.10; hold 0.15, start off 0.20;
    // upper: 0.20 + 1.5 + 0.05 = 1.75, shut 2.05; middle: 0.20 + 2.5 + 0.05 = 2.75, shut 3.05;
    // lower: 0.10 + 2.0 + 0.05 (TON) + 0.05 (TOF) = 2.20; TON off 2.75 + 0.05 = 2.80, off 2.80 + 1.0 + 0.05 = 3.85, shut 4.15.
    expect(windows(stroke)).toEqual([
      [
        [
          [100, 1750],
          [100, 2050],
          [400, 1750],
        ],
      ],
      [
        [
          [100, 2750],
          [100, 3050],
          [400, 2750],
        ],
      ],
      [
        [
          [2200, 3850],
          [2200, 4150],
          [2500, 3850],
        ],
      ],
    ]);
  });

  it('gives gap, overlap, end of stroke and repeat', () => {
    // gap upper–lower 2.20 − 2.05; both of middle and lower fully open 2.50 … 2.75; hold off 1.75 + 10 + 0.05 = 11.80.
    const pairs = stroke.pairs.map((p) => [p.doors.join(), p.overlap, p.gap]);
    expect(pairs).toEqual([
      ['0,1', 1350 * MS, null],
      ['0,2', null, 150 * MS],
      ['1,2', 250 * MS, null],
    ]);
    expect(stroke.straightThrough.flatMap((p) => p.intervals)).toEqual([]);
    expect(stroke.strokeEnds).toBe(4150 * MS);
    expect(stroke.repeat).toBe(11_800 * MS);
    expect(stroke).toMatchObject({ settlesAfter: 0, strokesPerPeriod: 1 });
    expect(stroke.pattern).toEqual({ from: 0, to: 11_800 * MS, covers: null });
  });

  it('explains each door by contributions that add up', () => {
    const [window] = stroke.doors[2].windows;
    const told = window.closesBecause.map(
      (l) => `${l.name} ${l.t / MS} = +${l.response / MS} +${l.preset / MS} +${l.travel / MS}`,
    );
    expect(told).toEqual([
      'ready 0 = +0 +0 +0',
      'start 50 = +50 +0 +0',
      'upper_on 100 = +50 +0 +0',
      'hold 150 = +50 +0 +0',
      'start 200 = +50 +0 +0',
      'middle_on 2750 = +50 +2500 +0',
      'lower_on/TON 2800 = +50 +0 +0',
      'lower_on 3850 = +50 +1000 +0',
      'lower 4150 = +0 +0 +300',
    ]);
    for (const chain of [window.opensBecause, window.closesBecause])
      chain.slice(1).forEach((l, i) => expect(l.t - chain[i].t).toBe(l.response + l.preset + l.travel));
  });

  it('gives the margin of each timer', () => {
    // The on-delay of 2.0 s sees middle_on for 2.75 − 0.10 = 2.65 s: 0.65 s to spare.
    const ton = stroke.timers.find((t) => t.name === 'lower_on/TON')!;
    expect(ton).toMatchObject({ preset: 2 * S, longestInput: 2650 * MS, margin: 650 * MS, fires: 1, retriggers: 0 });
    // Off-delay of upper: start is off 0.20 … 11.85.
    const tof = stroke.timers.find((t) => t.name === 'upper_on')!;
    expect(tof).toMatchObject({ preset: 1500 * MS, longestInput: 11_650 * MS, margin: null, fires: 1, retriggers: 0 });
  });

  it('tells what happens when things go wrong', () => {
    const of = (situation: string) => facts.behaviours.filter((b) => b.situation === situation);
    expect(facts.behaviours.map((b) => [b.situation, b.input])).toEqual([
      ['no-trigger', ''],
      ['held', 'ready'],
      ['chatter', 'ready'],
      ['lost', 'ready'],
      ['switch', 'run'],
      ['power', ''],
    ]);
    expect(of('no-trigger')[0]).toMatchObject({ leftOpen: [], straightThrough: [] });
    // Held it repeats without end: never at rest.
    expect(of('held')[0].settles).toBeNull();
    for (const situation of ['lost', 'switch', 'power']) expect(of(situation)[0].leftOpen).toEqual([]);
    // Power gone: doors just shut; the worst is one that is fully open, 0.3 s.
    expect(of('power')[0].settles).toBe(300 * MS);
  });
});

describe('kinds of rigs', () => {
  const held = { upper: 200 * MS };

  it('without doors, inputs or elements', () => {
    const facts = analyseTiming(sketch({}));
    expect(facts.strokes).toEqual([]);
    expect(facts.atRest).toMatchObject({ moves: false, loop: null, openDoors: [] });
    expect(facts.behaviours.map((b) => b.situation)).toEqual(['no-trigger', 'power']);
  });

  it('a door that simply follows its sensor never repeats and never ends', () => {
    const rig = sketch({ sensors: { full: 'above' }, doors: held, signals: { go: 'full' }, drives: { upper: 'go' } });
    const [stroke] = analyseTiming(rig).strokes;
    expect(windows(stroke)).toEqual([
      [
        [
          [0, null],
          [0, null],
          [200, null],
        ],
      ],
    ]);
    expect(stroke).toMatchObject({ repeat: null, strokeEnds: null, pattern: null });
  });

  it('a one-shot ends and does not repeat', () => {
    const rig = sketch({
      sensors: { full: 'above' },
      doors: held,
      signals: { go: TP('full', S) },
      drives: { upper: 'go' },
    });
    const [stroke] = analyseTiming(rig).strokes;
    expect(windows(stroke)).toEqual([
      [
        [
          [0, 1000],
          [0, 1200],
          [200, 1000],
        ],
      ],
    ]);
    expect(stroke).toMatchObject({ repeat: null, strokeEnds: 1200 * MS });
  });

  it('a rig that strokes while its sensor is off is not at rest; the sensor going off is its trigger', () => {
    const rig = sketch({
      response: 50 * MS,
      sensors: { full: 'above' },
      doors: held,
      signals: { start: and(not('full'), not('hold')), go: TOF('start', S), hold: TOF('go', 4 * S) },
      drives: { upper: 'go' },
    });
    const facts = analyseTiming(rig);
    expect(facts.atRest.moves).toBe(true);
    expect(facts.strokes.map((s) => [s.sensor, s.becomes])).toEqual([[0, false]]);
    // start on 0.05, go 0.10, hold 0.15, start off 0.20, go off 1.25, hold off 5.30: repeat 5.30.
    expect(facts.strokes[0].repeat).toBe(5300 * MS);
  });

  it('a sensor for too little is on over an empty chamber; its trigger is going off', () => {
    const rig = sketch({
      sensors: { low: 'below' },
      doors: held,
      signals: { go: TP(not('low'), S) },
      drives: { upper: 'go' },
    });
    const facts = analyseTiming(rig);
    expect(facts.strokes.map((s) => [s.sensor, s.becomes])).toEqual([[0, false]]);
    expect(facts.atRest.moves).toBe(false);
  });

  it('two sensors that each move a door are two triggers', () => {
    const rig = sketch({
      sensors: { a: 'above', b: 'above', idle: 'above' },
      doors: held,
      signals: { go: TP(or('a', 'b'), S), lamp: 'idle' },
      drives: { upper: 'go' },
    });
    expect(analyseTiming(rig).strokes.map((s) => s.sensor)).toEqual([0, 1]);
  });

  it('a zero-response loop is named', () => {
    const rig = sketch({
      switches: { run: true },
      doors: held,
      signals: { a: and('run', not('b')), b: 'a', apart: 'run' },
      drives: { upper: 'a' },
    });
    const { loop } = analyseTiming(rig).atRest;
    expect(loop!.nets.map((n) => rig.network.nets[n].name)).toEqual(['a', 'b']);
  });

  it('a door open at rest that closes for the stroke is back when it is open again', () => {
    const rig = sketch({
      sensors: { full: 'above' },
      doors: { vent: 200 * MS },
      signals: { shut: TP('full', S), open: not('shut') },
      drives: { vent: 'open' },
    });
    const facts = analyseTiming(rig);
    expect(facts.atRest.openDoors).toEqual([0]);
    const [stroke] = facts.strokes;
    expect(windows(stroke)).toEqual([
      [
        [null, [0, 200], [0, 0]],
        [
          [1000, null],
          [1000, null],
          [1200, null],
        ],
      ],
    ]);
    expect(stroke.strokeEnds).toBe(1200 * MS);
  });

  it('a stroke longer than its repeat is followed through its own causes', () => {
    // Repeat: start 0, a on 0 … 1.0, hold off 3.0, next start 3.0. Second door opens 4.0, in the next stroke's time.
    const rig = sketch({
      sensors: { full: 'above' },
      doors: { first: 0, second: 0 },
      signals: {
        start: and('full', not('hold')),
        a: TOF('start', S),
        hold: TOF('start', 3 * S),
        wait: TOF('a', 3 * S),
        ended: and(not('wait'), not('a')),
        b: TP(TON('hold', 2 * S), 2 * S),
      },
      drives: { first: 'a', second: 'b' },
    });
    const [stroke] = analyseTiming(rig).strokes;
    expect(windows(stroke)).toEqual([
      [
        [
          [0, 1000],
          [0, 1000],
          [0, 1000],
        ],
      ],
      [
        [
          [2000, 4000],
          [2000, 4000],
          [2000, 4000],
        ],
      ],
    ]);
    expect(stroke.repeat).toBe(3000 * MS);
    expect(stroke.strokeEnds).toBe(4000 * MS);
    // The second door of one stroke meets the first door of the next.
    expect(stroke.pairs[0].gap).toBeNull();
    expect(stroke.pairs[0].bothNotShut.map(span)).toEqual([[3000, 4000]]);
  });
});

describe('a sequence that repeats', () => {
  const rig = rigOf(`rig pump_house {
  medium water
  chamber sump { volume 4 m3  level 1.5 m  floor_area 2 m2 }
  chamber tank { volume 2 m3  level 0 m }
  door inlet  { pocket 50 L  travel 400 ms }
  door outlet { pocket 50 L  travel 400 ms }
  stack sump > inlet > outlet > tank
  sensor wet on sump { level above 1.6 m  clears below 0.6 m }
  sequence stroke on wet {
    at 0 s    open inlet
    at 2 s    close inlet
    at 2.6 s  open outlet
    at 5 s    close outlet
    repeat after 8 s
  }
}`);

  it('ends its first stroke before the second begins', () => {
    // The outlet is shut at 5 s + 0.4 s; the inlet opens again at 8 s, which is the second stroke.
    const [stroke] = analyseTiming(rig).strokes;
    expect(stroke).toMatchObject({ strokeEnds: 5.4 * S, repeat: 8 * S });
    expect(stroke.doors.map((d) => d.windows.length)).toEqual([1, 1]);
  });
});

describe('a sensor that is on from the start', () => {
  const text = (pressure: string): string => `rig pair {
  medium air
  chamber receiver { volume 1 m3  pressure ${pressure} }
  chamber store { volume 1 m3  pressure 1 bar }
  door first { pocket 10 L  travel 200 ms }
  door second { pocket 10 L  travel 200 ms }
  stack receiver > first > second > store
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }
  signal first_on = TP(R_TRIG(ready), 1 s)
  signal second_on = TOF(TON(first_on, 900 ms), 1 s)
  drive first = first_on
  drive second = second_on
}`;

  it('is the trigger of the one stroke it starts as the rig is switched on', () => {
    const on = analyseTiming(rigOf(text('2 bar')), { initiallyOn: () => true });
    const off = analyseTiming(rigOf(text('1.1 bar')));
    // first is driven from 0 s to 1 s, second from 0.9 s to 1 s + 1 s, and shut 0.2 s later.
    expect(windows(off.strokes[0])[1]).toEqual([
      [
        [900, 2000],
        [900, 2200],
        [1100, 2000],
      ],
    ]);
    expect(on.strokes.map((s) => [s.sensor, s.becomes])).toEqual([[0, true]]);
    expect(windows(on.strokes[0])).toEqual(windows(off.strokes[0]));
  });
});
