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
    expect(codes[0]!.message).toMatch(
      /the budget of 1 state ran out after \d+ symbolic states; caisson prove --states gives more/,
    );
  });

  it('does not list a refuted requirement as passed', async () => {
    const passes = /name="gap\(flap, slide\) &gt;= 500 ms"/;
    expect((await run(['check', '--format', 'junit', REFUTED])).out).toMatch(passes);
    expect((await run(['check', '--prove', '--format', 'junit', REFUTED])).out).not.toMatch(passes);
  });
});

describe('caisson prove', () => {
  it('counts what comes before the search against its seconds, and says where they were used up by it', async () => {
    const { code, out } = await run(['prove', '--seconds', '0.000001', 'samples/twin_presses.rig']);
    expect(code).toBe(1);
    expect(out).toMatch(/the budget of 1 us ran out before the search began; caisson prove --seconds gives more/);
    expect(out).not.toMatch(/^ +(proved|REFUTED) /m);
  });

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

describe('caisson check --proofs', () => {
  const rig = (least: string, note = ''): string => `rig lock "A lock" {
  ${note}
  medium air
  chamber hall { volume 1 m3  pressure 3 bar }
  chamber yard { volume 1 m3  pressure 1 bar }
  door front { pocket 1 L  travel 50 ms }
  door back { pocket 1 L  travel 50 ms }
  stack hall > front > back > yard
  controller { response 10 ms }
  sensor full on hall { pressure above 2 bar  clears below 1.5 bar  min_on 300 ms  min_off ${least} }
  drive front = TP(full, 400 ms)
  drive back = TP(TON(not full, 600 ms), 200 ms)
}
`;
  const found = async (text: string, record: string, ...more: string[]) => {
    const words = ['check', '--proofs', 'proofs.json', '--format', 'json', ...more, 'lock.rig'];
    const { code, out, err } = await run(words, { 'lock.rig': text, 'proofs.json': record });
    const rows = (out === '' ? [] : JSON.parse(out).findings) as { code: string; message: string }[];
    return { code, err, rows: rows.filter((row) => row.code.startsWith('require/')) };
  };
  const record = async (text: string, ...more: string[]): Promise<string> =>
    (await run(['prove', '--json', ...more, 'lock.rig'], { 'lock.rig': text })).out;

  it('accepts what is proved at this text, whatever its layout and comments', async () => {
    const proofs = await record(rig('900 ms'));
    expect((await found(rig('900 ms'), proofs)).rows).toEqual([]);
    expect((await found(rig('900 ms', '// a word about it\n\n'), proofs)).rows).toEqual([]);
  });

  it('finds every proof stale after a time has changed, and --strict ends the build', async () => {
    const proofs = await record(rig('900 ms'));
    const { rows } = await found(rig('901 ms'), proofs);
    expect(rows.length).toBe(JSON.parse(proofs).rigs[0].results.length);
    for (const row of rows)
      expect(row.message).toMatch(
        /was proved for another text or by another version.*: caisson prove --json lock\.rig > proofs\.json\.$/,
      );
    expect((await found(rig('901 ms'), proofs, '--strict', '--max-warnings', '99')).code).toBe(1);
  });

  it('says what is refuted, and what is missing from the record', async () => {
    const { code, rows } = await found(rig('700 ms'), await record(rig('700 ms')));
    expect(code).toBe(1);
    const refuted = rows.filter((row) => row.code === 'require/refuted');
    expect(refuted.length).toBeGreaterThan(0);
    for (const row of refuted) expect(row.message).toContain('caisson prove lock.rig shows the run');
    const some = await found(rig('900 ms'), await record(rig('900 ms'), '--only', 'front not left open'));
    expect(some.rows.some((row) => row.message.includes('has no proof in proofs.json'))).toBe(true);
  });

  it('takes no other file for a record', async () => {
    for (const text of ['no json', '{}', '{"rigs": [1]}', '{"rigs": [{"results": [{}]}]}', 'null']) {
      const { code, err } = await found(rig('900 ms'), text);
      expect([code, err]).toEqual([2, expect.stringContaining('proofs.json is not a record of proofs')]);
    }
  });
});
