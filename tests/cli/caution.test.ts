/** The caution stands in everything that is taken to a rig: pictures, sheets, exports, tables of values to set. Every command is on one side or the other. */
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../server/cli/main';
import { LOCK_PLAN } from '../support/lock-plan';
import { run } from './run';

const CAUTION =
  /Stored pressure and powered doors can injure and kill\. .*Local codes and a licensed practitioner decide; .*rated hardware\./;
/** In a narrow picture it is wrapped: its words, with what is between two texts taken out. */
const words = (output: string): string =>
  output
    .replace(/<\/text>\s*<text[^>]*>/g, ' ')
    .replace(/^\s*(?:\/\/|#|\*|\(\*)/gm, ' ')
    .replace(/\s+/g, ' ');

const FIRST_DAY = ['samples/digester_bank.rig', 'samples/logs/digester_first_day.csv'];
const TUNED = ['samples/poor/harbour_lift.rig', 'samples/harbour_lift_tuned.rig'];
const GRID = [
  'explore',
  'samples/poor/harbour_lift.rig',
  '--vary',
  'fill=800 ms..1 s/100 ms',
  '--measure',
  'least repeat()',
  '--workers',
  '1',
];

/** What each command gives a person to take along: by its words, standard output or a file `out.*`. */
const TAKEN: Readonly<Record<string, readonly string[]>> = {
  'diagram timing': ['diagram', 'samples/quay_lock.rig'],
  'diagram narrow': ['diagram', 'samples/quay_lock.rig', '--width', '300', '--look', 'dark'],
  'diagram section': ['diagram', 'samples/digester_bank.rig', '--panel', 'section'],
  'diagram store': ['diagram', 'samples/digester_bank.rig', '--panel', 'store'],
  'diagram wiring': ['diagram', 'samples/digester_bank.rig', '--panel', 'wiring'],
  'diagram to a file': ['diagram', 'samples/quay_lock.rig', '--out', 'out.svg'],
  flow: ['flow', 'samples/digester_bank.rig'],
  'flow picture': ['flow', 'samples/digester_bank.rig', '--svg', 'out.svg'],
  'trace vcd': ['trace', 'samples/quay_lock.rig', '--format', 'vcd'],
  'prove picture': ['prove', 'samples/refuted/dropped_sensor.rig', '--diagram', 'out.svg'],
  faults: ['faults', 'samples/quay_lock.rig'],
  prove: ['prove', 'samples/quay_lock.rig'],
  sheet: ['sheet', 'samples/quay_lock.rig'],
  'sheet page': ['sheet', 'samples/quay_lock.rig', '--out', 'out.html'],
  report: ['report', 'samples/quay_lock.rig', '--out', 'out.html'],
  'export c': ['export', 'samples/quay_lock.rig', '--to', 'c', '--out', 'out'],
  'export st': ['export', 'samples/quay_lock.rig', '--to', 'st'],
  'export verilog': ['export', 'samples/quay_lock.rig', '--to', 'verilog'],
  'export dot': ['export', 'samples/quay_lock.rig', '--to', 'dot'],
  tune: ['tune', 'samples/poor/harbour_lift.rig'],
  wire: ['wire', 'lock.rig'],
  diagnose: ['diagnose', 'samples/digester_bank.rig', 'samples/logs/digester_first_day.csv'],
  'timing json': ['timing', 'samples/quay_lock.rig', '--json'],
  'flow json': ['flow', 'samples/digester_bank.rig', '--json'],
  'trace json': ['trace', 'samples/quay_lock.rig', '--format', 'json'],
  'prove json': ['prove', 'samples/quay_lock.rig', '--json'],
  'tolerance json': ['tolerance', 'samples/quay_lock.rig', '--json'],
  'faults json': ['faults', 'samples/quay_lock.rig', '--json'],
  'tune json': ['tune', 'samples/poor/harbour_lift.rig', '--json'],
  'explore rows': [...GRID],
  'explore to csv': [...GRID, '--out', 'out.csv'],
  'explore picture': [...GRID, '--out', 'out.jsonl', '--picture', 'out.svg'],
  'ask json': ['ask', 'samples/quay_lock.rig', 'repeat()', '--json'],
  'check json': ['check', 'samples/quay_lock.rig', '--format', 'json'],
  'check sarif': ['check', 'samples/quay_lock.rig', '--format', 'sarif'],
  'check junit': ['check', 'samples/quay_lock.rig', '--format', 'junit'],
  'compare json': ['compare', ...FIRST_DAY, '--format', 'json'],
  'compare junit': ['compare', ...FIRST_DAY, '--format', 'junit'],
  'diagnose json': ['diagnose', ...FIRST_DAY, '--json'],
  diff: ['diff', ...TUNED],
  'diff json': ['diff', ...TUNED, '--format', 'json'],
  'diff md': ['diff', ...TUNED, '--format', 'md', '--out', 'out.md'],
  'fit json': ['fit', ...FIRST_DAY, '--json'],
  'flow csv': ['flow', 'samples/digester_bank.rig', '--scenario', 'morning', '--format', 'csv'],
  'flow scenario json': ['flow', 'samples/digester_bank.rig', '--scenario', 'morning', '--json'],
  'trace csv': ['trace', 'samples/quay_lock.rig', '--out', 'out.csv'],
  'sheet markdown': ['sheet', 'samples/quay_lock.rig', '--out', 'out.md'],
  'fit picture': ['fit', 'samples/digester_bank.rig', 'samples/logs/digester_first_day.csv', '--svg', 'out.svg'],
};
/** Text for the editor, words about words; `size` has it in its own test. */
const READ_HERE = 'new format explain completion serve size'.split(' ');

describe('the caution', () => {
  it('is asked of every command', () => {
    const taken = new Set(Object.values(TAKEN).map(([command]) => command));
    expect([...new Set([...taken, ...READ_HERE])].sort()).toEqual(COMMANDS.map((c) => c.name).sort());
  });

  it.each(Object.entries(TAKEN))('stands in %s', { timeout: 180_000 }, async (_, given) => {
    const { out, written, err } = await run([...given], { 'lock.rig': LOCK_PLAN });
    // Statements for the text go to the output, what is to be known about them beside it.
    // Rows have no place for words: the caution stands beside them, once.
    const beside = `${out}\n${err}`;
    expect(beside.split('can injure and kill').length).toBeLessThanOrEqual(2);
    const made = [...written].map(([path, text]) => (/\.(csv|jsonl)$/.test(path) ? beside : String(text)));
    if (made.length === 0) made.push(beside);
    // Of a list that was taken for an object, places would be left as names.
    const json: unknown = given.includes('--json') ? JSON.parse(out) : {};
    expect(Array.isArray(json) ? {} : json).not.toHaveProperty('0');
    for (const output of made) expect(CAUTION.test(words(output)), `${err}\n${output.slice(0, 400)}`).toBe(true);
  });
});
