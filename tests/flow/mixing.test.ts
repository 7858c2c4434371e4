/** Joining of vessels, blow-down and compression without heat exchange: closed forms, and the two levels against each other. */
import { describe, expect, it } from 'vitest';
import { Balance } from '../../server/core/flow/balance';
import { startContents } from '../../server/core/flow/engine';
import { Openings } from '../../server/core/flow/openings';
import { compileStroke } from '../../server/core/flow/program';
import { RepeatingStroke } from '../../server/core/flow/strokes';
import { air, gasLine, kPa, strokeOn, windowPattern } from '../support/flow';

/** One door of no pocket between two vessels, opened at once. */
const joined = {
  doors: [{ initial: 0, moves: [{ t: 0, from: 0, to: 1 as const, arrives: 0 }] }],
  duration: 60_000_000,
};
const pattern = { ...joined, strokes: 1, repeats: false, lines: [] };

describe('two vessels joined without heat (first law; what stays behind expands isentropically)', () => {
  const law = air(1.4, 300);
  const model = gasLine(law, [1, 1], [1000 * kPa, 100 * kPa], [{ open: 0 }]);

  it('10 bar and 1 bar, 1 m3 each: 4.036 kg pass, 252.9 K stays', () => {
    const balance = new Balance(model, startContents(model, Float64Array.of(1, 1, 0)));
    balance.stroke(compileStroke(model.network, pattern));
    const { mass, temperature } = balance.contents;
    // p = (10 + 1)/2 bar; T = 300 (5.5/10)^(0.4/1.4); m = p V/(R T).
    expect(temperature[0]).toBeCloseTo(300 * 0.55 ** (0.4 / 1.4), 9);
    expect(model.start[0] - mass[0]).toBeCloseTo(4.036, 3);
    expect(law.pressure(mass[1], temperature[1])).toBeCloseTo(550 * kPa, 6);
    const energy = (T: number, m: number): number => m * law.energy(m, T);
    const before = model.start.reduce((sum, m) => sum + energy(300, m), 0);
    expect(energy(temperature[0], mass[0]) + energy(temperature[1], mass[1])).toBeCloseTo(before, 6);
  });

  it('the same through an opening, given time', () => {
    const through = { ...model, law, areas: Float64Array.of(1e-3) };
    const openings = new Openings(through, startContents(through, Float64Array.of(1, 1, 0)));
    expect(strokeOn(openings, pattern)).toBe(true);
    expect(openings.contents.temperature[0]).toBeCloseTo(300 * 0.55 ** (0.4 / 1.4), 2);
    expect(model.start[0] - openings.contents.mass[0]).toBeCloseTo(4.036, 3);
  });
});

describe('the repeating stroke', () => {
  const windows = windowPattern(
    [
      [100, 1750],
      [100, 2750],
      [2200, 3850],
    ],
    300,
    11_800,
  );
  const door = { open: 0.25, shut: 0.01 };

  it.each([1, 1.4])('gains and losses agree, and wide openings come to the balance (n = %f)', (exponent) => {
    const law = air(exponent);
    const model = gasLine(law, [6, 1.5], [150 * kPa, 400 * kPa], [door, door, door]);
    const program = compileStroke(model.network, windows);
    const instant = new RepeatingStroke(model, program).at(model.start);
    expect(instant.doubt).toBeNull();
    expect(Math.abs(instant.gains[0] + instant.gains[1])).toBeLessThan(1e-6 * instant.gains[1]);
    const at = (area: number): number =>
      new RepeatingStroke({ ...model, areas: new Float64Array(3).fill(area) }, program).at(model.start).gains[1];
    // What the gap of the closing door holds back goes into the middle pocket: with (displaced per second/(area · sound))^(2/3).
    const [far, near] = [at(8), at(512)].map((gain) => Math.abs(gain - instant.gains[1]));
    expect(near).toBeLessThan(far);
    expect(near).toBeLessThan((exponent === 1 ? 1e-3 : 3e-3) * instant.gains[1]);
  });

  it('lets a buffer between two stages come to rest', () => {
    const law = air();
    const base = gasLine(law, [5, 0.5], [160 * kPa, 150 * kPa], [door, door, door]);
    // 0 > d0 > d1 > 1 > d2 > 2
    const network = {
      ...base.network,
      chambers: 3,
      volume: Float64Array.of(5, 0.5, 2),
      links: [
        { a: 0, b: 3, gates: [0], orifice: 0 },
        { a: 3, b: 4, gates: [0, 1], orifice: 1 },
        { a: 4, b: 1, gates: [1], orifice: -1 },
        { a: 1, b: 5, gates: [2], orifice: 2 },
        { a: 5, b: 2, gates: [2], orifice: -1 },
      ],
    };
    const vessels = [...base.vessels, { ...base.vessels[1], volume: 2 }];
    const start = [160, 150, 100].map((p, k) => law.density(p * kPa, law.temperature) * network.volume[k]);
    const model = { ...base, network, vessels, start };
    const stroke = new RepeatingStroke(model, compileStroke(network, windows)).at(start);
    expect(stroke.doubt).toBeNull();
    expect(Math.abs(stroke.gains[1])).toBeLessThan(1e-6 * Math.abs(stroke.gains[2]));
    expect(stroke.gains[0] + stroke.gains[2]).toBeCloseTo(0, 6);
  });
});
