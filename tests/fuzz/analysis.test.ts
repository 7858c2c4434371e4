/**
 * Random texts made from pieces of samples through everything that is computed of a text: nothing throws, nothing goes on for ever, and
 * no word of what is written is that of a value that is not there. `FUZZ_RUNS` sets the number of texts, `FUZZ_SEED` the first of them.
 */
import { describe, expect, it } from 'vitest';
import { everythingOf } from '../support/everything';
import { mangledText } from '../support/mangled';

const RUNS = Number(process.env.FUZZ_RUNS ?? 60);
const SEED = Number(process.env.FUZZ_SEED ?? 20_261_127);
/** Steps of work, each of which may be left. */
const MOST_STEPS = 200_000;

describe(`texts from ${SEED} on`, () => {
  it('are computed to an end, and put in words', { timeout: 60_000 + RUNS * 5000 }, () => {
    for (let seed = SEED; seed < SEED + RUNS; seed++) {
      const text = mangledText(seed);
      let steps = 0;
      const watch = (phase: string): void => {
        if (++steps > MOST_STEPS) throw new Error(`seed ${seed}: ${phase} goes on and on`);
      };
      let words = '';
      expect(() => (words = everythingOf(text, [seed, seed * 7, seed * 31], watch)), `seed ${seed}`).not.toThrow();
      expect(words, `seed ${seed}`).not.toMatch(/\bNaN\b|\bundefined\b|\[object/);
    }
  });
});
