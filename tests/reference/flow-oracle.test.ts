/**
 * The orifice level against scipy's integrators on the same equations, written down independently in Python: three doors between two
 * chambers, ideal gas, isothermal, openings and pockets that move. Runs where python3 with scipy is there; under CI it must be.
 */
import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { startContents } from '../../server/core/flow/engine';
import type { GasModel } from '../../server/core/flow/openings';
import { Openings } from '../../server/core/flow/openings';
import { compileStroke } from '../../server/core/flow/program';
import { ORACLE } from '../support/flow-oracle';
import { air, gasLine, kPa, windowPattern, strokeOn } from '../support/flow';

const hasScipy = spawnSync('python3', ['-c', 'import scipy, numpy']).status === 0;
if (!hasScipy && process.env['CI']) throw new Error('python3 with scipy is needed under CI');
if (!hasScipy) console.warn('SKIPPED: the scipy oracle of the orifice level (python3 with scipy is not here)');

interface Case {
  readonly volumes: readonly [number, number];
  readonly pressures: readonly [number, number];
  readonly pocket: number;
  readonly clearance: number;
  readonly area: number;
  readonly windows: readonly (readonly [number, number])[];
  readonly travel: number;
  readonly duration: number;
}

const WINDOWS = [
  [100, 1750],
  [100, 2750],
  [2200, 3850],
] as const;
const CASES: Record<string, Case> = {
  'wide doors': {
    volumes: [6, 1.5],
    pressures: [150, 400],
    pocket: 0.25,
    clearance: 0.01,
    area: 0.03,
    windows: WINDOWS,
    travel: 300,
    duration: 5000,
  },
  'narrow doors, far from equal when they shut': {
    volumes: [6, 1.5],
    pressures: [150, 400],
    pocket: 0.25,
    clearance: 0.02,
    area: 4e-4,
    windows: WINDOWS,
    travel: 300,
    duration: 5000,
  },
  'choked all the way': {
    volumes: [2, 0.5],
    pressures: [2000, 100],
    pocket: 0.02,
    clearance: 0.002,
    area: 2e-4,
    windows: WINDOWS,
    travel: 500,
    duration: 6000,
  },
  'straight through': {
    volumes: [1, 1],
    pressures: [300, 100],
    pocket: 0.02,
    clearance: 0.002,
    area: 1e-3,
    windows: [
      [0, 2000],
      [500, 2500],
      [1000, 3000],
    ],
    travel: 200,
    duration: 4000,
  },
};

function ours(c: Case): number[] {
  const law = air();
  const door = { open: c.pocket, shut: c.clearance };
  const model: GasModel = {
    ...gasLine(law, c.volumes, [c.pressures[0] * kPa, c.pressures[1] * kPa], [door, door, door]),
    law,
    areas: new Float64Array(3).fill(c.area),
  };
  const pattern = windowPattern(c.windows, c.travel, c.duration);
  const orifice = new Openings(model, startContents(model, compileStroke(model.network, pattern).startVolumes), {
    relative: 1e-8,
  });
  expect(strokeOn(orifice, pattern)).toBe(true);
  return [...orifice.contents.mass];
}

describe.skipIf(!hasScipy)('orifice level against scipy solve_ivp', () => {
  it.each(Object.keys(CASES))('%s', (name) => {
    const c = CASES[name];
    const run = spawnSync('python3', ['-c', ORACLE], {
      input: JSON.stringify({ ...c, method: 'LSODA', rtol: 1e-9 }),
      encoding: 'utf8',
    });
    expect(run.stderr).toBe('');
    const theirs = (JSON.parse(run.stdout) as { mass: number[] }).mass;
    const mine = ours(c);
    const moved = Math.abs(mine[1] - theirs[1]);
    // The chambers to a millionth of what they hold; pockets to a ten-thousandth of a full one.
    expect(moved).toBeLessThan(2e-6 * theirs[1]);
    mine.forEach((m, k) =>
      expect(Math.abs(m - theirs[k])).toBeLessThan(1e-5 * (theirs[0] + theirs[1]) * (k < 2 ? 1 : c.pocket)),
    );
  });
});
