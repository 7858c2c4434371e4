/**
 * Flow through openings in time, where the answer is known in closed form: sealed pockets (Boyle), cells wide open to each other, and the
 * work of a pocket that grows or shrinks in a liquid at rest (hydrostatics). Recomputed; no published print.
 */
import { expect, it } from 'vitest';
import { engineOf, runStroke, startContents } from '../../server/core/flow/engine';
import { modelFlow } from '../../server/core/flow/flow-model';
import { LiquidOrifice, type LiquidOrificeModel } from '../../server/core/flow/liquid-orifice';
import { GRAVITY } from '../../server/core/flow/media/constants';
import { constantLiquid } from '../../server/core/flow/media/liquid';
import { Openings, type GasModel } from '../../server/core/flow/openings';
import { compileStroke } from '../../server/core/flow/program';
import { doorWork, type Trapped } from '../../server/core/flow/watch';
import { air, gasLine, gasPressure, kPa, lineNetwork, litre, strokeOn, vessel, windowPattern } from '../support/flow';
import { rigOf } from '../support/rigs';

/** The pocket in the middle shuts from 2 s to 2.2 s, both its neighbours shut: what it says of being squeezed. */
function squeezed(shut: number): Trapped[] {
  const doors = [{ open: 0 }, { open: 2 * litre, shut }, { open: 0 }];
  const model: GasModel = {
    ...gasLine(air(), [1, 1], [100 * kPa, 100 * kPa], doors),
    law: air(),
    areas: new Float64Array(3).fill(0.01),
  };
  const pattern = windowPattern(
    [
      [100, 1500],
      [100, 2000],
      [3000, 3500],
    ],
    200,
    5000,
  );
  const engine = new Openings(model, startContents(model, compileStroke(model.network, pattern).startVolumes));
  const trapped: Trapped[] = [];
  expect(strokeOn(engine, { ...pattern, repeats: false }, { trapped })).toBe(true);
  return trapped.filter((t) => t.t >= 2e6);
}

it('a sealed pocket that keeps a clearance is squeezed to a pressure by Boyle', () => {
  const [only, ...more] = squeezed(0.5 * litre);
  expect(more).toEqual([]);
  expect(only).toMatchObject({ doors: [1] });
  expect(Number(only?.to) / Number(only?.from)).toBeCloseTo(4, 6);
});

it('one that keeps nothing is squeezed without bound', () => {
  expect(squeezed(0).at(-1)!.to).toBe(Infinity);
});

it('cells that come to be wide open to each other are at one pressure at once, with the energy that both had', () => {
  const law = air(1.4);
  const model: GasModel = {
    ...gasLine(law, [1, 0.05], [100 * kPa, 400 * kPa], [{ open: 10 * litre, shut: 10 * litre }]),
    law,
    areas: Float64Array.of(1e-5),
  };
  const doors = [{ initial: 0, moves: [{ t: 1e6, from: 0, to: 1 as const, arrives: 1e6 }] }];
  const pattern = { doors, duration: 2_000_000, strokes: 1, repeats: false, lines: [] };
  const engine = new Openings(model, startContents(model, compileStroke(model.network, pattern).startVolumes));
  const pocket = 2;
  // A pocket at 150 kPa beside a chamber at 400 kPa.
  engine.contents.mass[pocket] = law.density(150 * kPa, 293.15) * 10 * litre;
  engine.contents.temperature[pocket] = 293.15;
  const met: number[][] = [];
  const each = (): void => void met.push([gasPressure(engine, pocket, 10 * litre), gasPressure(engine, 1, 50 * litre)]);
  strokeOn(engine, pattern, { each });
  // The opening moment comes before any time has passed since it: both at the mean by volume, as p V of both is kept.
  const mixed = (150 * 10 + 400 * 50) / 60;
  const at = met.find(([a, b]) => Math.abs(a! - b!) < 1);
  expect(at?.[0]).toBeCloseTo(mixed * kPa, 0);
});

it('a pocket that grows in a liquid, and shrinks again, is given the work of the pressure there', () => {
  const water = constantLiquid({
    name: 'water',
    density: 998.2,
    bulkModulus: 2.18e9,
    temperature: 293.15,
    vapourPressure: null,
  });
  const depth = 3;
  const model: LiquidOrificeModel = {
    law: water,
    network: lineNetwork([200, 400], [{ open: 20 * litre }]),
    vessels: [vessel(200, 293.15, { floorArea: 20 }), vessel(400, 293.15, { floorArea: 40 })],
    lines: [],
    start: [20 * depth * 998.2, 40 * depth * 998.2],
    areas: Float64Array.of(1e-9),
  };
  const pattern = windowPattern([[1000, 4000]], 500, 6000);
  const engine = new LiquidOrifice(model, startContents(model, compileStroke(model.network, pattern).startVolumes));
  const work = doorWork(1);
  expect(strokeOn(engine, { ...pattern, repeats: false }, { work })).toBe(true);
  const expected = 998.2 * GRAVITY * depth * 20 * litre;
  expect(Math.abs(work.done[0]! - expected)).toBeLessThan(0.01 * expected);
  expect(Math.abs(work.back[0]! - expected)).toBeLessThan(0.01 * expected);
});

it('the same where the other door is shut and leaks: what leaks is followed meanwhile', () => {
  const depth = 3;
  const rig = rigOf(`rig tanks {
  medium water
  chamber high { volume 200 m3  floor_area 20 m2  level ${depth} m }
  chamber low { volume 400 m3  floor_area 40 m2  level ${depth} m }
  door upper { travel 500 ms  bore 20 mm  leak 1 mm2 }
  door lower { pocket 20 L  travel 500 ms  bore 50 mm }
  stack high > upper > lower > low
  switch go = off
  drive upper = go
  drive lower = go
}`);
  const { model } = modelFlow(rig);
  const shut = { initial: 0, moves: [] };
  const moved = windowPattern([[1000, 4000]], 500, 6000).doors[0]!;
  const pattern = { doors: [shut, moved], duration: 6_000_000, strokes: 1, repeats: false, lines: [] };
  const program = compileStroke(model!.network, pattern);
  const engine = engineOf(model!, startContents(model!, program.startVolumes));
  const work = doorWork(2);
  expect(runStroke(engine, program, { work })).toBe(true);
  const density = model!.start[0]! / (20 * depth);
  const expected = density * GRAVITY * depth * 20 * litre;
  expect(Math.abs(work.done[1]! - expected)).toBeLessThan(0.01 * expected);
  expect(Math.abs(work.back[1]! - expected)).toBeLessThan(0.01 * expected);
});
