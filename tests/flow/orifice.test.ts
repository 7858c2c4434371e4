import { describe, expect, it } from 'vitest';
import { Balance } from '../../server/core/flow/balance';
import { startContents } from '../../server/core/flow/engine';
import type { GasModel } from '../../server/core/flow/openings';
import { Openings } from '../../server/core/flow/openings';
import type { StrokePattern } from '../../server/core/flow/pattern';
import { compileStroke } from '../../server/core/flow/program';
import type { CutOff } from '../../server/core/flow/watch';
import { air, gasLine, kPa, strokeOn, windowPattern } from '../support/flow';

const feed = { name: 'f', chamber: 0, sign: 1 as const, rate: 0.12, power: 0, only: null };

/** Digester bank of the samples: three 250 L pockets of 10 L clearance between 6 m3 and 1.5 m3, 300 ms travel. */
function bank(exponent: number, area: number, fed: boolean): { model: GasModel; pattern: StrokePattern } {
  const law = air(exponent);
  const door = { open: 0.25, shut: 0.01 };
  const model = gasLine(law, [6, 1.5], [150 * kPa, 400 * kPa], [door, door, door], fed ? [feed] : []);
  const pattern = windowPattern(
    [
      [100, 1750],
      [100, 2750],
      [2200, 3850],
    ],
    300,
    11_800,
  );
  const lines = fed ? [[[0, 11_800_000]] as const] : [];
  return { model: { ...model, law, areas: new Float64Array(3).fill(area) }, pattern: { ...pattern, lines } };
}

function runBoth(exponent: number, area: number, relative = 1e-7) {
  const { model, pattern } = bank(exponent, area, false);
  const program = compileStroke(model.network, pattern);
  const balance = new Balance(model, startContents(model, program.startVolumes));
  const orifice = new Openings(model, startContents(model, program.startVolumes), { relative });
  balance.stroke(program);
  const cutOffs: CutOff[] = [];
  const complete = strokeOn(orifice, pattern, { cutOffs });
  const stroke = { complete, cutOffs: cutOffs.filter((c) => c.kind === 'fill') };
  return { balance: balance.contents, orifice: orifice.contents, stroke };
}

const total = (mass: Float64Array): number => mass.reduce((a, m) => a + m, 0);

describe('orifice level', () => {
  it('comes to the balance as openings grow (isothermal)', () => {
    const difference = (area: number): number => {
      const { balance, orifice, stroke } = runBoth(1, area);
      expect(stroke.complete).toBe(true);
      return Math.abs(orifice.mass[1] - balance.mass[1]) / (balance.mass[1] - 1.5 * (400e3 / (287.05 * 293.15)));
    };
    const [small, middle, large] = [0.05, 0.2, 0.8].map(difference);
    expect(middle).toBeLessThan(small);
    expect(large).toBeLessThan(middle);
    expect(large).toBeLessThan(0.02);
  });

  it.each([1, 1.25, 1.4])('conserves mass to rounding, exponent %f', (exponent) => {
    const { model } = bank(exponent, 0.02, false);
    const before = model.start.reduce((a, m) => a + m, 0);
    const { orifice, balance } = runBoth(exponent, 0.02);
    expect(Math.abs(total(orifice.mass) - total(balance.mass))).toBeLessThan(1e-12 * before);
  });

  it('changes little with a tolerance a hundred times finer', () => {
    const a = runBoth(1.4, 0.02, 1e-6).orifice.mass[1];
    const b = runBoth(1.4, 0.02, 1e-8).orifice.mass[1];
    expect(Math.abs(a - b)).toBeLessThan(1e-5 * b);
  });

  it('reports the door that shuts before the pocket has filled', () => {
    // 2 cm2 for a quarter cubic metre within 1.65 s: far from full when the upper door shuts.
    const { stroke } = runBoth(1, 2e-4);
    expect(stroke.cutOffs[0].door).toBe(0);
    expect(stroke.cutOffs[0].fill).toBeLessThan(0.6);
    const { stroke: wide } = runBoth(1, 0.05);
    // Above 1: the last of the closing door's own pocket is squeezed through a gap that is nearly shut.
    expect(wide.cutOffs[0].fill).toBeGreaterThan(0.99);
  });

  it('takes the same from a feed as the balance does', () => {
    const { model, pattern } = bank(1, 0.05, true);
    const program = compileStroke(model.network, pattern);
    const orifice = new Openings(model, startContents(model, program.startVolumes));
    const before = total(orifice.contents.mass);
    strokeOn(orifice, pattern);
    expect(total(orifice.contents.mass) - before).toBeCloseTo(0.12 * 11.8, 9);
  });
});
