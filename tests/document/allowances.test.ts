/** Findings that a comment allows: at a line, in a file, never an error, and never in silence where there is nothing to allow. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ALL_CODES } from '../../server/core/document/codes';
import { createDocument, type RigDocument } from '../../server/core/document/document';
import { quickFixes } from '../../server/core/features/code-actions';
import { suggestionsAt } from '../../server/core/features/completion';
import { ROOT, run } from '../cli/run';

const open = (text: string): RigDocument =>
  createDocument({ uri: 'file:///it.rig', version: 1, text }, () => undefined);
const sample = (name: string): string => readFileSync(join(ROOT, `samples/broken/${name}.rig`), 'utf8');
const codes = (text: string): string[] =>
  open(text)
    .problems()
    .map((p) => p.code);
const THIN = sample('timer-thin-margin');
const LINE = '  signal lower_on  = TOF(TON(pushing, 3.2 s), 1.3 s)\n';

describe('a comment that allows a finding', () => {
  it('takes it out at the end of its line, alone above it, and in the whole file', () => {
    expect(codes(THIN)).toEqual(['timer/thin-margin', 'require/tolerance']);
    const texts = [
      THIN.replace(LINE, LINE.replace('\n', '  # allow timer/thin-margin: measured on the bench\n')),
      THIN.replace(LINE, `  # allow timer/thin-margin: measured on the bench\n  # A note.\n\n${LINE}`),
      `# allow-file timer/thin-margin\n${THIN}`,
      THIN.replace(LINE, LINE.replace('\n', '\r\n')).replace(LINE.trim(), `${LINE.trim()}  # allow timer/thin-margin`),
    ];
    for (const text of texts) {
      expect(codes(text), text).toEqual(['require/tolerance']);
      expect(
        open(text)
          .checked()
          .allowed.map((p) => p.code),
      ).toEqual(['timer/thin-margin']);
    }
  });

  it('gives its reason to whoever reads the findings', async () => {
    const why = (text: string): string[] =>
      open(text)
        .checked()
        .allowed.map((p) => p.why);
    expect(why(`# allow-file timer/thin-margin: measured on the bench\n${THIN}`)).toEqual(['measured on the bench']);
    expect(why(`# allow-file timer/thin-margin\n${THIN}`)).toEqual(['']);
    // The one with a reason counts where two allow it.
    const line = LINE.replace('\n', '  # allow timer/thin-margin, require/tolerance - a relay of its own\n');
    expect(why(`# allow-file timer/thin-margin\n${THIN.replace(LINE, line)}`)).toEqual(['a relay of its own']);

    const files = { 'it.rig': `# allow-file timer/thin-margin: measured on the bench\n${THIN}` };
    const { out } = await run(['check', 'it.rig', '--format', 'sarif'], files);
    const results = (JSON.parse(out) as { runs: { results: { ruleId: string; suppressions?: object[] }[] }[] }).runs[0]!
      .results;
    expect(results.map((r) => [r.ruleId, r.suppressions])).toEqual([
      ['require/tolerance', undefined],
      ['timer/thin-margin', [{ kind: 'inSource', justification: 'measured on the bench' }]],
    ]);
  });

  it('may name several codes, and is no documentation', () => {
    const text = `# allow-file timer/thin-margin, require/tolerance: a test rig\n${THIN}`;
    expect(codes(text)).toEqual([]);
    const above = THIN.replace(LINE, `  # Opens last.\n  # allow timer/thin-margin\n${LINE}`);
    const signal = open(above)
      .resolved()
      .rigs[0]!.signals.find((s) => s.name === 'lower_on');
    expect(JSON.stringify(signal)).toContain('Opens last.');
    expect(JSON.stringify(signal)).not.toContain('allow ');
  });

  it('is reported where it allows nothing, at its code', () => {
    const text = THIN.replace('  controller', '  # allow timer/thin-margin\n  controller');
    const [problem] = open(text)
      .problems()
      .filter((p) => p.code === 'value/no-effect');
    expect(problem!.message).toBe('This comment allows nothing: there is no finding timer/thin-margin at this line.');
    expect(text.slice(problem!.at.start, problem!.at.end)).toBe('timer/thin-margin');
    expect(codes(text)).toContain('timer/thin-margin');
  });

  it('is not reported so while the text has an error that hides findings', () => {
    const text = `# allow-file timer/thin-margin\n${THIN.replace('1.8 s', '1.8 sec')}`;
    expect(codes(text)).toEqual(['unit/unknown']);
  });

  it('with a code that there is not is reported with the one that is near', () => {
    const [problem] = open(`# allow-file timer/thin-margn\n${THIN}`).problems();
    expect(problem!.message).toBe('There is no finding timer/thin-margn. Did you mean timer/thin-margin?');
    expect(problem!.fixes!.map((f) => f.title)).toEqual(['Change to timer/thin-margin']);
  });

  it('allows no error', () => {
    const text = `# allow-file door/straight-through\n${sample('door-straight-through')}`;
    const found = open(text)
      .problems()
      .map((p) => p.message);
    expect(found[0]).toBe('door/straight-through is an error here, and an error cannot be allowed.');
    expect(codes(text)).toContain('door/straight-through');
  });

  it('is left alone where it is a sentence', () => expect(codes(`# allow some time\n${THIN}`)).toHaveLength(2));
});

describe('in the editor', () => {
  it('is offered for a finding that is no error, last, and allows it', () => {
    const document = open(THIN);
    const [problem] = document.problems();
    const offered = quickFixes(document, problem!.at).filter((f) => f.problem === problem);
    const titles = ['Allow timer/thin-margin here', 'Allow timer/thin-margin in this file'];
    expect(offered.slice(-2).map((f) => [f.title, f.preferred])).toEqual(titles.map((title) => [title, false]));
    for (const { edits } of offered.slice(-2)) {
      const [{ at, text }] = edits as [(typeof edits)[number]];
      const after = THIN.slice(0, at.start) + text + THIN.slice(at.end);
      expect(codes(after)).toEqual(['require/tolerance']);
    }
  });

  it('is not offered for an error', () => {
    const document = open(sample('door-straight-through'));
    const titles = document.problems().flatMap((p) => quickFixes(document, p.at).map((f) => f.title));
    expect(titles.length).toBeGreaterThan(0);
    expect(titles.filter((title) => title.startsWith('Allow '))).toEqual([]);
  });

  it('completes the codes behind allow, and nothing in other comments', () => {
    const labels = (text: string): string[] =>
      suggestionsAt(open(text), text.length, { importable: [] } as never).map((s) => s.label);
    const warnings = ALL_CODES.filter((c) => c.severity !== 'error').map((c) => c.code);
    expect(labels('# allow ')).toEqual(warnings);
    expect(labels('# allow-file timer/thin-margin, flow/')).toEqual(warnings);
    expect(labels('# allow timer/thin-margin: because ')).toEqual([]);
    expect(labels('# about ')).toEqual([]);
  });
});

describe('on the command line', () => {
  it('is counted, and given in the JSON', async () => {
    const files = { 'it.rig': `# allow-file timer/thin-margin, require/tolerance: a test rig\n${THIN}` };
    expect(await run(['check', 'it.rig'], files)).toMatchObject({
      code: 0,
      out: '1 file: no finding. 2 more allowed by a comment.\n',
    });
    const { out } = await run(['check', '--format', 'json', 'it.rig'], files);
    const { findings, allowed } = JSON.parse(out) as { findings: unknown[]; allowed: { code: string }[] };
    expect([findings, allowed.map((f) => f.code)]).toEqual([[], ['timer/thin-margin', 'require/tolerance']]);
  });
});

describe('a proof that is not decided', () => {
  const LOCK = readFileSync(join(ROOT, 'samples/quay_lock.rig'), 'utf8');
  const words = ['check', 'lock.rig', '--prove', '--states', '2', '--format', 'json'];
  const found = async (text: string, more: readonly string[] = words) => {
    const { out } = await run(more, { 'lock.rig': text });
    return JSON.parse(out) as { findings: { code: string }[]; allowed: { code: string; why: string }[] };
  };
  const undecided = (list: readonly { code: string }[]): number =>
    list.filter((f) => f.code === 'require/undecided').length;

  it('is allowed by a comment, and listed with its reason', async () => {
    const before = await found(LOCK);
    const after = await found(`# allow-file require/undecided: shown on the bench\n${LOCK}`);
    expect(undecided(before.findings)).toBeGreaterThan(2);
    expect([undecided(after.findings), undecided(after.allowed)]).toEqual([0, undecided(before.findings)]);
    expect(new Set(after.allowed.map((f) => f.why))).toEqual(new Set(['shown on the bench']));
  });

  it('its comment is no mistake where nothing is proved', () =>
    expect(codes(`# allow-file require/undecided: shown on the bench\n${LOCK}`)).toEqual(codes(LOCK)));

  it('a counter-example stays an error', async () => {
    const text = readFileSync(join(ROOT, 'samples/refuted/dropped_sensor.rig'), 'utf8');
    const { findings, allowed } = await found(`# allow-file require/refuted: never mind\n${text}`, [
      'check',
      'lock.rig',
      '--prove',
      '--format',
      'json',
    ]);
    expect(findings.filter((f) => f.code === 'require/refuted').length).toBeGreaterThan(0);
    expect(allowed).toEqual([]);
  });
});

it('the build sheet lists what is allowed about its rig, with the reason', async () => {
  const text = THIN.replace(LINE, LINE.replace('\n', '  # allow timer/thin-margin: measured on the bench\n'));
  const sheet = async (of: string): Promise<string> => (await run(['sheet', 'it.rig'], { 'it.rig': of })).out;
  expect(await sheet(text)).toMatch(/## Allowed findings[\s\S]*measured on the bench[\s\S]*timer\/thin-margin/);
  expect(await sheet(THIN)).not.toContain('Allowed findings');
  const report = (await run(['report', 'it.rig'], { 'it.rig': text })).out;
  expect(report).toContain('Allowed findings');
  expect(report).toContain('measured on the bench');
});
