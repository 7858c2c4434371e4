/**
 * Flow: a 10,000-stroke filling at the balance level (target 50 ms), one stroke at the orifice level against scipy's LSODA on the same
 * equations at the same tolerance in the same run (target: 20 times faster), with the difference of the results.
 */
import { spawnSync } from 'node:child_process';
import { Balance } from '../../server/core/flow/balance';
import { startContents } from '../../server/core/flow/engine';
import type { GasModel } from '../../server/core/flow/openings';
import { Openings } from '../../server/core/flow/openings';
import { compileStroke } from '../../server/core/flow/program';
import { quickRun } from '../../server/core/run/scenario-run';
import { analyseRig } from '../../server/core/run/analyse';
import { ORACLE } from '../support/flow-oracle';
import { air, gasLine, kPa, windowPattern, strokeOn } from '../support/flow';
import { sampleRig } from '../support/rigs';

const WINDOWS = [
  [100, 1750],
  [100, 2750],
  [2200, 3850],
] as const;
const CASES = {
  'digester-sized doors': {
    volumes: [6, 1.5],
    pressures: [150, 400],
    pocket: 0.25,
    clearance: 0.01,
    area: 0.03,
    windows: WINDOWS,
    travel: 300,
    duration: 5000,
  },
  'narrow doors': {
    volumes: [6, 1.5],
    pressures: [150, 400],
    pocket: 0.25,
    clearance: 0.02,
    area: 4e-4,
    windows: WINDOWS,
    travel: 300,
    duration: 5000,
  },
  choked: {
    volumes: [2, 0.5],
    pressures: [2000, 100],
    pocket: 0.02,
    clearance: 0.002,
    area: 2e-4,
    windows: WINDOWS,
    travel: 500,
    duration: 6000,
  },
} as const;

function best(runs: number, work: () => void): number {
  let least = Infinity;
  for (let k = 0; k < runs; k++) {
    const start = performance.now();
    work();
    least = Math.min(least, performance.now() - start);
  }
  return least;
}

function balanceBench(): void {
  const door = { open: 0.25, shut: 0.01 };
  const feed = { name: 'feed', chamber: 0, sign: 1 as const, rate: 0.03, power: 0, only: null };
  const model = gasLine(air(), [6, 1.5], [150 * kPa, 101 * kPa], [door, door, door], [feed]);
  const pattern = { ...windowPattern(WINDOWS, 300, 11_800), lines: [[[0, 11_800_000] as const]] };
  const fill = (): void => {
    const program = compileStroke(model.network, pattern);
    const balance = new Balance(model, startContents(model, program.startVolumes));
    for (let k = 0; k < 10_000; k++) balance.stroke(program);
  };
  const cold = best(1, fill);
  console.log(
    `10,000 strokes, balance: ${cold.toFixed(1)} ms cold, ${best(9, fill).toFixed(1)} ms warm (target 50 ms)`,
  );
  const rig = sampleRig('digester_bank');
  const run = quickRun(rig)!;
  const options = { strokes: 10_000, linesOff: false, target: () => false };
  const whole = best(5, () => run.fill(options));
  console.log(`10,000 strokes with sensors, feed and draw (digester_bank, quick filling): ${whole.toFixed(1)} ms`);
  const facts = best(9, () => {
    const { flow } = analyseRig(rig);
    void flow!.strokes[0].energy;
    void flow!.strokes[0].keepUp;
  });
  console.log(
    `timing and flow facts of digester_bank, filling not read: ${facts.toFixed(2)} ms; with filling ${best(9, () => void analyseRig(rig).flow!.filling).toFixed(2)} ms`,
  );
}

function orificeBench(): void {
  for (const [name, c] of Object.entries(CASES)) {
    for (const rtol of [1e-6]) {
      const law = air();
      const door = { open: c.pocket, shut: c.clearance };
      const model: GasModel = {
        ...gasLine(law, c.volumes, [c.pressures[0] * kPa, c.pressures[1] * kPa], [door, door, door]),
        law,
        areas: new Float64Array(3).fill(c.area),
      };
      const pattern = windowPattern(c.windows, c.travel, c.duration);
      const { startVolumes } = compileStroke(model.network, pattern);
      let mass: number[] = [];
      let evaluations = 0;
      const mine = best(15, () => {
        const orifice = new Openings(model, startContents(model, startVolumes), { relative: rtol });
        strokeOn(orifice, pattern);
        evaluations = orifice.evaluations;
        mass = [...orifice.contents.mass];
      });
      const run = spawnSync('python3', ['-c', ORACLE], {
        input: JSON.stringify({ ...c, method: 'LSODA', rtol }),
        encoding: 'utf8',
      });
      if (run.status !== 0) return console.log('scipy is not here: no comparison');
      const theirs = JSON.parse(run.stdout) as { mass: number[]; seconds: number; evaluations: number };
      const difference = Math.max(...mass.slice(0, 2).map((m, k) => Math.abs(m / theirs.mass[k] - 1)));
      console.log(
        `orifice, ${name}, rtol ${rtol}: ${mine.toFixed(2)} ms (${evaluations} evaluations) against LSODA ${(theirs.seconds * 1000).toFixed(1)} ms (${theirs.evaluations}): ` +
          `${((theirs.seconds * 1000) / mine).toFixed(0)} times faster (target 20), largest relative difference ${difference.toExponential(1)}`,
      );
    }
  }
}

balanceBench();
orificeBench();
