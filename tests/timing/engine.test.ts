/** The stepper on hand-worked networks: order at one instant, responses, loops, scans, power, doors. Times in ms. */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { createEngine } from '../../server/core/timing/engine';
import type { EngineOptions } from '../../server/core/timing/engine';
import { compileProgram } from '../../server/core/timing/program';
import { loopNets } from '../../server/core/timing/loop';
import {
  CTU,
  F_TRIG,
  MS,
  R_TRIG,
  S,
  SR,
  TOF,
  TON,
  TP,
  and,
  netOf,
  not,
  or,
  sketch,
  workedExample,
  xor,
} from '../support/network';

type Input = readonly [number, string, boolean];

function run(rig: Rig, inputs: readonly Input[], until: number, options: EngineOptions = {}) {
  const engine = createEngine(rig, options);
  for (const [t, name, value] of inputs) {
    if (name === 'power') engine.setPower(value, t * MS);
    else engine.setInput(netOf(rig, name), value, t * MS);
  }
  engine.advanceTo(until * MS);
  return engine;
}

function edges(rig: Rig, inputs: readonly Input[], until: number): string[] {
  return run(rig, inputs, until)
    .trace()
    .edges.map((e) => `${e.t / MS} ${rig.network.nets[e.net].name} ${e.value ? 1 : 0}`);
}

describe('response style', () => {
  it('runs the worked example of the language page', () => {
    expect(edges(workedExample(), [[0, 'ready', true]], 12_000)).toEqual([
      '0 ready 1',
      '50 start 1',
      '100 upper_on 1',
      '100 middle_on 1',
      '150 hold 1',
      '200 start 0',
      '1750 upper_on 0',
      '2150 lower_on/TON 1',
      '2200 lower_on 1',
      '2750 middle_on 0',
      '2800 lower_on/TON 0',
      '3850 lower_on 0',
      '11800 hold 0',
      '11850 start 1',
      '11900 upper_on 1',
      '11900 middle_on 1',
      '11950 hold 1',
      '12000 start 0',
    ]);
  });

  it('passes pulses shorter than the response on: nothing is swallowed', () => {
    const rig = sketch({ response: 50 * MS, switches: { in: false }, signals: { out: 'in' } });
    const pulses: Input[] = [0, 5, 7, 8].map((t, i) => [t, 'in', i % 2 === 0]);
    expect(edges(rig, pulses, 200).filter((e) => e.includes('out'))).toEqual([
      '50 out 1',
      '55 out 0',
      '57 out 1',
      '58 out 0',
    ]);
  });

  it('joins settle first: they give no pulse of no width', () => {
    const rig = sketch({
      switches: { in: false },
      signals: { echo: 'in', pulse: and('in', not('echo')), out: TOF('pulse', S) },
    });
    expect(edges(rig, [[10, 'in', true]], 2000)).toEqual(['10 in 1', '10 echo 1']);
  });

  it('a signal that cuts itself off at the same moment still does its work', () => {
    // on looks at start while it is on, and takes it away in the next round.
    const rig = sketch({
      switches: { in: false },
      signals: { start: and('in', not('on')), on: TOF('start', S) },
    });
    expect(edges(rig, [[10, 'in', true]], 500)).toEqual(['10 in 1', '10 start 1', '10 on 1', '10 start 0']);
  });

  it('two pulses of no width stay two after a response', () => {
    const rig = sketch({ response: 30 * MS, switches: { in: false }, signals: { out: 'in' } });
    const twice: Input[] = [true, false, true, false].map((value) => [10, 'in', value]);
    expect(edges(rig, twice, 100).slice(4)).toEqual(['40 out 1', '40 out 0', '40 out 1', '40 out 0']);
  });

  it('at one instant nets change first: a timer sees its new input at its expiry', () => {
    // b falls exactly when the on-delay would fire, by way of another timer of the same length and a zero response.
    const rig = sketch({
      switches: { in: false },
      signals: { first: TP('in', S), out: TON(and('in', 'first'), S) },
    });
    // Both are due at 1000; first feeds out, so it ends first, and out has lost its input.
    expect(edges(rig, [[0, 'in', true]], 3000)).toEqual(['0 in 1', '0 first 1', '1000 first 0']);
    const outside = sketch({ switches: { in: false }, signals: { out: TON('in', S) } });
    const exact: Input[] = [
      [0, 'in', true],
      [1000, 'in', false],
    ];
    expect(edges(outside, exact, 3000)).toEqual(['0 in 1', '1000 in 0']);
  });

  it('edge detectors give a pulse of one response, one response after the edge', () => {
    const rig = sketch({
      response: 20 * MS,
      switches: { in: false },
      signals: { up: R_TRIG('in'), down: F_TRIG('in') },
    });
    const inputs: Input[] = [
      [100, 'in', true],
      [110, 'in', false],
    ];
    // At the first call CLK is off: F_TRIG gives one pulse by its published body.
    expect(edges(rig, inputs, 300)).toEqual([
      '20 down 1',
      '40 down 0',
      '100 in 1',
      '110 in 0',
      '120 up 1',
      '130 down 1',
      '140 up 0',
      '150 down 0',
    ]);
  });

  it('edges closer than the response run into one pulse', () => {
    const rig = sketch({ response: 20 * MS, switches: { in: false }, signals: { up: R_TRIG('in') } });
    const inputs: Input[] = [0, 5, 15, 16].map((t, i) => [t, 'in', i % 2 === 0]);
    expect(edges(rig, inputs, 300).filter((e) => e.includes('up'))).toEqual(['20 up 1', '55 up 0']);
  });

  it('with zero response an edge detector gives a pulse of one delta step', () => {
    const rig = sketch({ switches: { in: false }, signals: { up: R_TRIG('in'), count: CTU('up', false, 2) } });
    const inputs: Input[] = [1, 2, 3].map((t) => [t, 'in', t % 2 === 1]);
    expect(edges(rig, inputs, 10)).toEqual([
      '1 in 1',
      '1 up 1',
      '1 up 0',
      '2 in 0',
      '3 in 1',
      '3 up 1',
      '3 up 0',
      '3 count 1',
    ]);
  });

  it('names the nets of a loop that does not settle, and only those', () => {
    const rig = sketch({
      switches: { run: false },
      signals: { a: xor('run', 'c'), b: 'a', c: not('b'), lamp: or('run', 'a'), apart: 'run' },
    });
    const { stopped } = run(rig, [[5, 'run', true]], 10);
    expect(stopped).toMatchObject({ reason: 'loop', t: 0 });
    const nets = (stopped?.reason === 'loop' ? stopped.nets : []).map((n) => rig.network.nets[n].name);
    expect(nets).toEqual(['a', 'b', 'c']);
  });

  it('a loop beside the way to a lamp is gone round once, and the lamp is not of it', () => {
    const rig = sketch({
      switches: { run: false },
      signals: { a: or('run', 'c'), b: not('a'), c: 'b', lamp: xor('a', 'tail'), tail: 'lamp' },
    });
    const busy = new Set(['a', 'b', 'c', 'lamp'].map((name) => netOf(rig, name)));
    expect(loopNets(compileProgram(rig), busy)).toEqual(['a', 'b', 'c'].map((name) => netOf(rig, name)));
  });

  it('a loop with a response oscillates and is no fault of the engine', () => {
    const rig = sketch({ response: 10 * MS, switches: { run: false }, signals: { a: and('run', not('a')) } });
    expect(edges(rig, [[0, 'run', true]], 35)).toEqual(['0 run 1', '10 a 1', '20 a 0', '30 a 1']);
  });

  it('stops at its budget and says so', () => {
    const rig = sketch({ response: 10 * MS, switches: { run: true }, signals: { a: and('run', not('a')) } });
    const engine = run(rig, [], 1e6, { budget: 100 });
    expect(engine.stopped).toEqual({ reason: 'budget' });
    expect(engine.trace().edges).toHaveLength(100);
  });

  it('a record begun anew starts with what is on then', () => {
    const rig = sketch({ switches: { run: true }, signals: { late: TON('run', 2 * S), early: not('late') } });
    const engine = run(rig, [], 5_000);
    expect(engine.trace().initial[netOf(rig, 'late')]).toBe(false);
    engine.rebase();
    const { initial, edges: none } = engine.trace();
    expect(none).toEqual([]);
    expect(['run', 'late', 'early'].map((name) => initial[netOf(rig, name)])).toEqual([true, true, false]);
  });

  it('takes other times than the nominal ones', () => {
    const rig = sketch({ response: 50 * MS, switches: { in: false }, signals: { out: TON('in', S) } });
    const times = { preset: () => 900 * MS, response: () => 70 * MS };
    const { edges: found } = run(rig, [[0, 'in', true]], 3000, { times }).trace();
    expect(found.at(-1)).toMatchObject({ t: 970 * MS, value: true, preset: 900 * MS, response: 70 * MS, cause: 0 });
  });
});

describe('scan style', () => {
  it('reads, evaluates in written order and writes at scans; timers are seen at scans', () => {
    // Scans at 0, 20, 40 …; in on at 30 is read at 40; the on-delay of 50 is over at 90, seen at 100.
    const rig = sketch({ scan: 20 * MS, switches: { in: false }, signals: { a: 'in', out: TON('a', 50 * MS) } });
    expect(edges(rig, [[30, 'in', true]], 200)).toEqual(['30 in 1', '40 a 1', '100 out 1']);
  });

  it('a signal written later is seen one scan later', () => {
    const rig = sketch({ scan: 20 * MS, switches: { in: false }, signals: { out: 'late', late: 'in' } });
    expect(edges(rig, [[40, 'in', true]], 200)).toEqual(['40 in 1', '40 late 1', '60 out 1']);
  });

  it('does not see pulses between two scans', () => {
    const rig = sketch({ scan: 20 * MS, switches: { in: false }, signals: { out: SR('in', false) } });
    const short: Input[] = [
      [45, 'in', true],
      [55, 'in', false],
    ];
    expect(edges(rig, short, 200)).toEqual(['45 in 1', '55 in 0']);
  });

  it('a signal of itself alternates once a scan', () => {
    const rig = sketch({ scan: 10 * MS, switches: { run: true }, signals: { a: and('run', not('a')) } });
    expect(edges(rig, [[35, 'run', false]], 100)).toEqual(['0 a 1', '10 a 0', '20 a 1', '30 a 0', '35 run 0']);
  });

  it('passes over scans that can change nothing', () => {
    const rig = sketch({ scan: 1, switches: { in: false }, signals: { out: TON('in', 3600 * S) } });
    const engine = run(rig, [[0, 'in', true]], 0);
    let steps = 0;
    for (; engine.nextTime() < Infinity; steps++) engine.step();
    expect(engine.now).toBeGreaterThanOrEqual(3600 * S);
    expect(steps).toBeLessThan(6);
  });
});

describe('power', () => {
  const rig = sketch({
    response: 10 * MS,
    switches: { run: true },
    signals: { on: SR('run', false), late: TON('on', 100 * MS) },
    doors: { vent: { travel: 100 * MS, rest: 'open' }, gate: 100 * MS },
    drives: { vent: 'late', gate: 'on' },
  });

  it('gone: all nets off, timers forgotten; back: as at the start', () => {
    const course: Input[] = [
      [50, 'power', false],
      [60, 'run', false],
      [200, 'power', true],
      [300, 'run', true],
    ];
    expect(edges(rig, course, 500)).toEqual(['10 on 1', '50 run 0', '50 on 0', '300 run 1', '310 on 1', '420 late 1']);
  });

  it('doors go to rest without it; a door that rests open closes while its drive is off', () => {
    const course: Input[] = [
      [60, 'power', false],
      [400, 'power', true],
    ];
    const [vent, gate] = run(rig, course, 405).trace().doors;
    expect(vent.initial).toBe(1);
    // Closing from 0, sixty hundredths gone at 60, open again at 120, closing again at 400.
    expect(vent.moves.map((m) => [m.t / MS, m.from, m.to, m.arrives / MS])).toEqual([
      [0, 1, 0, 100],
      [60, 0.4, 1, 120],
      [400, 1, 0, 500],
    ]);
    expect(gate.moves.map((m) => [m.t / MS, m.from, m.to, m.arrives / MS])).toEqual([
      [10, 0, 1, 110],
      [60, 0.5, 0, 110],
    ]);
  });
});

describe('doors', () => {
  const gate = (opensIn: number, closesIn: number) =>
    sketch({
      switches: { go: false },
      doors: { gate: { opensIn, closesIn } },
      signals: { on: 'go' },
      drives: { gate: 'on' },
    });
  const moves = (rig: Rig, inputs: readonly [number, boolean][]) => {
    const engine = createEngine(rig);
    for (const [t, value] of inputs) engine.setInput(netOf(rig, 'go'), value, t);
    engine.advanceTo(10 * S);
    return engine.trace().doors[0].moves.map((m) => [m.t, m.from, m.to, m.arrives]);
  };

  it('turn round midway from where they are, the rest rounded up to a whole microsecond', () => {
    // 100 of 300 µs gone: a third open. Closing in 200: 66.67 µs, so 67.
    expect(
      moves(gate(300, 200), [
        [0, true],
        [100, false],
      ]),
    ).toEqual([
      [0, 0, 1, 300],
      [100, 1 / 3, 0, 167],
    ]);
  });

  it('lose nothing over many reversals', () => {
    // 7 µs up and 5 µs down again in a door of 1000 and 900 µs, 100 times: net 7/1000 − 5/900 = 13/9000 each, 1300/9000 open.
    const turns = Array.from({ length: 200 }, (_, i): [number, boolean] => [
      Math.floor(i / 2) * 12 + (i % 2) * 7,
      i % 2 === 0,
    ]);
    const all = moves(gate(1000, 900), [...turns, [1200, true]]);
    expect(all.at(-1)![1]).toBe(1300 / 9000);
    // Remaining 7700/9000 of 1000 µs: 855.56, so 856.
    expect(all.at(-1)![3]).toBe(1200 + 856);
  });

  it('with no travel time are there at once', () => {
    expect(
      moves(gate(0, 0), [
        [5, true],
        [9, false],
      ]),
    ).toEqual([
      [5, 0, 1, 5],
      [9, 1, 0, 9],
    ]);
  });

  it('do not see a command of no width', () => {
    const rig = sketch({
      switches: { go: false },
      doors: { gate: S },
      signals: { echo: 'go', on: and('go', not('echo')) },
      drives: { gate: 'on' },
    });
    expect(run(rig, [[0, 'go', true]], 10).trace().doors[0].moves).toEqual([]);
  });

  it('tell where they are at any time', () => {
    const rig = gate(1000, 1000);
    const engine = createEngine(rig);
    engine.setInput(netOf(rig, 'go'), true, 100);
    engine.advanceTo(350);
    expect(engine.doorPosition(0)).toBe(0.25);
    expect(engine.doorPosition(0, 600)).toBe(0.5);
    expect(engine.doorsArrive()).toBe(1100);
  });
});

describe('snapshots', () => {
  it('bring everything back, in both styles', () => {
    for (const times of [{ response: 20 * MS }, { scan: 10 * MS }]) {
      const rig = sketch({
        ...times,
        switches: { in: false, r: false },
        doors: { gate: 70 * MS },
        signals: { p: TP('in', 100 * MS), n: CTU('p', 'r', 2), q: TOF(or('p', R_TRIG('n')), 50 * MS) },
        drives: { gate: 'q' },
      });
      const engine = createEngine(rig);
      for (let i = 0; i < 6; i++) engine.setInput(netOf(rig, 'in'), i % 2 === 0, (30 + i * 90) * MS);
      engine.advanceTo(235 * MS);
      const kept = engine.snapshot();
      engine.advanceTo(S);
      const first = engine.trace();
      engine.restore(kept);
      engine.setPower(false);
      engine.advanceTo(2 * S);
      engine.restore(kept);
      engine.advanceTo(S);
      expect(engine.trace()).toEqual(first);
      expect(first.edges.length).toBeGreaterThan(8);
    }
  });
});
