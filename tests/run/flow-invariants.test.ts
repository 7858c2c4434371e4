/** What holds for every rig: mass is kept to rounding, at both levels, for all media, whatever the doors do. Seeded random rigs. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { strokeOn } from '../support/flow';
import { constantLiquid } from '../../server/core/flow/media/liquid';
import type { FlowModel } from '../../server/core/flow/rig-model';
import { engineOf, runStroke, startContents } from '../../server/core/flow/engine';
import type { CellNetwork, Link } from '../../server/core/flow/cells';
import { idealGas } from '../../server/core/flow/media/ideal-gas';
import type { Law } from '../../server/core/flow/media/law';
import { realGas } from '../../server/core/flow/media/peng-robinson';
import { Openings } from '../../server/core/flow/openings';
import type { DoorMotion, DoorPath, StrokePattern } from '../../server/core/flow/pattern';
import { compileStroke } from '../../server/core/flow/program';

const SEED = 20260;

const LAWS: Record<string, Law> = {
  'ideal isothermal': idealGas({
    name: 'air',
    title: '',
    gasConstant: 287.05,
    heatRatio: 1.4,
    temperature: 293.15,
    exponent: 1,
    error: () => null,
  }),
  'ideal adiabatic': idealGas({
    name: 'air',
    title: '',
    gasConstant: 287.05,
    heatRatio: 1.4,
    temperature: 293.15,
    exponent: 1.4,
    error: () => null,
  }),
  'real isothermal': realGas({
    name: 'co2',
    title: '',
    molarMass: 0.0440098,
    heatRatio: 1.2876,
    temperature: 330,
    exponent: 1,
    criticalTemperature: 304.1282,
    criticalPressure: 7.3773e6,
    acentricFactor: 0.2239,
  }),
  'real polytropic': realGas({
    name: 'co2',
    title: '',
    molarMass: 0.0440098,
    heatRatio: 1.2876,
    temperature: 330,
    exponent: 1.2,
    criticalTemperature: 304.1282,
    criticalPressure: 7.3773e6,
    acentricFactor: 0.2239,
  }),
  liquid: constantLiquid({
    name: 'water',
    density: 998.2,
    bulkModulus: 2.18e9,
    temperature: 293.15,
    vapourPressure: null,
  }),
  packed: { phase: 'packed', name: 'ore', title: '', temperature: 293.15 },
};

interface Sketch {
  /** Doors between one chamber and the next. */
  readonly stages: readonly number[];
  readonly volumes: readonly number[];
  /** Contents as a part of a plain filling. */
  readonly fills: readonly number[];
  readonly pockets: readonly number[];
  readonly clearances: readonly number[];
  /** Per door: moments at which its drive turns round, ms, and its travel, ms. */
  readonly turns: readonly (readonly number[])[];
  readonly travels: readonly number[];
}

const sketches: fc.Arbitrary<Sketch> = fc.record({
  stages: fc.array(fc.integer({ min: 1, max: 3 }), { minLength: 1, maxLength: 2 }),
  volumes: fc.array(fc.double({ min: 0.2, max: 5, noNaN: true }), { minLength: 3, maxLength: 3 }),
  fills: fc.array(fc.double({ min: 0, max: 3, noNaN: true }), { minLength: 3, maxLength: 3 }),
  pockets: fc.array(fc.double({ min: 0, max: 0.2, noNaN: true }), { minLength: 6, maxLength: 6 }),
  clearances: fc.array(fc.double({ min: 0, max: 0.5, noNaN: true }), { minLength: 6, maxLength: 6 }),
  turns: fc.array(fc.array(fc.integer({ min: 0, max: 9999 }), { maxLength: 6 }), { minLength: 6, maxLength: 6 }),
  travels: fc.array(fc.constantFrom(0, 50, 300, 1500), { minLength: 6, maxLength: 6 }),
});

function networkOf(s: Sketch): CellNetwork {
  const chambers = s.stages.length + 1;
  const doors = s.stages.reduce((a, n) => a + n, 0);
  const cells: number[] = [0];
  let door = 0;
  s.stages.forEach((n, k) => {
    for (let i = 0; i < n; i++) cells.push(chambers + door++);
    cells.push(k + 1);
  });
  const links = cells.slice(1).map((b, k): Link => {
    const a = cells[k];
    return {
      a,
      b,
      gates: [a, b].filter((c) => c >= chambers).map((c) => c - chambers),
      orifice: b >= chambers ? b - chambers : -1,
    };
  });
  const open = Float64Array.from({ length: doors }, (_, d) => s.pockets[d]);
  return {
    chambers,
    doors,
    volume: Float64Array.from(s.volumes.slice(0, chambers)),
    open,
    shut: open.map((p, d) => p * s.clearances[d]),
    links,
    measured: [],
  };
}

/** Doors that turn round at any moment, also midway. */
function patternOf(s: Sketch, doors: number): StrokePattern {
  const paths = Array.from({ length: doors }, (_, d): DoorPath => {
    const travel = s.travels[d] * 1000;
    const moves: DoorMotion[] = [];
    let at = 0;
    let since = 0;
    let to: 0 | 1 = 0;
    for (const ms of [...new Set(s.turns[d])].sort((a, b) => a - b)) {
      const t = ms * 1000;
      if (moves.length > 0)
        at =
          travel === 0
            ? to
            : to === 1
              ? Math.min(1, at + (t - since) / travel)
              : Math.max(0, at - (t - since) / travel);
      to = to === 1 ? 0 : 1;
      since = t;
      moves.push({ t, from: at, to, arrives: t + Math.ceil((to === 1 ? 1 - at : at) * travel) });
    }
    return { initial: 0, moves };
  });
  return {
    doors: paths,
    duration: 12_000_000,
    strokes: 1,
    repeats: false,
    lines: [[[0, 12_000_000]], [[1_000_000, 5_000_000]]],
  };
}

function modelOf(s: Sketch, law: Law): FlowModel {
  const network = networkOf(s);
  const density =
    law.phase === 'gas' ? law.density(2e5, law.temperature) : law.phase === 'liquid' ? law.referenceDensity / 3.2 : 10;
  const last = network.chambers - 1;
  return {
    law,
    network,
    vessels: [...network.volume].map((volume) => ({
      name: '',
      volume,
      temperature: law.temperature,
      surface: 101_325,
      floorArea: Math.cbrt(volume) ** 2,
      elevation: 0,
    })),
    lines: [
      { name: 'feed', chamber: 0, sign: 1, rate: 0.05, power: 0, only: null },
      { name: 'draw', chamber: last, sign: -1, rate: 0.02, power: 0, only: null },
    ],
    start: [...network.volume].map((v, k) => v * density * s.fills[k]),
  };
}

const total = (mass: Float64Array): number => mass.reduce((a, m) => a + m, 0);

describe('mass is kept', () => {
  it.each(Object.keys(LAWS))('balance, %s', (name) => {
    fc.assert(
      fc.property(sketches, (sketch) => {
        const model = modelOf(sketch, LAWS[name]);
        const program = compileStroke(model.network, patternOf(sketch, model.network.doors));
        const balance = engineOf(model, startContents(model, program.startVolumes));
        const before = total(balance.contents.mass);
        const lines = new Float64Array(2);
        fc.pre(runStroke(balance, program, { lines }));
        const after = total(balance.contents.mass);
        expect(Math.abs(after - before - lines[0] + lines[1])).toBeLessThanOrEqual(
          1e-12 * (before + lines[0] + 1e-9) + (name === 'real polytropic' ? 1e-9 : 0),
        );
        for (const m of balance.contents.mass) expect(m).toBeGreaterThanOrEqual(-1e-12 * (before + 1));
      }),
      { seed: SEED, numRuns: name === 'real polytropic' ? 20 : 200 },
    );
  });

  it.each(['ideal isothermal', 'ideal adiabatic'])('orifice, %s', (name) => {
    fc.assert(
      fc.property(sketches, (sketch) => {
        const base = modelOf(sketch, LAWS[name]);
        // Pockets of some size: one of nothing between two doors has no pressure of its own.
        const network = {
          ...base.network,
          open: base.network.open.map((v) => v + 0.01),
          shut: base.network.shut.map((v) => v + 0.001),
        };
        const model = { ...base, network, law: LAWS[name] as never, areas: new Float64Array(network.doors).fill(2e-3) };
        const pattern = patternOf(sketch, network.doors);
        const orifice = new Openings(model, startContents(model, compileStroke(network, pattern).startVolumes), {
          relative: 1e-5,
        });
        const before = total(orifice.contents.mass);
        fc.pre(strokeOn(orifice, pattern));
        const after = total(orifice.contents.mass);
        expect(after - before).toBeLessThanOrEqual(0.05 * 12 + 1e-9);
        expect(after - before).toBeGreaterThanOrEqual(0.05 * 12 - 0.02 * 4 - 1e-9);
      }),
      { seed: SEED, numRuns: 60 },
    );
  });
});

describe('halving the tolerance changes little', () => {
  it('orifice', () => {
    fc.assert(
      fc.property(sketches, (sketch) => {
        const law = LAWS['ideal isothermal'];
        const base = { ...modelOf(sketch, law), lines: [] };
        const network = {
          ...base.network,
          open: base.network.open.map((v) => v + 0.01),
          shut: base.network.shut.map((v) => v + 0.001),
        };
        const model = { ...base, network, law: law as never, areas: new Float64Array(network.doors).fill(2e-3) };
        const pattern = { ...patternOf(sketch, network.doors), lines: [] };
        const run = (relative: number): Float64Array | null => {
          const orifice = new Openings(model, startContents(model, compileStroke(network, pattern).startVolumes), {
            relative,
          });
          return strokeOn(orifice, pattern) ? orifice.contents.mass : null;
        };
        const [a, b] = [run(1e-6), run(5e-7)];
        fc.pre(a !== null && b !== null);
        const scale = total(b!) + 1e-9;
        a!.forEach((m, k) => expect(Math.abs(m - b![k])).toBeLessThan(1e-4 * scale));
      }),
      { seed: SEED, numRuns: 40 },
    );
  });
});
