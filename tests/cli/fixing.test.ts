/** `check --show-fixes`, `--fix` and `--fix-all`: what is shown is what is written, a second run finds nothing left, nothing gets worse. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ROOT, run } from './run';

const BROKEN = readdirSync(join(ROOT, 'samples/broken')).filter((name) => /^(?!flow-|require-tol).*\.rig$/.test(name));
const FILE = 'samples/broken/tried.rig';

const HABITS = `rig bench {
  medium air
  chamber a { volume 1 m3  pressure 1,02 bar }
  chamber b { volume 1 m3 }
  let spare = 3 s
  door upper { pocket 5 L  travel 200 ms }
  stack a > upper > b
  // what runs it
  switch run = on
  signal go = run AND TRUE
  drive upper = TP(go, 2 s)
  require repeat() in 6 s .. 5 s
}
`;

const textOf = (written: ReadonlyMap<string, string | Uint8Array>): string | undefined =>
  written.get(join(ROOT, FILE)) as string | undefined;

describe('check --fix', () => {
  it('changes how things are written, removes what nothing uses, and leaves what changes the rig', async () => {
    const { written, err } = await run(['check', '--fix', FILE], { [FILE]: HABITS });
    expect(textOf(written)).toBe(
      HABITS.replace('1,02', '1.02')
        .replace('  let spare = 3 s\n', '')
        .replace('//', '#')
        .replace('AND TRUE', 'and on'),
    );
    expect(err).toBe(
      ['Write a point', 'Remove spare', 'Begin the comment with #', 'Write and', 'Write on']
        .concat('1 quick fix left that would change what the rig does; --fix-all takes them')
        .map((title) => `${FILE}: ${title}\n`)
        .join(''),
    );
  });

  it('takes what changes the rig with --fix-all', async () => {
    const { written, err } = await run(['check', '--fix-all', FILE], { [FILE]: HABITS });
    expect(textOf(written)).toContain('require repeat() in 5 s .. 6 s');
    expect(err).not.toContain('would change');
  });

  it('counts the findings that it leaves to a person', async () => {
    const text = readFileSync(join(ROOT, 'samples/broken/timer-never-fires.rig'), 'utf8');
    for (const option of ['--fix', '--fix-all']) {
      const { err, written } = await run(['check', option, FILE], { [FILE]: text });
      const after = textOf(written) ?? text;
      const { out } = await run(['check', '--format', 'json', FILE], { [FILE]: after });
      const { findings } = JSON.parse(out) as { findings: { fixes: string[] }[] };
      const counts = [...err.matchAll(/: (\d+) (?:quick fix|finding).* left/g)].map((m) => Number(m[1]));
      expect(counts.reduce((a, b) => a + b, 0)).toBe(findings.filter((f) => f.fixes.length > 0).length);
    }
  });

  it.each(BROKEN)('%s: a second run changes nothing, and no code is new', async (name) => {
    const text = readFileSync(join(ROOT, 'samples/broken', name), 'utf8');
    const codes = async (of: string): Promise<string[]> =>
      (
        JSON.parse((await run(['check', '--format', 'json', FILE], { [FILE]: of })).out) as {
          findings: { code: string; severity: string }[];
        }
      ).findings
        .filter((f) => f.severity === 'error' && f.code !== 'require/failed')
        .map((f) => f.code);
    for (const option of ['--fix', '--fix-all']) {
      const once = textOf((await run(['check', option, FILE], { [FILE]: text })).written) ?? text;
      expect(textOf((await run(['check', option, FILE], { [FILE]: once })).written)).toBeUndefined();
    }
    const fixed = textOf((await run(['check', '--fix', FILE], { [FILE]: text })).written) ?? text;
    expect((await codes(fixed)).length).toBeLessThanOrEqual((await codes(text)).length);
  });

  it('refuses standard input', async () => {
    expect(await run(['check', '--fix', '-'], {}, HABITS)).toMatchObject({ code: 2, out: '' });
  });
});

describe('check --show-fixes', () => {
  it('shows the line before and after', async () => {
    const { out } = await run(['check', '--show-fixes', FILE], { [FILE]: HABITS });
    expect(out).toContain(
      `    quick fix: Write a point
        line 3
      -   chamber a { volume 1 m3  pressure 1,02 bar }
      +   chamber a { volume 1 m3  pressure 1.02 bar }
`,
    );
  });

  it('shows lines far apart each by itself, without those between them', async () => {
    const text = `rig r {
  controller { response 0 s }
  switch go = off
  door a { travel 100 ms }
  door b { travel 100 ms }
  signal pause = TOF(a_on, 9 s)
  signal a_on = TP(go and not pause, 500 ms)
  drive a = a_on
  drive b = TP(TON(a_on, 300 ms), 500 ms)
}
`;
    const { out } = await run(['check', '--show-fixes', '--format', 'json', FILE], { [FILE]: text });
    const { findings } = JSON.parse(out) as {
      findings: { changes: { line: number; before: string[]; after: string[] }[][] }[];
    };
    const fixes = findings.flatMap((f) => f.changes);
    expect(fixes.some((runs) => runs.length > 1)).toBe(true);
    for (const runs of fixes)
      for (const { before, after } of runs)
        expect(before.filter((l) => after.includes(l) && l.trim() !== '')).toEqual([]);
  });

  it('gives the same in JSON', async () => {
    const { out } = await run(['check', '--show-fixes', '--format', 'json', FILE], { [FILE]: HABITS });
    const { findings } = JSON.parse(out) as { findings: { fixes: string[]; changes: object[][] }[] };
    expect(findings[0]?.changes[0]).toEqual([
      {
        path: FILE,
        line: 3,
        before: ['  chamber a { volume 1 m3  pressure 1,02 bar }'],
        after: ['  chamber a { volume 1 m3  pressure 1.02 bar }'],
      },
    ]);
  });
});

describe('patterns', () => {
  it.each([
    ['samples/broken/flow-*.rig', 12],
    ['samples/*_lift*.rig', 2],
    ['samples/**/sensor-?hatter.rig', 1],
  ])('%s opens %i files', async (pattern, count) => {
    const { out } = await run(['check', '--format', 'json', pattern]);
    expect((JSON.parse(out) as { files: string[] }).files).toHaveLength(count);
  });

  it('says where none matches', async () => {
    expect(await run(['check', 'samples/*.txt'])).toMatchObject({
      code: 2,
      err: 'caisson: No .rig file matches samples/*.txt.\n',
    });
  });
});
