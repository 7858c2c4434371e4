/** Traces of scenarios and of the trigger alone, and their exports as text. */
import { describe, expect, it } from 'vitest';
import type { Rig, Scenario } from '../../server/core/model/rig';
import { tracedParts, traceScenario } from '../../server/core/timing/scenario';
import { csvPieces, exactSeconds, jsonPieces } from '../../server/core/timing/trace-export';
import { vcdPieces } from '../../server/core/timing/vcd';
import { MS, NOWHERE, R_TRIG, S, TOF, TP, and, not, sketch, time, workedExample } from '../support/network';

type Step = readonly [number, Scenario['steps'][number]['action'], number, boolean];

function scenario(steps: readonly Step[]): Scenario {
  return {
    name: 'course',
    at: NOWHERE,
    whole: NOWHERE,
    doc: '',
    steps: steps.map(([at, action, target, on]) => ({ at: time(at), action, target, on, source: NOWHERE })),
    duration: null,
  };
}
const told = (rig: Rig, steps: readonly Step[] | null, until: number) =>
  traceScenario(rig, steps && scenario(steps), until).edges.map(
    (e) => `${e.t / MS} ${rig.network.nets[e.net].name} ${e.value ? 1 : 0}`,
  );

describe('traceScenario', () => {
  it('with no scenario flips the trigger at time zero and holds it', () => {
    const edges = told(workedExample(), null, 2 * S);
    expect(edges.slice(0, 3)).toEqual(['0 ready 1', '50 start 1', '100 upper_on 1']);
    expect(edges.at(-1)).toBe('1750 upper_on 0');
  });

  it('follows switches, sensors and power; feeds have no part', () => {
    const rig = workedExample();
    const steps: Step[] = [
      [1 * S, 'sensor', 0, true],
      [1.1 * S, 'feed', 0, true],
      [1.12 * S, 'switch', 0, false],
      [3 * S, 'power', -1, false],
    ];
    // start 1.05, doors 1.10, run off 1.12, hold 1.15, start off 1.17; 1.17 + 1.5 + 0.05 = 2.72; lower fires at 1.10 + 2.0: power is gone.
    expect(told(rig, steps, 10 * S)).toEqual([
      '1000 ready 1',
      '1050 start 1',
      '1100 upper_on 1',
      '1100 middle_on 1',
      '1120 run 0',
      '1150 hold 1',
      '1170 start 0',
      '2720 upper_on 0',
      '3000 ready 0',
      '3000 middle_on 0',
      '3000 hold 0',
    ]);
  });

  it('a feed or draw turns no sensor and no switch that has its number', () => {
    const steps: Step[] = [
      [1 * S, 'feed', 0, true],
      [2 * S, 'draw', 0, true],
    ];
    expect(told(workedExample(), steps, 10 * S)).toEqual([]);
  });

  it('begins a rig that strokes by itself at power-up', () => {
    const rig = sketch({
      response: 50 * MS,
      switches: { run: true },
      signals: { start: and('run', not('hold')), go: TOF('start', S), hold: TOF('go', 4 * S) },
      doors: { upper: 0 },
      drives: { upper: 'go' },
    });
    expect(told(rig, [], 1 * S)[0]).toBe('50 start 1');
  });

  it('for a rig without doors flips the first sensor, for one without sensors nothing', () => {
    const lamp = sketch({ sensors: { full: 'above' }, signals: { lamp: TP('full', S) } });
    expect(told(lamp, null, 2 * S)).toEqual(['0 full 1', '0 lamp 1', '1000 lamp 0']);
    expect(told(sketch({ switches: { run: true }, signals: { lamp: 'run' } }), null, 2 * S)).toEqual([]);
  });

  it('ends at the time asked for, scan or not', () => {
    const rig = sketch({ scan: 20 * MS, sensors: { full: 'above' }, signals: { lamp: TP('full', S) } });
    expect(traceScenario(rig, null, 123_456).end).toBe(123_456);
    expect(traceScenario(rig, scenario([]), 123_456).end).toBe(123_456);
  });
});

describe('exports', () => {
  const rig = sketch({
    sensors: { full: 'above' },
    signals: { echo: 'full', pulse: R_TRIG('full'), open: TP('pulse', 500 * MS) },
    doors: { gate: 100 * MS },
    drives: { gate: 'open' },
  });
  const trace = traceScenario(rig, null, 2 * S);

  it('JSON: every edge of every switch, sensor, signal and door, seconds', () => {
    expect(JSON.parse([...jsonPieces(rig, [trace])].join(''))).toEqual({
      edges: [
        { t: 0, name: 'full', value: 1 },
        { t: 0, name: 'echo', value: 1 },
        { t: 0, name: 'pulse', value: 1 },
        { t: 0, name: 'pulse', value: 0 },
        { t: 0, name: 'open', value: 1 },
        { t: 0, name: 'gate', value: 1 },
        { t: 0.1, name: 'gate.fully_open', value: 1 },
        { t: 0.5, name: 'open', value: 0 },
        { t: 0.5, name: 'gate.fully_open', value: 0 },
        { t: 0.6, name: 'gate', value: 0 },
      ],
    });
  });

  it('CSV: the same edges, one a line', () => {
    const rows = [...csvPieces(rig, [trace])].join('').split('\n');
    expect(rows[0]).toBe('t,name,value');
    expect(rows.slice(7, 10)).toEqual(['0.1,gate.fully_open,1', '0.5,open,0', '0.5,gate.fully_open,0']);
    expect(rows).toHaveLength(12);
  });

  it('leaves inner elements of a signal out', () => {
    const nested = sketch({ sensors: { full: 'above' }, signals: { open: TOF(TP('full', S), S) } });
    expect([...jsonPieces(nested, [traceScenario(nested, null, 3 * S)])].join('')).not.toContain('/');
  });

  it('seconds are exact at any size', () => {
    const cases: [number, string][] = [
      [0, '0'],
      [1, '0.000001'],
      [100_000, '0.1'],
      [1_750_000, '1.75'],
      [9_007_199_254_740_991, '9007199254.740991'],
      [-1_500_000, '-1.5'],
    ];
    for (const [us, text] of cases) expect(exactSeconds(us)).toBe(text);
  });
});

describe('a trace in parts', () => {
  /** Beats whose ends meet ends of doors on their way: at 1 s a door just opens, is half open, or turns round. */
  const beating = (travel: number) =>
    sketch({
      response: 0,
      switches: { run: true },
      signals: { beat: TP(and('run', not('pause')), S), pause: TOF('beat', S) },
      doors: { slide: travel * MS, gate: 300 * MS },
      drives: { slide: 'beat', gate: 'pause' },
    });
  const rigs = [workedExample(), beating(1000), beating(2000), beating(1500), beating(400)];

  it.each([1, 2, 3, 7])('of %i edges or more each has the same text as the whole', (size) => {
    for (const rig of rigs) {
      for (const pieces of [csvPieces, jsonPieces, vcdPieces]) {
        const parts = [...tracedParts(rig, null, 60 * S, { size })];
        expect(parts.length).toBeGreaterThan(3);
        expect([...pieces(rig, parts)].join('')).toBe([...pieces(rig, [traceScenario(rig, null, 60 * S)])].join(''));
      }
    }
  });

  it('of a scenario takes its operations over', () => {
    const rig = workedExample();
    const steps: Step[] = [
      [1 * S, 'sensor', 0, true],
      [3 * S, 'power', -1, false],
      [8 * S, 'power', -1, true],
    ];
    const parts = [...tracedParts(rig, scenario(steps), 30 * S, { size: 1 })];
    const whole = traceScenario(rig, scenario(steps), 30 * S);
    expect([...csvPieces(rig, parts)].join('')).toBe([...csvPieces(rig, [whole])].join(''));
  });

  it('ends with the reason once there are too many edges, however long it was to be', () => {
    const parts = [...tracedParts(beating(400), null, 1e15, { size: 10, most: 100 })];
    expect(parts.at(-1)).toMatchObject({ stopped: { reason: 'budget' } });
    expect(parts.flatMap((p) => p.edges).length).toBeLessThan(130);
    expect(parts.at(-1)!.end).toBeLessThan(200 * S);
  });
});
