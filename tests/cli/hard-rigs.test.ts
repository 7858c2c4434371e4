/**
 * Every command on rigs that are hard to work out (`support/hard-rigs.ts`): it ends within a count of work, with a documented exit code, without
 * a stack trace, writes nothing but the file that it was asked for, and says where an answer was not worked out. `WALK_SCALE` makes the rigs larger.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import type * as Cli from '../../server/cli/main';
import type { nodeIo } from '../../server/cli/io';
import { LINES, WITHOUT_RIG } from '../support/command-lines';
import { countedProgram, type Ticking } from '../support/counted';
import { hardRigs } from '../support/hard-rigs';
import { run, type Run } from './run';

/** The least size of each rig: what grows with it is measured in `bench/commands` and `lsp/steps`. */
const SCALE = Number(process.env['WALK_SCALE'] ?? 0.01);

/** Calls and turns of loops that one command line may take, some five seconds: 75,000,000 at most when this was set. */
const MOST = 120_000_000;

/** What takes seconds at any size, or is stopped later by a budget of its own: `bench/commands` has it, and the command is walked over other rigs. */
const LONGER: Readonly<Record<string, readonly string[]>> = {
  'doors in one stack, without control': ['wire --suggest'],
  'doors, a timer each': [
    'tolerance',
    'report',
    'sheet',
    'check --values',
    'diagram --panel timing',
    'diagram --panel section',
  ],
  'doors by a sequence': ['tolerance', 'report', 'sheet'],
  'two clocks that never meet': ['tune'],
  'steps by the thousand': ['diagram --panel store', 'diagram --panel section', 'faults', 'sheet', 'report'],
};

interface Counted extends Ticking {
  readonly main: typeof Cli.main;
  readonly nodeIo: typeof nodeIo;
  readonly COMMANDS: typeof Cli.COMMANDS;
}

let program: Counted;
beforeAll(async () => {
  program = await countedProgram<Omit<Counted, keyof Ticking>>(
    "export { main, COMMANDS } from './server/cli/main'; export { nodeIo } from './server/cli/io';",
  );
}, 300_000);

it('every command is walked, or reads no rig', () => {
  const names = program.COMMANDS.map(({ name }) => name);
  expect([...Object.keys(LINES), ...WITHOUT_RIG].sort()).toEqual([...names].sort());
});

const RIGS = Object.entries(hardRigs(SCALE));
const ASKED = RIGS.flatMap(([rig, texts]) =>
  Object.values(LINES)
    .flat()
    .map((line) => line('hard.rig', 'hard.csv'))
    .filter(
      (words) =>
        !LONGER[rig]?.some((longer) =>
          words
            .filter((w) => w !== 'hard.rig')
            .join(' ')
            .startsWith(longer),
        ),
    )
    .map((words) => ({ rig, words, texts, line: words.join(' ') })),
);

/** Rigs of which no stroke can be worked out: whatever answers from strokes says so. */
const UNKNOWN: Readonly<Record<string, RegExp>> = {
  'turning round for ever': /does not come to rest, nor repeat/,
  'two clocks that never meet': /does not come to rest, nor repeat/,
  'a loop that never settles': /never settles/,
};
const FROM_STROKES = ['check', 'ask', 'timing', 'flow', 'size', 'compare', 'diagnose', 'faults', 'sheet', 'report'];

/** Every text that a command gave. */
const said = ({ out, err, written }: Run): string => [out, err, ...[...written.values()].map(String)].join('\n');

describe.each(Object.entries(UNKNOWN))('%s', (name, reason) => {
  it.each(FROM_STROKES)('%s says that strokes are not known', async (command) => {
    const { text, log } = Object.fromEntries(RIGS)[name]!;
    const words = LINES[command]![0]!('hard.rig', 'hard.csv');
    expect(said(await run(words, { 'hard.rig': text, 'hard.csv': log }))).toMatch(reason);
  });
});

describe.each(RIGS.map(([rig]) => rig))('%s', (name) => {
  it.each(ASKED.filter(({ rig }) => rig === name))('$line', async ({ words, texts }) => {
    const before = program.ticks();
    program.endAfter(MOST);
    const outcome = await run(words, { 'hard.rig': texts.text, 'hard.csv': texts.log }, '', program);
    program.endAfter(Infinity);
    expect(program.ticks() - before).toBeGreaterThan(100);
    expect([0, 1, 2]).toContain(outcome.code);
    expect(said(outcome)).not.toMatch(/^ +at .*:\d+:\d+\)?$|\bundefined\b|\bNaN\b|\[object /m);
    const out = words.indexOf('--out');
    const elsewhere = [...outcome.written.keys()].filter((path) => out < 0 || !path.includes(words[out + 1]!));
    expect(elsewhere).toEqual([]);
    expect(outcome.code === 2 ? outcome.err : 'caisson: .\n').toMatch(/^caisson: [^\n]*\.\n$/);
  });
});
