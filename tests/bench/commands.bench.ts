/**
 * Every command of the command line on hard rigs of the whole size (`tests/support/hard-rigs.ts`): seconds of one processor, exit code, and the last
 * sentence said. `WALK=command,command` and `WALK_RIGS=name,name` limit it, `WALK_SCALE` makes the rigs smaller; a command that is not done after two minutes of the clock is ended and named.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { LINES } from '../support/command-lines';
import { hardRigs } from '../support/hard-rigs';

const MOST_MS = Number(process.env.WALK_SECONDS ?? 120) * 1000;
mkdirSync('.cache/walk', { recursive: true });
const folder = mkdtempSync('.cache/walk/rigs-');
const counter = join(folder, 'cpu.cjs');
const used = join(folder, 'cpu.txt');
writeFileSync(
  counter,
  `process.on('exit', () => require('fs').writeFileSync(${JSON.stringify(join(process.cwd(), used))}, JSON.stringify(process.cpuUsage())));`,
);
const commands = process.env.WALK?.split(',') ?? Object.keys(LINES);
const named = process.env.WALK_RIGS?.split(',');
const worst = new Map<string, number>();
for (const [name, { text, log }] of Object.entries(hardRigs(Number(process.env.WALK_SCALE ?? 1)))) {
  if (named && !named.includes(name)) continue;
  const [rig, csv] = [join(folder, 'hard.rig'), join(folder, 'hard.csv')];
  writeFileSync(rig, text);
  writeFileSync(csv, log);
  console.log(`\n${name}`);
  for (const command of commands)
    for (const line of LINES[command]!) {
      const words = line(rig, csv);
      rmSync(used, { force: true });
      const { status, stdout, stderr } = spawnSync(
        process.execPath,
        ['-r', join(process.cwd(), counter), 'dist/caisson.js', ...words],
        {
          encoding: 'utf8',
          timeout: MOST_MS,
          maxBuffer: 2 ** 30,
        },
      );
      const asked = words.filter((w) => ![rig, csv].includes(w) && !w.startsWith('.cache')).join(' ');
      const said = (stderr.trim() || stdout.trim()).split('\n').at(-1)!.slice(0, 140);
      let seconds = Infinity;
      try {
        const { user, system } = JSON.parse(readFileSync(used, 'utf8')) as { user: number; system: number };
        seconds = (user + system) / 1e6;
      } catch {
        // Ended before it was done.
      }
      worst.set(asked, Math.max(worst.get(asked) ?? 0, seconds));
      console.log(
        `  ${seconds === Infinity ? 'NOT DONE' : `${seconds.toFixed(1)} s`}  ${status ?? '-'}  ${asked}: ${said}`,
      );
    }
}
rmSync(folder, { recursive: true, force: true });
console.log('\nthe slowest of each');
for (const [asked, seconds] of [...worst].sort((a, b) => b[1] - a[1]))
  console.log(`  ${seconds.toFixed(1)} s  ${asked}`);
