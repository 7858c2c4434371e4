/** The command line: exit codes, formats, shapes that others read. */
import Ajv from 'ajv/dist/2020';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../server/cli/main';
import { ROOT, run } from './run';

const BANK = 'samples/digester_bank.rig';
const FAULTY = `rig r {
  chamber a { volume 1 m3 }
  door d { travel 300 }
}
`;

describe('exit codes', () => {
  it.each([
    [['check', BANK], 0],
    [['check', 'faulty.rig'], 1],
    [['check'], 2],
    [['check', 'no-such-file.rig'], 2],
    [['check', BANK, '--format', 'xml'], 2],
    [['check', '--nonsense', BANK], 2],
    [['boil', BANK], 2],
    [['timing', BANK], 0],
    [['timing', 'faulty.rig'], 1],
    [['timing', BANK, '--rig', 'nobody'], 2],
    [['trace', BANK, '--scenario', 'nobody'], 2],
    [['trace', BANK, '--until', '5'], 2],
    [['diagram', BANK, '--look', 'sepia'], 2],
    [['explain', 'door/overlap'], 0],
    [['explain', 'door/nonsense'], 2],
    [['--version'], 0],
    [['--help'], 0],
    [[], 0],
  ])('%j gives %i', async (words, code) => {
    const result = await run(words as string[], { 'faulty.rig': FAULTY });
    expect(result.code).toBe(code);
    expect(result.err).toMatch(
      [
        /^$/,
        /^(faulty\.rig:\d+:\d+: error .+\n)*(The result is computed from what could be understood\.\n)?$/,
        /^caisson: .+\n$/,
      ][code as number]!,
    );
  });

  it.each(COMMANDS.map((c) => c.name))('%s explains itself', async (name) => {
    const { code, out } = await run([name, '--help']);
    expect(code).toBe(0);
    expect(out).toContain(`caisson ${name}`);
  });
});

describe('check', () => {
  it('names the place, severity and code, and what was found', async () => {
    const { out } = await run(['check', 'faulty.rig'], { 'faulty.rig': FAULTY });
    expect(out).toMatch(/^faulty\.rig:3:\d+: error unit\/missing: /m);
    expect(out).toMatch(/1 file: /);
  });

  it('reads standard input under a given name', async () => {
    const { code, out } = await run(['check', '-', '--stdin-filename', 'from-pipe.rig'], {}, FAULTY);
    expect(code).toBe(1);
    expect(out).toContain('from-pipe.rig:3:');
  });

  it('escapes workflow commands as documented', async () => {
    const { out } = await run(['check', '--format', 'github', 'a,b.rig'], { 'a,b.rig': FAULTY });
    expect(out).toMatch(/^::error file=a%2Cb\.rig,line=3,col=\d+,endLine=3,endColumn=\d+,title=unit\/missing::/m);
  });

  it('writes SARIF 2.1.0 with places in UTF-16 columns', async () => {
    const { out } = await run(['check', '--format', 'sarif', 'faulty.rig'], { 'faulty.rig': FAULTY });
    const log = JSON.parse(out);
    expect(log.version).toBe('2.1.0');
    expect(log.runs[0].columnKind).toBe('utf16CodeUnits');
    const result = log.runs[0].results.find((r: { ruleId: string }) => r.ruleId === 'unit/missing');
    expect(result.level).toBe('error');
    expect(result.locations[0].physicalLocation.region.startLine).toBe(3);
    expect(log.runs[0].tool.driver.rules.map((r: { id: string }) => r.id)).toContain('unit/missing');
  });

  it('writes JUnit with one case a requirement that holds', async () => {
    const { out } = await run(['check', '--format', 'junit', BANK]);
    expect(out).toMatch(/<testsuites name="caisson" tests="\d+" failures="0" errors="0">/);
    expect(out).toContain('gap(upper, lower) &gt;= 100 ms');
    expect((out.match(/<testcase /g) ?? []).length).toBeGreaterThanOrEqual(5);
  });

  it('lists value and slack of every requirement, also in JSON, JUnit and SARIF', async () => {
    // upper shut 2.35 s, lower leaves its seat 2.61 s: 260 ms against 100 ms (design of the sample, by hand)
    expect((await run(['check', '--values', BANK])).out).toMatch(
      /holds +gap\(upper, lower\) >= 100 ms +260 ms, 160 ms to spare/,
    );
    const { requirements } = JSON.parse((await run(['check', '--format', 'json', BANK])).out);
    const gap = requirements.find((r: { text: string }) => r.text.startsWith('gap'));
    expect(gap).toMatchObject({ state: 'met', dimension: 'time', value: 0.26 });
    expect(gap.slack).toBeCloseTo(0.16, 9);
    const junit = (await run(['check', '--format', 'junit', BANK])).out;
    expect(junit).toContain('<property name="caisson.slack" value="0.16"/>');
    const log = JSON.parse((await run(['check', '--format', 'sarif', '--let', 'settle=2.2 s', BANK])).out);
    const failed = log.runs[0].results.find((r: { ruleId: string }) => r.ruleId === 'require/failed');
    // 400 ms later: missed by 240 ms
    expect(failed.properties['caisson.slack']).toBeCloseTo(-0.24, 9);
    expect(log.runs[0].properties.requirements).toHaveLength(requirements.length);
  });

  it('takes another value for a constant', async () => {
    // settle 1.8 s → 2.2 s: the upper door is shut at 2.75 s, after the lower one leaves its seat at 2.61 s.
    const { code, out } = await run(['check', BANK, '--let', 'settle=2.2 s']);
    expect(code).toBe(1);
    expect(out).toMatch(/require\/failed: gap\(upper, lower\)/);
    expect((await run(['check', BANK, '--let', 'settle'])).code).toBe(2);
    expect((await run(['check', BANK, '--let', 'settle=1.8 furlongs'])).code).toBe(1);
  });
});

describe('samples', () => {
  it('pass with nothing to say', async () => {
    const sound = readdirSync(join(ROOT, 'samples')).filter((f) => f.endsWith('.rig'));
    const { code, out } = await run(['check', ...sound.map((f) => `samples/${f}`)]);
    expect([code, out]).toEqual([0, `${sound.length} files: no finding.\n`]);
  });
});

describe('timing --json', () => {
  it('keeps its schema, on every sound sample', async () => {
    const schema = JSON.parse(readFileSync(join(ROOT, 'server/core/report/timing.schema.json'), 'utf8'));
    const valid = new Ajv().compile(schema);
    const { code, out } = await run(['timing', '--json', 'samples']);
    expect(code).toBeLessThanOrEqual(1);
    valid(JSON.parse(out));
    expect(valid.errors).toBeNull();
  });

  it('gives the worked example to the microsecond', async () => {
    const { out } = await run(['timing', '--json', BANK]);
    const [trigger] = JSON.parse(out).rigs[0].triggers;
    expect(trigger).toMatchObject({
      sensor: 'ready',
      becomes: true,
      strokeEnds: 5.03,
      repeat: 16.04,
      straightThrough: [],
    });
    expect(trigger.doors[0]).toEqual({
      name: 'upper',
      windows: [{ commanded: [0.08, 2], notShut: [0.08, 2.35], fullyOpen: [0.43, 2] }],
    });
    expect(trigger.pairs).toContainEqual({ doors: ['upper', 'lower'], overlap: null, leastOverlap: null, gap: 0.26 });
    expect(trigger.pairs).toContainEqual({ doors: ['middle', 'lower'], overlap: 0.34, leastOverlap: 0.34, gap: null });
    expect(trigger.timers).toContainEqual({ name: 'lower_on/TON', preset: 2.45, longestInput: 3.22, margin: 0.77 });
  });
});

describe('trace', () => {
  it('gives JSON edges in seconds', async () => {
    const { out } = await run(['trace', BANK, '--json', '--until', '3 s']);
    const { edges } = JSON.parse(out);
    expect(edges).toContainEqual({ t: 0.08, name: 'upper_on', value: 1 });
    expect(edges.every((e: { t: number }) => e.t <= 3)).toBe(true);
  });

  it('follows a scenario', async () => {
    const { code, out } = await run(['trace', BANK, '--scenario', 'morning']);
    expect(code).toBe(0);
    expect(out.split('\n')[0]).toBe('t,name,value');
    expect(out).toMatch(/^3300,run,0$/m);
  });
});

describe('diagram', () => {
  it('writes SVG to standard output and PNG to a file', async () => {
    const svg = await run(['diagram', BANK]);
    expect(svg.out).toMatch(/^<svg /);
    const png = await run(['diagram', BANK, '--out', 'bank.png']);
    const data = png.written.get('bank.png') as Uint8Array;
    expect([...data.subarray(1, 4)].map((c) => String.fromCharCode(c)).join('')).toBe('PNG');
  });
});

describe('format', () => {
  it('checks without writing, formats, and leaves broken text alone', async () => {
    const rough = 'rig   r   {\nswitch run=on\n}\n';
    const checked = await run(['format', '--check', 'rough.rig'], { 'rough.rig': rough });
    expect([checked.code, checked.written.size]).toEqual([1, 0]);
    const formatted = await run(['format', 'rough.rig'], { 'rough.rig': rough });
    expect(formatted.written.get(join(ROOT, 'rough.rig'))).toBe('rig r {\n  switch run = on\n}\n');
    const sound = readdirSync(join(ROOT, 'samples')).filter((f) => f.endsWith('.rig'));
    expect((await run(['format', '--check', 'samples/refuted', ...sound.map((f) => `samples/${f}`)])).out).toBe('');
  });
});

describe('ask', () => {
  it('gives any metric, and judges a comparison', async () => {
    const { code, out } = await run(['ask', BANK, 'gap(upper, lower)', 'repeat() <= 15 s']);
    expect(code).toBe(1);
    expect(out).toMatch(/^gap\(upper, lower\): 260 ms \(.*\)$/m);
    expect(out).toMatch(/^repeat\(\) <= 15 s: 16\.04 s, missed by 1\.04 s$/m);
    const json = JSON.parse((await run(['ask', '--json', BANK, 'strokes_to(store, 6 bar)'])).out);
    expect(json.answers[0].values[0].value).toBeGreaterThan(1);
  });

  it('takes constants of the command line', async () => {
    // settle 1.8 s → 1.6 s: the gap grows by 200 ms
    expect((await run(['ask', BANK, '--let', 'settle=1.6 s', 'gap(upper, lower)'])).out).toContain('460 ms');
  });

  it.each([
    ['gap(a, b)', 'Nothing here is called a'],
    ['gap(upper)', 'gap takes two arguments and is given 1'],
    ['upper', 'upper is not a metric'],
    ['gap(upper, lower', ''],
    ['', 'A question is one metric'],
    ['repeat() >= 3 bar', 'repeat gives a time and is compared with'],
    ['repeat() }', 'A question is one metric'],
  ])('refuses %s with one sentence', async (question, message) => {
    const { code, err } = await run(['ask', BANK, question]);
    expect(code).toBe(2);
    expect(err).toContain(message);
    expect(err.trim().split('\n')).toHaveLength(1);
  });
});
