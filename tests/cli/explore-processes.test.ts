/** `caisson explore` as processes: threads, and parts of a job array that know nothing of each other, give the bytes of one run. */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bundleProgram } from '../lsp/bundle';
import { ROOT } from './run';

const home = mkdtempSync(join(tmpdir(), 'caisson-explore-'));
afterAll(() => rmSync(home, { recursive: true, force: true }));
let program = '';
beforeAll(async () => void (program = await bundleProgram()));

function caisson(...words: string[]): Promise<{ code: number | null; out: string; err: string }> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [program, ...words], { cwd: home });
    let [out, err] = ['', ''];
    child.stdout.on('data', (data) => (out += data));
    child.stderr.on('data', (data) => (err += data));
    child.on('close', (code) => resolve({ code, out, err }));
  });
}

const BANK = join(ROOT, 'samples/digester_bank.rig');
/** Times and a volume, so that rigs are read from the text as well as turned; more choices than one part of a thread's work. */
const GRID = ['--vary', 'settle=1.2 s..2.2 s/20 ms', '--vary', 'swept=200 L..300 L/10 L'];
const DRAWN = [...GRID, '--sample', '700', '--seed', '5'];
const WHAT = ['--measure', 'gap(upper, lower)', '--measure', 'least repeat()'];
const read = (name: string): string => readFileSync(join(home, name), 'utf8');

describe('parts run on their own', { timeout: 120_000 }, () => {
  it.each([
    ['the grid', GRID, 'jsonl', 561],
    ['a sample', DRAWN, 'csv', 701],
  ])('%s: one thread, two threads and four processes give the same bytes', async (what, choices, format, lines) => {
    const key = what.replace(/ /g, '-');
    const one = (...more: string[]): ReturnType<typeof caisson> =>
      caisson('explore', BANK, ...choices, ...WHAT, ...more);
    const runs = await Promise.all([
      one('--workers', '1', '--out', `${key}-one.${format}`),
      one('--workers', '2', '--out', `${key}-two.${format}`),
      ...[1, 2, 3, 4].map((part) => one('--shard', `${part}/4`, '--workers', '1', '--out', `${key}-${part}.${format}`)),
    ]);
    for (const { code, err } of runs) expect([code, err]).toEqual([0, expect.stringContaining('design aid')]);
    const whole = read(`${key}-one.${format}`);
    expect(whole.trimEnd().split('\n')).toHaveLength(lines);
    expect(read(`${key}-two.${format}`)).toBe(whole);
    const parts = [3, 1, 4, 2].map((part) => `${key}-${part}.${format}`);
    const merged = await caisson('explore', '--merge', ...parts, '--out', `${key}-merged.${format}`);
    expect(merged.code).toBe(0);
    expect(read(`${key}-merged.${format}`)).toBe(whole);
  });
});
