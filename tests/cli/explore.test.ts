/** `caisson explore`: grids and samples, parts that merge to the same bytes, runs that go on, unbeaten choices, pictures, bad input. */
import { describe, expect, it } from 'vitest';
import { latinPlan } from '../../server/core/choose/explore/plan';
import { unbeaten } from '../../server/core/choose/explore/unbeaten';
import { seededRandom } from '../../server/core/timing/tolerance';
import { run } from './run';

const BANK = 'samples/digester_bank.rig';
const VARY = ['--vary', 'settle=1.2 s..2.2 s/50 ms'];
const WHAT = ['--measure', 'gap(upper, lower)', '--measure', 'least repeat()'];
const ALL = ['explore', BANK, ...VARY, ...WHAT, '--workers', '1'];
const fileOf = (written: ReadonlyMap<string, string | Uint8Array>): string => String([...written.values()].at(-1));

describe('caisson explore', () => {
  it('measures every point of the grid: the gap shrinks by what settle grows by, the repeat grows by it', async () => {
    const { out, code } = await run(ALL);
    expect(code).toBe(0);
    const rows = out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(rows).toHaveLength(21);
    // 260 ms at 1.8 s (by hand, tests of the sample); repeat 16.04 s.
    const at = (settle: number) => rows.find((r) => Math.abs(r.values.settle - settle) < 1e-9);
    expect(at(1.8).measures).toEqual({ 'gap(upper, lower)': 0.26, 'repeat()': 16.04 });
    expect(at(1.45).measures['gap(upper, lower)']).toBeCloseTo(0.61, 9);
    expect(at(2.2).failed).toBeGreaterThan(0);
  });

  it.each(['jsonl', 'csv'])('four parts merged are one run, byte for byte (%s)', async (format) => {
    const whole = fileOf((await run([...ALL, '--out', `all.${format}`])).written);
    const parts: Record<string, string> = {};
    for (const part of [3, 1, 4, 2])
      parts[`p${part}.${format}`] = fileOf(
        (await run([...ALL, '--shard', `${part}/4`, '--out', `p${part}.${format}`])).written,
      );
    const merged = await run(['explore', '--merge', ...Object.keys(parts), '--out', `merged.${format}`], parts);
    expect(fileOf(merged.written)).toBe(whole);
    const missing = await run(['explore', '--merge', `p1.${format}`, `p3.${format}`, '--out', 'm'], parts);
    expect([missing.code, missing.err]).toEqual([2, expect.stringContaining('is in none of these files')]);
  });

  it('goes on where a run was interrupted, in the middle of a line', async () => {
    const whole = fileOf((await run([...ALL, '--out', 'all.jsonl'])).written);
    const cut = whole.slice(0, 700);
    const { written } = await run([...ALL, '--out', 'all.jsonl'], { 'all.jsonl': cut });
    expect(fileOf(written)).toBe(whole);
  });

  it('names the unbeaten choices and draws them', async () => {
    const { out, written } = await run([...ALL, '--out', 'all.jsonl', '--picture', 'p.svg']);
    expect(out).toMatch(/21 choices, \d+ of them with requirements that do not hold; \d+ unbeaten/);
    expect(fileOf(written)).toMatch(/^<svg [\s\S]*<circle /);
  });

  it('takes a seeded sample, each axis in strata', async () => {
    const sampled = ['explore', BANK, ...VARY, ...WHAT, '--sample', '10', '--seed', '4', '--workers', '1'];
    const first = await run(sampled);
    expect(first.out.trim().split('\n')).toHaveLength(10);
    expect((await run(sampled)).out).toBe(first.out);
    const axis = { name: 'x', dimension: 'none', low: 0, high: 8, step: 1e-6 };
    const plan = latinPlan([axis, axis], 8, 2);
    for (const k of [0, 1]) {
      const strata = Array.from({ length: 8 }, (_, i) => Math.floor(Math.min(7.999, plan.at(i)[k]!)));
      expect(strata.sort((a, b) => a - b)).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    }
  });

  it.each([
    [['explore', BANK, ...WHAT], '--vary says what is varied'],
    [['explore', BANK, ...VARY], '--measure says what is measured'],
    [['explore', BANK, ...WHAT, '--vary', 'settle=2 s..1 s/50 ms'], 'the low end is above the high end'],
    [['explore', BANK, ...WHAT, '--vary', 'settle=1 s..2 bar/50 ms'], 'measure different things'],
    [['explore', BANK, ...WHAT, '--vary', 'lid=1 s..2 s/50 ms'], 'there is no constant of that name'],
    [['explore', BANK, ...VARY, '--measure', 'gap(upper)'], '--measure gap(upper): gap takes two arguments'],
    [['explore', BANK, ...VARY, ...WHAT, '--shard', '5/4'], '--shard wants I/N'],
    [['explore', BANK, ...WHAT, '--vary', 'settle=1 s..900 s/1 us'], 'take larger steps, or --sample N'],
  ])('refuses in one sentence: %j', async (words, message) => {
    const { code, err } = await run(words);
    expect(code).toBe(2);
    expect(err).toContain(message);
    expect(err.trim().split('\n')).toHaveLength(1);
  });
});

describe('unbeaten choices', () => {
  it('are those of comparing every pair, on random rows', () => {
    const random = seededRandom(9);
    for (let k = 0; k < 200; k++) {
      const rows = Array.from({ length: 12 }, () => Array.from({ length: 2 }, () => Math.floor(random() * 5)));
      const beaten = (i: number): boolean =>
        rows.some((r) => r.every((x, m) => x >= rows[i]![m]!) && r.some((x, m) => x > rows[i]![m]!));
      expect(unbeaten(rows)).toEqual(rows.flatMap((_, i) => (beaten(i) ? [] : [i])));
    }
  });
});
