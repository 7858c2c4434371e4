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
    [['explore', BANK, ...VARY, '--measure', 'repeat() <= 20 s'], '--measure repeat() <= 20 s: a measure has no bound'],
    [['explore', BANK, ...VARY, ...VARY, ...WHAT], '--vary names settle twice'],
    [
      ['explore', BANK, ...VARY, ...WHAT, '--measure', 'most gap(upper,lower)'],
      '--measure names gap(upper,lower) twice',
    ],
    [
      ['explore', BANK, ...VARY, ...WHAT, '--vary', 'swept=5 L..50 L/5 L'],
      '--vary swept: the rig cannot be read with 5 L',
    ],
    [['explore', BANK, ...WHAT, '--vary', 'settle=-1 s..2 s/1 s'], '--vary settle: the rig cannot be read with -1 s'],
    [['explore', BANK, ...VARY, ...WHAT, '--shard', '5/4'], '--shard wants I/N'],
    [['explore', BANK, ...WHAT, '--vary', 'settle=1 s..900 s/1 us'], 'take larger steps, or --sample N'],
  ])('refuses in one sentence: %j', async (words, message) => {
    const { code, err } = await run(words);
    expect(code).toBe(2);
    expect(err).toContain(message);
    expect(err.trim().split('\n')).toHaveLength(1);
  });
});

/** What starts with a full chamber, wants more pressure or holds more is another rig; its times may follow a constant in any way. */
const MIXED = `rig m {
  medium air
  let p0 = 1 bar
  let on_at = 1.5 bar
  let t = 1 s
  let twice = 2
  chamber a { volume 1 m3  pressure p0 }
  chamber b { volume 1 m3  pressure 1 bar }
  door u { pocket 10 L  travel 100 ms }
  door l { pocket 10 L  travel 100 ms }
  stack a > u > l > b
  controller { response 10 ms }
  sensor s on a { pressure above on_at  clears below 0.7 * on_at }
  signal go = TP(s, twice * t)
  signal emptied = TON(not s, 300 ms)
  drive u = go
  drive l = TP(emptied, t + 100 ms)
  require gap(u, l) >= 0 s
  require window(u) <= 2 s
  scenario held {
    at 1 s  sensor s on
    for t + 10 s
  }
}
`;

describe('a row', () => {
  it.each([
    [
      'pressures at the start',
      ['p0=0.8 bar..2 bar/0.3 bar', 't=500 ms..2 s/300 ms'],
      ['opens_at(u)', 'window(l)', 'window(u)'],
    ],
    [
      'thresholds and a factor',
      ['on_at=0.9 bar..1.8 bar/0.3 bar', 'twice=1..3/0.5', 't=400 ms..2 s/400 ms'],
      ['window(l)', 'window(u)'],
    ],
    ['contents measured too', ['p0=0.8 bar..2 bar/0.6 bar', 't=500 ms..2 s/500 ms'], ['peak(b)', 'window(u)']],
    ['a scenario', ['t=500 ms..2 s/500 ms', 'p0=1 bar..2 bar/0.5 bar'], ['window(u) during held', 'window(l)']],
  ])('is what ask says with the same constants: %s', async (_, axes, measures) => {
    const files = { 'm.rig': MIXED };
    const asked = measures.flatMap((m) => ['--measure', m]);
    const { out } = await run(['explore', 'm.rig', ...axes.flatMap((a) => ['--vary', a]), ...asked], files);
    const rows = out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    let given = 0;
    for (const { values, measures: found } of rows.filter((__, k) => k % 3 !== 1)) {
      const unit = (name: string): string => (name === 't' ? ' s' : name === 'twice' ? '' : ' Pa');
      const lets = Object.entries(values).flatMap(([name, value]) => [
        '--let',
        `${name}=${String(value)}${unit(name)}`,
      ]);
      const answers = JSON.parse((await run(['ask', 'm.rig', '--json', ...measures, ...lets], files)).out).answers;
      const worst = answers.map((a: { values: { value: number }[] | null }) =>
        a.values?.length ? Math.min(...a.values.map((v) => v.value)) : null,
      );
      expect(Object.values(found), JSON.stringify(values)).toEqual(worst);
      given += worst.filter((w: number | null) => w !== null).length;
    }
    expect(given).toBeGreaterThan(5);
  });
});

describe('a measure that the rig itself has no value of', () => {
  /** Only a chamber that holds less at the start than the sensor wants and then more moves a door; another rig stands first. */
  const started = (medium: string, amount: string, unit: string): string =>
    `rig other {\n  medium air\n  chamber a { volume 1 m3  pressure 1 bar }\n}\n` +
    MIXED.replace('medium air', `medium ${medium}`)
      .replaceAll(/pressure (1 bar|p0)/g, `${amount} $1  floor_area 1 m2`)
      .replace('pressure above', `${amount} above`)
      .replaceAll(/([\d.]+) bar/g, `$1 ${unit}`);

  it.each([
    ['water', 'level', 'm', 'm'],
    ['grain packed', 'mass', 'kg', 'kg'],
    ['air', 'pressure', 'bar', 'Pa'],
  ])('is given in what ask answers in: %s', async (medium, amount, unit, si) => {
    const files = { 'm.rig': started(medium, amount, unit).replaceAll('1 m3', '9 m3') };
    const words = ['explore', 'm.rig', '--rig', 'm', '--vary', `p0=1 ${unit}..2 ${unit}/1 ${unit}`];
    const { out, err } = await run([...words, '--measure', 'peak(b)', '--measure', 'window(l)'], files);
    expect(err).not.toContain('caisson:');
    let given = 0;
    for (const line of out.trim().split('\n')) {
      const { values, measures } = JSON.parse(line);
      const asked = ['ask', 'm.rig', '--rig', 'm', '--json', 'peak(b)', '--let', `p0=${values.p0} ${si}`];
      const [answer] = JSON.parse((await run(asked, files)).out).answers;
      expect(measures['peak(b)']).toEqual(answer.values?.[0]?.value ?? null);
      if (measures['peak(b)'] !== null) given++;
    }
    expect(given).toBe(1);
  });
});

describe('unbeaten choices', () => {
  it.each([1, 2, 3, 4])('are those of comparing every pair, on random rows of %d measures', (count) => {
    const random = seededRandom(9);
    for (let k = 0; k < 300; k++) {
      const [length, high] = [1 + Math.floor(random() * 30), 2 + Math.floor(random() * 9)];
      const rows = Array.from({ length }, () => Array.from({ length: count }, () => Math.floor(random() * high)));
      const beaten = (i: number): boolean =>
        rows.some((r) => r.every((x, m) => x >= rows[i]![m]!) && r.some((x, m) => x > rows[i]![m]!));
      expect(unbeaten(rows)).toEqual(rows.flatMap((__, i) => (beaten(i) ? [] : [i])));
    }
  });
});
