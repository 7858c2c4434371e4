import { describe, expect, it } from 'vitest';
import type { Trace } from '../../server/core/timing/trace';
import { traceScenario } from '../../server/core/timing/scenario';
import { networkLines } from '../support/network-lines';
import { rigFrom } from '../support/rig';

const FRAME = `chamber a { volume 1 m3 }
chamber b { volume 1 m3 }
door upper { travel 100 ms }
door lower { travel 100 ms }
stack a > upper > lower > b
switch go = off
`;
const TWO = `sequence stroke on go {
  at 0 s open upper
  at 1.5 s close upper
  at 2 s open lower
  at 3 s close lower
`;
const text = (body: string): string => `rig r {\n${FRAME}${body}\n}`;

/** When each door is told to move: `[seconds, opening]`.
 * Presets of its fixtures: common practice, no source.
 */
function commands(trace: Trace): (readonly [number, boolean])[][] {
  return trace.doors.map((door) => door.moves.map((move) => [move.t / 1e6, move.to === 1] as const));
}

/** Runs a rig whose switch `go` is thrown at the given times (seconds). */
function run(body: string, throws: readonly (readonly [number, 'on' | 'off'])[], until: number) {
  const steps = throws.map(([at, state]) => `at ${at} s switch go ${state}`).join('\n');
  const { rig } = rigFrom(text(`${body}\nscenario s {\n${steps}\nfor ${until} s\n}`));
  return commands(traceScenario(rig, rig.scenarios[0]!, until * 1e6));
}

describe('a sequence that drives its doors', () => {
  it('becomes a stroke, its moments and the windows of its doors, without response', () => {
    const { rig } = rigFrom(text(`controller { response 50 ms  timer_accuracy 1 % }\n${TWO}repeat after 10 s\n}`));
    expect(rig.sequences[0]).toMatchObject({ drives: true, repeatAfter: { nominal: 10_000_000 } });
    expect(networkLines(rig)).toEqual([
      'stroke = TP(go and not stroke, 10 s (9.9 s to 10.1 s))',
      'stroke/1 = TON(stroke, 1.5 s (1.485 s to 1.515 s))',
      'stroke/2 = TON(stroke, 2 s (1.98 s to 2.02 s))',
      'stroke/3 = TON(stroke, 3 s (2.97 s to 3.03 s))',
      'stroke/upper = LOGIC(stroke and not stroke/1)',
      'stroke/lower = LOGIC(stroke and stroke/2 and not stroke/3)',
      'drive upper = stroke/upper',
      'drive lower = stroke/lower',
    ]);
  });

  it('places its elements at the steps', () => {
    const source = text(`${TWO}}`);
    const { rig } = rigFrom(source);
    const at = rig.network.elements.map((e) => source.slice(e.at.start, e.at.end));
    expect(at).toEqual(['stroke', 'at 1.5 s close upper', 'at 2 s open lower', 'upper', 'lower']);
  });

  const upper = (start: number) => [
    [start, true],
    [start + 1.5, false],
  ];
  const lower = (start: number) => [
    [start + 2, true],
    [start + 3, false],
  ];

  it('opens its windows exactly as written after the rising edge, also when the signal drops', () =>
    expect(
      run(
        `${TWO}}`,
        [
          [1, 'on'],
          [1.2, 'off'],
        ],
        8,
      ),
    ).toEqual([upper(1), lower(1)]));

  it('without a repeat time runs once per edge', () =>
    expect(run(`${TWO}}`, [[1, 'on']], 20)).toEqual([upper(1), lower(1)]));

  it('repeats while its signal holds', () =>
    expect(
      run(
        `${TWO}repeat after 4 s\n}`,
        [
          [1, 'on'],
          [6, 'off'],
        ],
        20,
      ),
    ).toEqual([
      [...upper(1), ...upper(5)],
      [...lower(1), ...lower(5)],
    ]));

  it('passes over edges during a stroke, and starts late where the signal comes late', () =>
    expect(
      run(
        `${TWO}repeat after 4 s\n}`,
        [
          [1, 'on'],
          [2, 'off'],
          [3, 'on'],
          [4, 'off'],
          [7, 'on'],
          [7.5, 'off'],
        ],
        20,
      ),
    ).toEqual([
      [...upper(1), ...upper(7)],
      [...lower(1), ...lower(7)],
    ]));

  it('may open a door several times, and several doors at once', () => {
    const body =
      'sequence q on go {\nat 0 s open upper, lower\nat 1 s close lower\nat 2 s close upper\nat 3 s open lower\nat 4 s close lower\n}';
    expect(run(body, [[0, 'on']], 10)).toEqual([
      [
        [0, true],
        [2, false],
      ],
      [
        [0, true],
        [1, false],
        [3, true],
        [4, false],
      ],
    ]);
  });

  it('keeps a door that closes at the repeat time open for the stroke only', () =>
    expect(
      run(
        'sequence q on go {\nat 1 s open upper\nat 4 s close upper\nrepeat after 4 s\n}',
        [
          [0, 'on'],
          [5, 'off'],
        ],
        20,
      )[0],
    ).toEqual([
      [1, true],
      [4, false],
      [5, true],
      [8, false],
    ]));
});

describe('a sequence beside wired drives', () => {
  it('states the intent and makes no elements', () => {
    const { rig } = rigFrom(text(`${TWO}}\ndrive upper = go`));
    expect(rig.sequences[0]).toMatchObject({ drives: false, triggerNet: 0 });
    expect(networkLines(rig)).toEqual(['drive upper = go']);
    expect(rig.sequences[0]!.steps.map((s) => [s.at.nominal, s.open, s.doors])).toEqual([
      [0, true, [0]],
      [1_500_000, false, [0]],
      [2_000_000, true, [1]],
      [3_000_000, false, [1]],
    ]);
  });

  it('needs no signal then', () => {
    const { rig } = rigFrom(text('sequence q { at 0 s open upper  at 1 s close upper }\ndrive upper = go'));
    expect(rig.sequences[0]).toMatchObject({ drives: false, triggerNet: null });
  });
});
