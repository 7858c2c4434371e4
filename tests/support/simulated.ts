/** Runs exported Verilog in Icarus Verilog, and reads the rows that its test bench prints. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BenchCourse } from '../../server/core/report/exports/verilog-bench';
import type { Stimulus } from './random';
import type { Rig } from '../../server/core/model/rig';
import { initialInputs } from '../../server/core/timing/engine';

/** The stimuli as a course from power-up on. */
export function courseFrom(rig: Rig, stimuli: readonly Stimulus[], until: number): BenchCourse {
  const steps = [...stimuli].sort((a, b) => a.t - b.t);
  return { words: 'a test', start: 0, initial: initialInputs(rig), steps, until };
}

/** Changes `t name 0|1` of the outputs, in order of time and of the bench's columns; `fault` at the end where a loop did not settle. */
export function runBench(text: string): string[] {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-bench-'));
  try {
    writeFileSync(join(folder, 'bench.v'), text);
    const flags = ['-g2005', '-Wall', '-Wno-timescale', '-o', 'bench.vvp', 'bench.v'];
    const compiled = spawnSync('iverilog', flags, { cwd: folder, encoding: 'utf8' });
    if (compiled.status !== 0 || compiled.stderr !== '') throw new Error(`iverilog: ${compiled.stderr}`);
    const ran = spawnSync('vvp', ['-n', 'bench.vvp'], { cwd: folder, encoding: 'utf8', maxBuffer: 1 << 28 });
    if (ran.status !== 0) throw new Error(`vvp: ${ran.stderr}`);
    return changesOf(ran.stdout);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function changesOf(printed: string): string[] {
  const rows = printed.split('\n').filter((line) => /^(time_us|\d+) /.test(line));
  const [, ...names] = rows[0]!.split(' ');
  const shown = names.map(() => '0');
  const changes: string[] = [];
  for (const row of rows.slice(1)) {
    const [t, ...values] = row.split(' ');
    if (values.at(-1) === '1') return [...changes, 'fault'];
    values.forEach((value, i) => {
      if (value !== shown[i]) changes.push(`${t} ${names[i]} ${value}`);
      shown[i] = value;
    });
  }
  return changes;
}
