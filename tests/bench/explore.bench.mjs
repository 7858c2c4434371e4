/**
 * `npm run bench explore` (after `npm run build`): 100,000 variants of the times of `samples/digester_bank.rig`, with one thread and with two,
 * one after the other in pairs so that whatever else the machine does meets both; of each the best. `ROUNDS` and `STEP` (of the 1 s that
 * `settle` is turned through) for shorter runs.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));
const home = mkdtempSync(join(tmpdir(), 'caisson-bench-'));
const rounds = Number(process.env['ROUNDS'] ?? 3);
const step = process.env['STEP'] ?? '10 us';

function explored(workers, measures) {
  const out = join(home, `${workers}.jsonl`);
  rmSync(out, { force: true });
  const asked = measures.flatMap((m) => ['--measure', m]);
  const vary = `settle=1.2 s..2.199 s/${step}`;
  const words = [
    'explore',
    'samples/digester_bank.rig',
    '--vary',
    vary,
    ...asked,
    '--out',
    out,
    '--workers',
    `${workers}`,
  ];
  const started = performance.now();
  const run = spawnSync(process.execPath, ['dist/caisson.js', ...words], { cwd: root, encoding: 'utf8' });
  if (run.status !== 0) throw new Error(run.stderr);
  return { seconds: (performance.now() - started) / 1000, rows: readFileSync(out, 'utf8') };
}

const best = { 1: Infinity, 2: Infinity };
const rows = {};
for (let round = 0; round < rounds; round++)
  for (const workers of [1, 2]) {
    const found = explored(workers, ['gap(upper, lower)', 'least repeat()']);
    best[workers] = Math.min(best[workers], found.seconds);
    rows[workers] = found.rows;
  }
if (rows[1] !== rows[2]) throw new Error('one and two threads differ');
const count = rows[1].trimEnd().split('\n').length;
console.log(`${count} variants, ${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)} at the end`);
console.log(
  `one thread ${best[1].toFixed(1)} s, two ${best[2].toFixed(1)} s: ${(best[1] / best[2]).toFixed(2)} times as fast`,
);
const opposed = explored(2, ['gap(upper, lower)', 'repeat()']);
console.log(
  `with measures that oppose each other, so that every sound choice is unbeaten: ${(opposed.seconds / best[2]).toFixed(2)} times as long`,
);
rmSync(home, { recursive: true });
