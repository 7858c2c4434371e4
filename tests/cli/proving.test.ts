/** Proofs on the command line: findings of `check --prove`, and what `prove` says of rigs it cannot judge. */
import { describe, expect, it } from 'vitest';
import { run } from './run';

const REFUTED = 'samples/broken/require-refuted.rig';

describe('caisson check --prove', () => {
  it('finds what the checks alone do not', async () => {
    const plain = await run(['check', REFUTED]);
    expect([plain.code, plain.out.includes('require/refuted')]).toEqual([0, false]);
    const { code, out } = await run(['check', '--prove', '--format', 'json', REFUTED]);
    expect(code).toBe(1);
    const found = JSON.parse(out).findings as { code: string; message: string; start: { line: number } }[];
    const refuted = found.filter((f) => f.code === 'require/refuted');
    // The path through, its gap, and each with the steps that lead there.
    expect(refuted.length).toBeGreaterThanOrEqual(2);
    for (const { message } of refuted)
      expect(message).toMatch(/from (?:rest|power-on): at .* loaded on, at .* loaded off.*broken at/);
  });

  it('warns where the budget ran out, and with --strict makes it an error', async () => {
    const words = ['check', '--prove', '--states', '1', '--format', 'json', 'samples/twin_presses.rig'];
    const { code, out } = await run(words);
    expect(code).toBe(1);
    expect((await run([...words, '--max-warnings', '99'])).code).toBe(0);
    expect((await run([...words, '--max-warnings', '99', '--strict'])).code).toBe(1);
    const codes = (JSON.parse(out).findings as { code: string; message: string }[]).filter(
      (f) => f.code === 'require/undecided',
    );
    expect(codes.length).toBeGreaterThan(0);
    expect(codes[0]!.message).toMatch(/the budget ran out after \d+ symbolic states/);
  });

  it('does not list a refuted requirement as passed', async () => {
    const passes = /name="gap\(flap, slide\) &gt;= 500 ms"/;
    expect((await run(['check', '--format', 'junit', REFUTED])).out).toMatch(passes);
    expect((await run(['check', '--prove', '--format', 'junit', REFUTED])).out).not.toMatch(passes);
  });
});

describe('caisson prove', () => {
  it('proves nothing of a rig whose control has mistakes', async () => {
    const text = 'rig bad {\n  door a { travel 1 s }\n  signal x = nothing\n  drive a = x\n}\n';
    const { code, out, err } = await run(['prove', 'bad.rig'], { 'bad.rig': text });
    expect(code).toBe(1);
    expect(out).not.toContain('proved');
    expect(err).toContain('bad has mistakes in its control, so nothing is proved about it.');
  });

  it('asks only what --only names, blanks aside, and says where nothing has that name', async () => {
    const { code, out } = await run(['prove', '--only', 'gap( first,third )', '--json', 'samples/grain_blower.rig']);
    expect(code).toBe(0);
    const { rigs } = JSON.parse(out) as { rigs: { results: { property: string; verdict: string }[] }[] };
    expect(rigs.flatMap((r) => r.results.map((x) => [x.property, x.verdict]))).toEqual([
      ['gap(first, third) >= 200 ms', 'proved'],
    ]);
    const nothing = await run(['prove', '--only', 'gap(first, fourth)', 'samples/grain_blower.rig']);
    expect(nothing.code).toBe(2);
    expect(nothing.err).toContain('Nothing that is asked has "gap(first, fourth)" in its name');
    const bad = 'rig bad {\n  door a { travel 1 s }\n  signal x = nothing\n  drive a = x\n}\n';
    expect((await run(['prove', '--only', 'path', 'bad.rig'], { 'bad.rig': bad })).code).not.toBe(0);
  });
});
