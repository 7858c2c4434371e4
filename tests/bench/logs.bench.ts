/**
 * A log of a million rows: peak memory and seconds of reading it from disk in pieces, beside the same reader on the whole text (read at
 * once), each in a process of its own. Growth from 250,000 rows shows what a row costs: in pieces its numbers, 8 bytes a column.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, openSync, readFileSync, rmSync, statSync, writeSync, closeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { LogReader, readLog } from '../../server/core/readings/log-csv';
import { readTextPieces } from '../../server/disk/read-text';
import { rigOf } from '../support/rigs';

const RIG = rigOf(`rig lift {
  medium air
  chamber bin { volume 1 m3  pressure 2 bar }
  chamber drum { volume 1 m3  pressure 1 bar }
  door flap { travel 400 ms  bore 20 mm }
  stack bin > flap > drum
  switch go = off
  drive flap = go
}`);
const HEAD = 'time [s],flap,go,bin pressure [bar],drum pressure [bar]\n';
const COLUMNS = 5;

function written(path: string, rows: number): void {
  const file = openSync(path, 'w');
  writeSync(file, HEAD);
  for (let k = 0; k < rows;) {
    let text = '';
    for (const end = Math.min(rows, k + 5000); k < end; k++)
      text += `${(k / 100).toFixed(2)},${k % 900 < 400 ? 0 : 1},${k % 900 < 380 ? 0 : 1},${(2 + 0.1 * Math.sin(k / 700)).toFixed(4)},${(1 + 0.1 * Math.cos(k / 700)).toFixed(4)}\n`;
    writeSync(file, text);
  }
  closeSync(file);
}

function readAs(how: string, path: string): void {
  const start = performance.now();
  const reader = new LogReader(RIG);
  if (how === 'pieces') readTextPieces(path, Infinity, (text) => reader.push(text));
  const reading = how === 'pieces' ? reader.end() : readLog(RIG, readFileSync(path, 'utf8'));
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  const megabytes = process.resourceUsage().maxRSS / 1024;
  console.log(
    JSON.stringify({ rows: reading.log.times.length, megabytes, seconds: (performance.now() - start) / 1000 }),
  );
}

interface Measured {
  readonly rows: number;
  readonly megabytes: number;
  readonly seconds: number;
}

function measured(how: string, path: string): Measured {
  const ran = spawnSync(process.execPath, [process.argv[1]!, how, path], { encoding: 'utf8' });
  if (ran.status !== 0) throw new Error(ran.stderr);
  return JSON.parse(ran.stdout) as Measured;
}

function compared(): void {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-log-bench-'));
  const path = join(folder, 'log.csv');
  const found = [250_000, 1_000_000].map((rows) => {
    written(path, rows);
    const [pieces, whole] = [measured('pieces', path), measured('whole', path)];
    const size = statSync(path).size / 1024 / 1024;
    console.log(
      `${rows} rows, ${size.toFixed(0)} MB: in pieces ${pieces.megabytes.toFixed(0)} MB and ${pieces.seconds.toFixed(1)} s, whole ${whole.megabytes.toFixed(0)} MB and ${whole.seconds.toFixed(1)} s; memory ${(pieces.megabytes / whole.megabytes).toFixed(2)}, time ${(pieces.seconds / whole.seconds).toFixed(2)} of the whole`,
    );
    return { pieces, whole };
  });
  rmSync(folder, { recursive: true });
  const [few, many] = found as [(typeof found)[0], (typeof found)[0]];
  const perRow = (how: 'pieces' | 'whole'): string =>
    (((many[how].megabytes - few[how].megabytes) * 1024 * 1024) / 750_000).toFixed(0);
  console.log(
    `a row costs ${perRow('pieces')} bytes in pieces, ${perRow('whole')} whole; its numbers are ${8 * COLUMNS}`,
  );
}

const [, , how, path] = process.argv;
if (how && path) readAs(how, path);
else compared();
