/** The tuner against brute force: on random small rigs never worse than the best point of the whole grid by more than one step. */
import { describe, expect, it } from 'vitest';
import { scoreOf, better, type Score } from '../../server/core/choose/tune/score';
import { tune } from '../../server/core/choose/tune/tune';
import type { TuneProblem } from '../../server/core/choose/tune/problem';
import { createDocument } from '../../server/core/document/document';
import { tuneProblem } from '../../server/core/document/tune-problem';
import { seededRandom } from '../../server/core/timing/tolerance';
import { tuneRigText } from '../support/tune-rig';

const SEED = Number(process.env['TUNE_SEED'] ?? 3);
const RIGS = Number(process.env['TUNE_RIGS'] ?? 4);
const STEP = 10_000;

/** Every point of a grid of so many steps that it has at most this many points. */
const MOST_POINTS = 1_500;

function gridBest({ variables, rigAt }: TuneProblem): { best: Score; step: number } {
  let step = STEP;
  const counts = (): number => variables.reduce((n, v) => n * (Math.floor((v.high - v.low) / step) + 1), 1);
  while (counts() > MOST_POINTS) step += STEP;
  let best: Score | null = null;
  const visit = (values: number[]): void => {
    const k = values.length;
    if (k === variables.length) {
      const score = scoreOf({ variables, rigAt }, values);
      if (score && better(score, best)) best = score;
      return;
    }
    for (let x = variables[k]!.low; x <= variables[k]!.high; x += step) visit([...values, x]);
  };
  visit([]);
  return { best: best!, step };
}

describe(`the tuner on ${RIGS} random rigs, seed ${SEED}`, () => {
  it('is never worse than the grid by more than one step', { timeout: 3_600_000 }, () => {
    const random = seededRandom(SEED);
    let held = 0;
    let leasts = 0;
    for (let k = 0; k < RIGS; k++) {
      const { text } = tuneRigText(random);
      const document = createDocument({ uri: 'file:///r.rig', version: 1, text }, () => undefined);
      const made = tuneProblem(document, 0, { free: [], allPresets: false, step: STEP });
      if (!made.ok) throw new Error(made.message);
      const { best: grid } = gridBest(made.problem);
      const found = tune(made.problem, { starts: 8, runs: 1500, trials: 400, random: seededRandom(1) })!.best;
      const what = `rig ${k}: grid ${grid.values.join()} misses ${grid.missing} aims ${grid.aims.join()} least ${grid.least}; tuned ${found.values.join()} misses ${found.missing} aims ${found.aims.join()} least ${found.least}\n${text}`;
      if (grid.missing === 0) {
        held++;
        expect(found.missing, what).toBe(0);
        // One step of one preset is what rounding may cost.
        grid.aims.forEach((aim, i) => expect(found.aims[i]! + STEP, what).toBeGreaterThanOrEqual(aim));
        if (grid.aims.length === 0 && Number.isFinite(grid.least)) {
          leasts++;
          expect(oneStepWorse(grid, found), what).toBe(false);
        }
      }
    }
    expect(held).toBeGreaterThan(0);
    expect(leasts).toBeGreaterThan(0);
  });
});

/** Whether the smallest slack is worse than the grid's by more than a step of 10 ms in the requirement with the tightest scale. */
function oneStepWorse(grid: Score, found: Score): boolean {
  const scales = grid.facts.rig.requirements.map((r) => Math.abs(r.comparison?.low.nominal ?? Infinity) || 1_000_000);
  return found.least < grid.least - STEP / Math.min(...scales) - 1e-9;
}
