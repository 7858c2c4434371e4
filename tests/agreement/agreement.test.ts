/**
 * One judge a question: check, timing, prove, flow, tolerance, trace and diagram are asked the same of samples and of random rigs.
 * `AGREEMENT_RIGS` sets how many random rigs (20 in the suite), `AGREEMENT_SEED` the first seed, `AGREEMENT_STATES` the states of each proof.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { resolveText } from '../support/rig';
import { askAll } from './ask';
import { randomText } from './random-text';

const RIGS = Number(process.env['AGREEMENT_RIGS'] ?? 20);
const FIRST = Number(process.env['AGREEMENT_SEED'] ?? 1);
const EFFORT = { states: Number(process.env['AGREEMENT_STATES'] ?? 300), samples: 6 };

const FOLDERS = ['samples', 'samples/broken', 'samples/refuted'];
const files = FOLDERS.flatMap((folder) =>
  readdirSync(folder)
    .filter((name) => name.endsWith('.rig'))
    .map((name) => join(folder, name)),
);

describe('all outputs agree', () => {
  it.each(files)('on %s', (file) => {
    expect(askAll(readFileSync(file, 'utf8'), 1, EFFORT).contradictions).toEqual([]);
  });

  it(`on ${RIGS} random rigs`, { timeout: 3_600_000 }, () => {
    let compared = 0;
    const wrong: string[] = [];
    for (let seed = FIRST; seed < FIRST + RIGS; seed++) {
      const text = randomText(seed);
      const asked = askAll(text, seed, EFFORT);
      compared += asked.compared;
      wrong.push(...asked.contradictions);
      if (RIGS > 1000 && (seed - FIRST) % 200 === 199)
        console.log(`${seed - FIRST + 1} rigs, ${compared} comparisons, ${wrong.length} contradictions`);
    }
    if (RIGS > 1000) console.log([...new Set(wrong)].join('\n'));
    expect(wrong).toEqual([]);
    expect(compared).toBeGreaterThan(5 * RIGS);
  });

  it('on rigs that are written without mistakes', () => {
    for (let seed = 1; seed <= 60; seed++) {
      const bad = resolveText(randomText(seed)).problems.filter((p) => !/^(name\/unused|value\/no-effect)/.test(p));
      expect(bad).toEqual([]);
    }
  });
});
