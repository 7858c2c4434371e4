/** A log of any length is read from disk in pieces of 64 KB: what is kept are its numbers, and they are those of the whole text. */
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { nodeIo, UsageError, type Io } from '../../server/cli/io';
import { logFor } from '../../server/cli/readings';
import { grownNumbers, grownStates } from '../../server/core/readings/grown';
import { LogReader, readLog } from '../../server/core/readings/log-csv';
import { readTextPieces } from '../../server/disk/read-text';
import { rigOf } from '../support/rigs';

const PIECE = 64 * 1024;
const folder = mkdtempSync(join(tmpdir(), 'caisson-log-'));
afterAll(() => rmSync(folder, { recursive: true }));

const RIG = rigOf(`rig lift {
  chamber bin {}
  chamber drum {}
  door flap { travel 400 ms }
  stack bin > flap > drum
  switch go = off
  drive flap = go
}`);

function fileOf(name: string, bytes: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}

/** `é` is two bytes: in a column that is ignored, so that pieces end inside characters. */
function rows(count: number): string {
  const lines = ['time [s],flap,remark'];
  for (let k = 0; k < count; k++)
    lines.push(`${(k / 10).toFixed(1)},${k % 50 < 20 ? 0 : 1},${'é'.repeat(1 + (k % 7))}`);
  return lines.join('\r\n');
}

describe('a log in pieces', () => {
  it('holds the numbers of the whole, in pieces of at most 64 KB that are counted', () => {
    const text = rows(40_000);
    const path = fileOf('long.csv', text);
    const reader = new LogReader(RIG);
    const lengths: number[] = [];
    const trouble = readTextPieces(path, Infinity, (piece) => {
      lengths.push(piece.length);
      return reader.push(piece);
    });
    expect(trouble).toBeNull();
    expect(Math.max(...lengths)).toBeLessThanOrEqual(PIECE);
    expect(lengths.length).toBe(Math.ceil(statSync(path).size / PIECE));
    expect(lengths.reduce((a, b) => a + b)).toBe(text.length);
    const whole = readLog(RIG, text);
    expect(whole.ok).toBe(true);
    expect(reader.end()).toEqual(whole);
  });

  it('is how the commands read: never the whole text', () => {
    const path = fileOf('commands.csv', rows(20_000));
    let pieces = 0;
    const io: Io = {
      ...nodeIo(),
      read: () => {
        throw new Error('the whole log was read at once');
      },
      readPieces: (file, most, take) =>
        nodeIo().readPieces(file, most, (text) => {
          pieces++;
          return take(text);
        }),
      err: (text) => expect(text).toBe(''),
    };
    expect(logFor(io, RIG, path, {})?.times.length).toBe(20_000);
    expect(pieces).toBe(Math.ceil(statSync(path).size / PIECE));
  });

  it('is not read on after twenty mistakes', () => {
    const path = fileOf('wrong.csv', `time [s],flap\n${'x,0\n'.repeat(200_000)}`);
    const reader = new LogReader(RIG);
    let pieces = 0;
    readTextPieces(path, Infinity, (text) => {
      pieces++;
      return reader.push(text);
    });
    expect(pieces).toBe(1);
    expect(reader.end()).toMatchObject({ ok: false, problems: { length: 20 } });
  });

  it.each([
    [
      'cut.csv',
      Buffer.concat([Buffer.from(rows(10_000)), Buffer.from([0xc3])]),
      /is not UTF-8 text; save it as UTF-8\.$/,
    ],
    [
      'latin.csv',
      Buffer.concat([Buffer.from(rows(10_000)), Buffer.from([0xe9, 0x0a])]),
      /is not UTF-8 text; save it as UTF-8\.$/,
    ],
    ['nul.csv', Buffer.from(`${rows(10_000)}\n\0`), /is not a text file\.$/],
    ['wide.csv', Buffer.from('\uFEFFtime [s]\tflap\n', 'utf16le'), /is UTF-16 text; save it as UTF-8\.$/],
  ])('%s is refused wherever in it the bytes are wrong', (name, bytes, sentence) => {
    expect(() => nodeIo().readPieces(fileOf(name, bytes), Infinity, () => true)).toThrow(sentence);
  });

  it('is refused by its size, and a missing or unreadable one by its name', () => {
    const io = nodeIo();
    expect(() => io.readPieces(fileOf('large.csv', rows(5_000)), 1024, () => true)).toThrow(/is larger than/);
    expect(() => io.readPieces(join(folder, 'none.csv'), 1024, () => true)).toThrow(UsageError);
    expect(() => io.readPieces(folder, 1024, () => true)).toThrow(/is a folder/);
  });

  it('begins with a byte order mark or not', () => {
    let text = '';
    readTextPieces(fileOf('mark.csv', `\uFEFF${rows(3)}`), Infinity, (piece) => ((text += piece), true));
    expect(text).toBe(rows(3));
  });
});

describe('what a row of a log costs', () => {
  it.each([0, 1, 16_383, 16_384, 16_385, 32_769])(
    '%d numbers that come one by one are all there, in order',
    (count) => {
      const [numbers, states] = [grownNumbers(), grownStates()];
      for (let k = 0; k < count; k++) {
        numbers.push(k / 3);
        states.push((k % 3) - 1);
      }
      expect(numbers.all).toEqual(Float64Array.from({ length: count }, (_, k) => k / 3));
      expect(states.all).toEqual(Int8Array.from({ length: count }, (_, k) => (k % 3) - 1));
      expect(numbers.all).toBe(numbers.all);
    },
  );

  it('is 8 bytes a door, 1 a state, and nothing where a column is ignored', () => {
    const [ignored, count] = [40, 20_000];
    const reader = new LogReader(RIG);
    const before = process.memoryUsage().arrayBuffers;
    reader.push(`time [s],flap,go${Array.from({ length: ignored }, (_, k) => `,note ${k}`).join('')}\n`);
    for (let k = 0; k < count; k++) reader.push(`${k / 10},${k % 50 < 20 ? 0 : 1},${k % 2}${',7'.repeat(ignored)}\n`);
    const kept = process.memoryUsage().arrayBuffers - before;
    // Time and door 8 bytes each, a state 1: room for one started piece a column.
    expect(kept).toBeLessThan(1.5 * 17 * count + 300_000);
    const reading = reader.end();
    expect(reading.ok && reading.log.states[0]!.states.length).toBe(count);
  });
});
