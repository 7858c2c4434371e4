/**
 * Every command of the command line on every hard rig ends by itself, with an answer or with what was not computed: what it does is
 * counted in calls and turns of loops, not timed. The rigs are small ones of their kinds (WALK_SCALE makes them larger; 1 is the whole size):
 * what grows beyond all bounds there, or has no budget, is far over the bound here. WALK_FIGURES prints the counts. `npm run bench commands` measures seconds at whole size.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../server/cli/main';
import { LINES, WITHOUT_RIG } from '../support/command-lines';
import { countedProgram, type Ticking } from '../support/counted';
import { hardRigs } from '../support/hard-rigs';
import { run, type Program } from './run';

const SCALE = Number(process.env['WALK_SCALE'] ?? 0.03);

/** Ticks of one command, about 50,000 a millisecond. */
const MOST = Number(process.env['WALK_TICKS'] ?? 400_000_000);

const FIGURES = process.env['WALK_FIGURES'] !== undefined;

/** What a text may not have in place of a value that is not there. */
const NO_VALUE = /\bNaN\b|\bundefined\b|\[object/;

let program: Program & Ticking;
beforeAll(async () => {
  program = await countedProgram<Program>(
    "export { main } from './server/cli/main'; export { nodeIo } from './server/cli/io';",
  );
}, 300_000);

it('asks every command that there is', () => {
  expect([...Object.keys(LINES), ...WITHOUT_RIG].sort()).toEqual(COMMANDS.map(({ name }) => name).sort());
});

describe.each(Object.entries(hardRigs(SCALE)))('%s', (_, { text, log }) => {
  const files = { 'hard.rig': text, 'hard.csv': log };
  const lines = Object.values(LINES).flatMap((all) => all.map((line) => line('hard.rig', 'hard.csv')));

  it.each(lines.map((words) => [words.join(' '), words] as const))('%s', { timeout: 300_000 }, async (_, words) => {
    program.endAfter(MOST);
    const before = program.ticks();
    const { code, out, err, written } = await run(words, files, '', program);
    program.endAfter(Infinity);
    if (FIGURES) console.log(`${Math.round((program.ticks() - before) / 1e6)} million ${words.join(' ')}`);
    // 70 is a fault of the program, or the end that was put to it.
    expect([0, 1, 2], err).toContain(code);
    const said = out + err + [...written.values()].filter((v) => typeof v === 'string').join('');
    expect(said.length).toBeGreaterThan(0);
    expect(said).not.toMatch(NO_VALUE);
  });
});
