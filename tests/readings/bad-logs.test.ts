/** What a log can be instead of one: one clear sentence at the right line each, or every reading of it. Nothing is lost without a word. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { LogReader, readLog } from '../../server/core/readings/log-csv';
import { readTextPieces } from '../../server/disk/read-text';
import { run } from '../cli/run';
import { rigOf } from '../support/rigs';

const TEXT = `rig lift {
  medium air
  chamber store { volume 1 m3  pressure 2 bar }
  chamber drum { volume 1 m3  pressure 1 bar }
  door upper { travel 400 ms  bore 20 mm }
  door lower { travel 400 ms  bore 20 mm }
  stack store > upper > lower > drum
  switch go = off
  drive upper = go
  drive lower = go
}`;
const RIG = rigOf(TEXT);
const HEAD = 'time [s],upper,lower';
const with3 = (...lines: string[]): string => [HEAD, ...lines, '7,0,0', '8,0,0', '9,0,0'].join('\n');
const pressures = (unit: string, cell = '1'): string =>
  [`time [s],upper,store pressure${unit}`, ...[0, 1, 2, 3].map((t) => `${t},0,${cell}`)].join('\n');

/** Name, text, line of the first mistake, how many there are, and its sentence. */
const REFUSED: readonly (readonly [string, string, number, number, string | RegExp])[] = [
  ['empty', '', 1, 1, 'The log is empty.'],
  ['blank lines', '\n\n\n', 1, 1, 'The log is empty.'],
  ['heading alone', HEAD, 2, 1, 'The log has 0 lines of readings; at least 3 are needed.'],
  ['one row', `${HEAD}\n0,0,0\n`, 2, 1, 'The log has 1 line of readings; at least 3 are needed.'],
  ['one column', 'time [s]\n0\n1\n2\n', 1, 1, 'The log has no column but the time.'],
  [
    'a time by another name',
    'moment,upper\n0,0\n1,0\n2,0',
    1,
    1,
    'The log needs one column `time [s]`; it has none. If `moment` is the time, call it `time [s]`, or `time` where it holds clock times.',
  ],
  ['no heading', '0,0,0\n1,0,0\n2,0,0', 1, 1, 'The log needs one column `time [s]`; it has none.'],
  [
    'a moment back',
    with3('0,0,0', '2,0,0', '1,0,0'),
    4,
    1,
    /^The clock goes back: 1 comes after 2, by 1 s; sort the lines/,
  ],
  ['from last to first', `${HEAD}\n3,0,0\n2,0,0\n1,0,0`, 3, 2, /^The clock goes back: 2 comes after 3/],
  [
    'a moment twice',
    with3('1,0,0', '1,0,0'),
    3,
    1,
    'The clock stands still: the time 1 comes twice; are its decimals cut off?',
  ],
  ['no time', with3('0,0,0', 'NaN,0,0'), 3, 1, 'The line has no time.'],
  ['no such day', with3('2026-02-30 00:00:00,0,0'), 2, 1, /^`2026-02-30 00:00:00` is not a time/],
  [
    'nothing taken',
    `${HEAD}\n0,NaN,\n1,nan,-\n2,,n/a`,
    1,
    1,
    'No reading was taken in any column: the cells of `upper`, `lower` are all empty.',
  ],
  ['an endless reading', with3('0,Infinity,0'), 2, 1, '`Infinity` in the column `upper` is not a number or a state.'],
  ['a word', with3('0,0,0', '1,ajar,0'), 3, 1, '`ajar` in the column `upper` is not a number or a state.'],
  [
    'decimal commas',
    'time [s],upper\n0,0,0,0\n0,5,0,1\n1,0,0,5',
    2,
    3,
    /^The line has 4 cells where the heading has 2\. Decimal commas need semicolons/,
  ],
  ['thousands', 'time [s],upper\n"1.000,5",0\n"1.001,5",0', 2, 2, /^`1\.000,5` is not a time/],
  [
    'a column twice',
    'time [s],upper,upper\n0,0,0',
    1,
    1,
    'The columns `upper` and `upper` are of the same item; leave one out.',
  ],
  [
    'a column in two spellings',
    'time [s],upper,Upper position\n0,0,0',
    1,
    1,
    'The columns `upper` and `Upper position` are of the same item; leave one out.',
  ],
  ['two times', 'time [s],time [ms],upper\n0,0,0', 1, 1, 'The log needs one column `time [s]`; it has 2.'],
  [
    'unknown unit',
    pressures(' [blub]'),
    1,
    1,
    /^The unit of the column `store pressure \[blub\]` is not known; write for instance \[bar\]/,
  ],
  ['unknown unit of time', 'time [weeks],upper\n0,0', 1, 1, /^The unit of the column `time \[weeks\]` is not known/],
  ['no unit', pressures(''), 1, 1, /^The column `store pressure` has no unit/],
  ['no unit of time', 't,upper\n0,0\n1,0\n2,0', 2, 3, /^The column `t` has no unit/],
  [
    'unit of something else',
    pressures(' [kg]'),
    1,
    1,
    'The column `store pressure [kg]` is a pressure and cannot be in kg, which is a mass.',
  ],
  ['gauge pressure', pressures(' [bar]', '-0.5'), 1, 1, /is below zero \(absolute\)\. Is it gauge pressure\?/],
  [
    'per cent',
    `${HEAD}\n0,0,0\n1,50,0\n2,100,0`,
    1,
    1,
    /^50 in the column `upper` is not an opening .* Are these per cent\?/,
  ],
  ['a cell short', with3('0,0,0', '1,0'), 3, 1, 'The line has 2 cells where the heading has 3.'],
  ['a cell more', with3('0,0,0', '1,0,0,7'), 3, 1, /^The line has 4 cells where the heading has 3\./],
  [
    'an open quotation mark',
    with3('0,0,0', '1,"0,0'),
    3,
    1,
    'A quotation mark opens a cell that does not end in its line; a log has one line a moment.',
  ],
  [
    'a huge line',
    with3('0,0,0', `1,${'9'.repeat(3_000_000)},0`),
    3,
    1,
    'The line has no end; is this a text of readings?',
  ],
  [
    'a huge heading',
    `time [s],${'x'.repeat(2_000_000)}\n0,0`,
    1,
    1,
    'The line has no end; is this a text of readings?',
  ],
  [
    'many cells',
    with3('0,0,0', `1,${'1,'.repeat(400_000)}`),
    3,
    1,
    /^The line has 400002 cells where the heading has 3\./,
  ],
  [
    'another rig',
    'time [s],alpha,beta\n0,0,0',
    1,
    1,
    /^No column of the log \(`alpha`, `beta`\) names .* Is it the log of another rig\?$/,
  ],
  [
    'the table of caisson trace',
    't,name,value\n0,run,1\n0.05,upper,1',
    1,
    1,
    /has one change a line, as caisson trace writes them; a log has one moment a line, and a column for each door\.$/,
  ],
  [
    'bars between cells',
    'time [s]|upper\n0|0',
    1,
    1,
    /is one single cell; separate the columns by commas, semicolons or tabs\.$/,
  ],
  ['a page of the web', '<!DOCTYPE html><html><body>Not found</body></html>', 1, 1, /is one single cell; separate/],
];

const folder = mkdtempSync(join(tmpdir(), 'caisson-bad-logs-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** As the command line reads it. */
function fromDisk(bytes: string | Uint8Array) {
  const path = join(folder, 'log.csv');
  writeFileSync(path, bytes);
  const reader = new LogReader(RIG);
  const trouble = readTextPieces(path, Infinity, (text) => reader.push(text));
  return trouble ?? reader.end();
}

describe('refused with one sentence', () => {
  it.each(REFUSED)('%s', (_name, text, line, count, sentence) => {
    const reading = fromDisk(text);
    if (typeof reading === 'string' || reading.ok) throw new Error('it was read');
    expect(reading.problems[0]!.line).toBe(line);
    if (typeof sentence === 'string') expect(reading.problems[0]!.message).toBe(sentence);
    else expect(reading.problems[0]!.message).toMatch(sentence);
    expect(reading.problems.length).toBe(count);
    expect(reading.problems[0]!.message.length).toBeLessThan(220);
  });

  it.each([
    ['a spreadsheet', Buffer.from([0x50, 0x4b, 3, 4, 20, 0, 6, 0, 255, 1]), /packed file \(a spreadsheet\?\)/],
    ['UTF-16', Buffer.from(`\uFEFF${HEAD}\n0,0,0`, 'utf16le'), /UTF-16 text; save it as UTF-8/],
    ['Latin-1', Buffer.from('time [s],upper,Temp [\u00b0C]\n0,0,1', 'latin1'), /not UTF-8 text/],
    ['bytes', Buffer.from([0, 1, 2, 3, 4, 5]), /not a text file/],
  ])('%s', (_name, bytes, sentence) => expect(fromDisk(bytes)).toMatch(sentence));

  it.each(['fit', 'compare', 'diagnose'])('%s says where, writes nothing and ends with 2', async (command) => {
    const files = { 'lift.rig': TEXT, 'log.csv': with3('0,0,0', '1,ajar,0') };
    const { code, out, err, written } = await run([command, 'lift.rig', 'log.csv'], files);
    expect({ code, out, written: written.size }).toEqual({ code: 2, out: '', written: 0 });
    expect(err).toBe('log.csv:3:1: error log: `ajar` in the column `upper` is not a number or a state.\n');
  });
});

describe('read to the last reading', () => {
  const plain = `${HEAD}\n${Array.from({ length: 30 }, (_, k) => `${k / 10},${k % 20 < 9 ? 0 : 1},0.25`).join('\n')}\n`;
  const sound = readLog(RIG, plain);

  it.each([
    ['a byte order mark', `\uFEFF${plain}`],
    ['CRLF', plain.replace(/\n/g, '\r\n')],
    ['CR', plain.replace(/\n/g, '\r')],
    ['semicolons', plain.replace(/,/g, ';')],
    ['decimal commas', plain.replace(/,/g, ';').replace(/\./g, ',')],
    ['tabs', plain.replace(/,/g, '\t')],
    ['quotation marks', plain.replace(/[^,\n]+/g, '"$&"')],
    ['blanks about cells', plain.replace(/,/g, ' , ')],
    ['no end of the last line', plain.trimEnd()],
    ['blank lines and remarks between', plain.replace(/\n/g, '\n\n# remark\n')],
  ])('%s', (_name, text) => expect(fromDisk(text)).toEqual(sound));

  it('a column without a reading is left out and named, the others are read', () => {
    const reading = fromDisk(plain.replace(/0\.25/g, 'NaN'));
    if (typeof reading === 'string' || !reading.ok) throw new Error('it was refused');
    expect(reading.log.doors.map((d) => d.door)).toEqual([0]);
    expect(reading.log.times.length).toBe(30);
    expect(reading.log.exclusions).toEqual(['The column `lower` holds no reading and is left out.']);
  });

  it('readings that were not taken are counted, columns of nothing named once', () => {
    const reading = fromDisk('time [s],upper,note,note\n0,NaN,a,b\n1,1,a,b\n2,,a,b\n3,0,a,b');
    if (typeof reading === 'string' || !reading.ok) throw new Error('it was refused');
    expect(reading.log.exclusions).toEqual([
      '2 readings of `upper` were not taken and are left out.',
      'The column `note` names nothing of the rig and is ignored.',
    ]);
  });
});
