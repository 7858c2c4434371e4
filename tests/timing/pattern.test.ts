/** Patterns that close: what they say of any horizon is what stepping there says. */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { analyseTiming } from '../../server/core/timing/analyse';
import { createEngine } from '../../server/core/timing/engine';
import type { StrokeFacts } from '../../server/core/timing/facts';
import { positionAt } from '../../server/core/model/motion';
import { MS, R_TRIG, S, TOF, TON, TP, and, netOf, not, or, sketch, workedExample, xor } from '../support/network';
import { countEdges, countStrokes, stateAt } from '../support/horizon';
import { integer, randomRig, seeded } from '../support/random';

/** The engine at the trigger, as the stroke has it: at rest, its trace begun. */
function atTrigger(rig: Rig, stroke: StrokeFacts) {
  const { net } = stroke.trigger;
  const initial = stroke.trace.initial;
  const engine = createEngine(rig, { inputs: (n) => initial[n], budget: 1e9 });
  engine.advanceTo(60 * S);
  engine.alignToScan();
  if (engine.nextTime() < Infinity) return null; // Not quiet at rest: which moment the trigger met cannot be known here.
  engine.rebase();
  engine.setInput(net, stroke.becomes);
  return engine;
}

describe('the worked example over any horizon', () => {
  const rig = workedExample();
  const [stroke] = analyseTiming(rig).strokes;

  it('a billion strokes: twelve edges each, and the sensor', () => {
    // start, upper, middle, hold, on-delay, lower: on and off once a stroke.
    expect(countEdges(stroke, 1e9 * 11_800 * MS)).toBe(12e9 + 1);
    expect(countStrokes(stroke, 1e9 * 11_800 * MS)).toBe(1e9);
    const { nets, openings } = stateAt(stroke, 1e9 * 11_800 * MS + 250 * MS);
    expect(nets[netOf(rig, 'upper_on')]).toBe(true);
    expect(openings).toEqual([0.5, 0.5, 0]);
  });
});

describe('repeats', () => {
  const doors = { gate: 100 * MS };
  it('strokes that differ by turns repeat after two, at one interval', () => {
    // Every other start holds late on; the interval is 0.01 + 0.01 + 2 + 0.01 + 0.01 = 2.04 either way.
    const rig = sketch({
      response: 10 * MS,
      sensors: { full: 'above' },
      signals: {
        start: and('full', not('hold')),
        edge: R_TRIG('start'),
        odd: xor('odd', 'edge'),
        hold: TOF('start', 2 * S),
        gate_on: TOF(or('start', and('odd', 'start')), 500 * MS),
        other_on: and('odd', 'gate_on'),
      },
      doors: { ...doors, other: 100 * MS },
      drives: { gate: 'gate_on', other: 'other_on' },
    });
    expect(analyseTiming(rig).strokes[0]).toMatchObject({ repeat: 2040 * MS, strokesPerPeriod: 2, settlesAfter: 0 });
  });

  it('a signal that settles late, and moves no door, has settled before the pattern begins', () => {
    const rig = sketch({
      response: 10 * MS,
      sensors: { full: 'above', spare: 'above' },
      signals: {
        start: and('full', not('hold')),
        hold: TOF('start', 2 * S),
        gate_on: TOF('start', 500 * MS),
        late: TON('full', 9 * S),
        other_on: and('late', 'spare'),
      },
      doors: { ...doors, other: 100 * MS },
      drives: { gate: 'gate_on', other: 'other_on' },
    });
    const [stroke] = analyseTiming(rig).strokes;
    expect(stroke!.pattern!.from).toBeGreaterThanOrEqual(9 * S);
    expect(stroke!.pattern!.to - stroke!.pattern!.from).toBe(2040 * MS);
    for (const t of [5 * S, 12 * S, 100 * S, 1000 * S])
      expect(stateAt(stroke, t).nets[netOf(rig, 'late')], `${t} µs`).toBe(t > 9 * S);
  });

  it('strokes at different intervals repeat as a whole', () => {
    // After a stroke with odd the hold-off is 3 s, else 2 s: 3.04 and 2.04 by turns, 5.08 in all.
    const rig = sketch({
      response: 10 * MS,
      sensors: { full: 'above' },
      signals: {
        start: and('full', not('hold')),
        odd: xor('odd', R_TRIG('start')),
        hold: or(TOF('start', 2 * S), and('odd', TOF('start', 3 * S))),
        gate_on: TOF('start', 500 * MS),
      },
      doors,
      drives: { gate: 'gate_on' },
    });
    const [stroke] = analyseTiming(rig).strokes;
    const gaps = stroke.starts.slice(1, 5).map((t, i) => t - stroke.starts[i]);
    expect(new Set(gaps).size).toBe(2);
    expect(stroke.strokesPerPeriod).toBe(2);
    expect(stroke.repeat).toBe(gaps[0] + gaps[1]);
  });

  it('a first stroke unlike the others counts as settling', () => {
    // A pulse once after the sensor holds the door open for 3 s the first time: repeat 7 s, then 1 + 4 = 5 s.
    const rig = sketch({
      sensors: { full: 'above' },
      signals: {
        once: TP('full', 3 * S),
        start: and('full', not('hold')),
        gate_on: or(TOF('start', 1 * S), 'once'),
        hold: TOF('gate_on', 4 * S),
      },
      doors,
      drives: { gate: 'gate_on' },
    });
    const [stroke] = analyseTiming(rig).strokes;
    expect(stroke.repeat).toBe(5 * S);
    expect(stroke.settlesAfter).toBe(1);
  });

  it.each([250_000, 257_003])('a lamp that blinks at %i µs does not keep the pattern from closing', (lamp) => {
    const rig = sketch({
      response: 50 * MS,
      sensors: { full: 'above' },
      signals: {
        blink: not(TON('blink', lamp)),
        start: and('full', not('hold')),
        gate_on: TOF('start', 1 * S),
        hold: TOF('gate_on', 4 * S),
      },
      doors,
      drives: { gate: 'gate_on' },
    });
    // start 0.05, gate 0.10, hold 0.15, start off 0.20, gate off 1.25, hold off 5.30, start 5.35.
    expect(analyseTiming(rig).strokes[0].repeat).toBe(5300 * MS);
  });
});

describe('groups that share nothing but inputs', () => {
  const train = (i: number, hold: number) => ({
    [`start${i}`]: and('full', not(`hold${i}`)),
    [`gate${i}_on`]: TOF(`start${i}`, 1 * S),
    [`hold${i}`]: TOF(`start${i}`, hold),
  });
  const rig = (first: number, second: number) =>
    sketch({
      response: 50 * MS,
      sensors: { full: 'above' },
      signals: { ...train(1, first), ...train(2, second) },
      doors: { gate1: 100 * MS, gate2: 100 * MS },
      drives: { gate1: 'gate1_on', gate2: 'gate2_on' },
    });
  // start 0.05, hold 0.10, start off 0.15, hold off 0.20 + T, start again 0.25 + T: T + 0.20 apart.

  it('with intervals that meet soon repeat together', () => {
    const facts = analyseTiming(rig(3800 * MS, 5800 * MS));
    // 4 s and 6 s: together every 12 s; strokes of the first group every 4 s.
    expect(facts.strokes[0].pattern).toEqual({ from: 0, to: 12 * S, covers: null });
    expect(facts.strokes[0]).toMatchObject({ repeat: 4 * S, strokesPerPeriod: 3, intervals: [] });
    expect(facts.incomplete).toBeNull();
  });

  it('with others are said to drift, each with its own interval', () => {
    const facts = analyseTiming(rig(3800 * MS, 5811 * MS));
    const [stroke] = facts.strokes;
    expect(stroke.pattern).toBeNull();
    expect(stroke.repeat).toBe(4 * S);
    expect(stroke.intervals).toEqual([
      { interval: 4 * S, doors: [0] },
      { interval: 6011 * MS, doors: [1] },
    ]);
    expect(facts.incomplete).toBe(
      'groups of doors repeat at intervals of their own (gate1 every 4 s; gate2 every 6.011 s) and drift against each other; ' +
        'what is said between them holds for the first 12.022 s only',
    );
  });

  it('ninety of them cost no more than their edges', () => {
    const signals = Object.assign({}, ...Array.from({ length: 90 }, (_, i) => train(i, 3800 * MS + 7001 * i)));
    const many = sketch({
      response: 50 * MS,
      sensors: { full: 'above' },
      signals,
      doors: { gate: 0 },
      drives: { gate: 'gate0_on' },
    });
    const all = {
      ...many,
      drives: Array.from({ length: 90 }, (_, i) => ({
        ...many.drives[0],
        target: i % 1,
        net: netOf(many, `gate${i}_on`),
      })),
    };
    expect(analyseTiming(many).strokes[0].repeat).toBe(4 * S);
    // One door driven by all of them ties them together: no answer within the budget, and it says so.
    expect(analyseTiming(all).incomplete).toMatch(/within the number of changes/);
  });
});

describe('generated rigs', () => {
  const SEEDS = Array.from({ length: 400 }, (_, i) => 7000 + i);
  const all = SEEDS.map((seed) => ({ seed, rig: randomRig(seed) }));

  it('answers at any horizon are what stepping there gives', () => {
    let compared = 0;
    for (const { seed, rig } of all) {
      for (const stroke of analyseTiming(rig).strokes) {
        const engine = atTrigger(rig, stroke);
        if (!engine || stroke.trace.stopped) continue;
        const { pattern } = stroke;
        const reach = pattern ? pattern.to + 7 * (pattern.to - pattern.from) : 2 * stroke.trace.end + S;
        engine.advanceTo(reach);
        const run = engine.trace();
        const random = seeded(seed);
        for (let i = 0; i < 20; i++) {
          const t = integer(random, 0, reach);
          const edges = run.edges.filter((e) => e.t <= t);
          const covers = pattern?.covers ?? rig.network.nets.map((_, net) => net);
          const counted = edges.filter((e) => covers.includes(e.net));
          expect(countEdges(stroke, t), `seed ${seed} at ${t}`).toBe(counted.length);
          const nets = [...run.initial];
          edges.forEach((e) => (nets[e.net] = e.value));
          const state = stateAt(stroke, t);
          const known = nets.map((value, net) => (state.nets[net] === null ? null : value));
          expect(state.nets, `seed ${seed} at ${t}`).toEqual(known);
          for (const net of covers) expect(state.nets[net]).not.toBeNull();
          run.doors.forEach((track, d) =>
            expect(state.openings[d], `seed ${seed}`).toBeCloseTo(positionAt(track, t), 9),
          );
          compared++;
        }
      }
    }
    expect(compared).toBeGreaterThan(1000);
  });

  it('facts keep their order: commanded before fully open before shut, chains that add up, windows apart', () => {
    let windows = 0;
    for (const { seed, rig } of all) {
      const facts = analyseTiming(rig);
      for (const stroke of facts.strokes) {
        for (const { windows: list } of stroke.doors) {
          let last = stroke.trace.start;
          for (const w of list) {
            windows++;
            expect(w.notShut.from, `seed ${seed}`).toBeGreaterThanOrEqual(last);
            last = w.notShut.to ?? Infinity;
            for (const part of w.fullyOpenParts) {
              expect(part.from).toBeGreaterThanOrEqual(w.notShut.from);
              expect(part.to ?? Infinity).toBeLessThanOrEqual(last);
            }
            for (const chain of [w.opensBecause, w.closesBecause])
              chain.slice(1).forEach((l, i) => expect(l.t - chain[i].t).toBe(l.response + l.preset + l.travel));
          }
        }
        for (const pair of stroke.pairs) expect(pair.gap === null || pair.bothNotShut.length === 0).toBe(true);
        for (const timer of stroke.timers) expect(timer.longestInput === null || timer.longestInput >= 0).toBe(true);
      }
    }
    expect(windows).toBeGreaterThan(100);
  });

  it('behaviours are worked out for every one, without a throw', () => {
    const found = all.flatMap(({ rig }) => analyseTiming(rig).behaviours);
    expect(found.length).toBeGreaterThan(400);
    for (const b of found)
      for (const { interval } of b.straightThrough) expect(interval.from).toBeGreaterThanOrEqual(0);
  });
});
