/** The example of each code: the sample reports it at the lines that are shown as faulty, and no longer once they are mended. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { exampleLines, exampleOf } from '../../server/core/checks/examples';
import { anchorOf } from '../../server/core/checks/reference';
import { ALL_CODES } from '../../server/core/document/codes';
import { ROOT, run } from '../cli/run';

/** Shown by no lines of one sample, and why. */
const WITHOUT: Readonly<Record<string, string>> = {
  'name/import-errors': 'the mistake stands in another file',
  'syntax/more': 'needs more mistakes than are listed',
  'syntax/too-deep': 'needs hundreds of parentheses',
  'syntax/too-many': 'needs 200 mistakes',
  'value/overridden': 'comes from the command line',
  'value/override': 'comes from the command line',
};

interface Report {
  readonly findings: { code: string; severity: string; line: number; related?: { line: number }[] }[];
}

async function findingsOf(path: string, text: string): Promise<Report['findings']> {
  const prove = path.includes('refuted') ? ['--prove'] : [];
  const { out } = await run(['check', '--format', 'json', ...prove, path], { [path]: text });
  return (JSON.parse(out) as Report).findings.filter((f) => f.severity !== 'hint' || path.includes('unused'));
}

it('is there for every code but those that no lines of one sample show', () => {
  const without = ALL_CODES.map((c) => c.code).filter((code) => exampleOf(code) === undefined);
  expect(without).toEqual(Object.keys(WITHOUT).sort());
});

describe.each(ALL_CODES.filter((c) => exampleOf(c.code)).map((c) => [c.code]))('%s', (code) => {
  const path = `samples/broken/${anchorOf(code)}.rig`;
  const sample = readFileSync(join(ROOT, path), 'utf8');
  const changes = exampleOf(code)!;

  it('is reported for the faulty lines, and what the sample announces besides', async () => {
    for (const [faulty] of changes) expect(`\n${sample}`.split(`\n${faulty}\n`)).toHaveLength(2);
    const found = await findingsOf(path, sample);
    const announced: string[] = sample.slice(0, sample.indexOf('rig ')).match(/\b[a-z]+\/[a-z-]+/g) ?? [];
    expect(found.map((f) => f.code)).toContain(code);
    const others = found.filter((f) => f.severity !== 'information' && f.code !== code).map((f) => f.code);
    expect(others.filter((other) => !announced.includes(other))).toEqual([]);
  });

  it('is not reported for the mended ones, nor anything else', async () => {
    const mended = changes.reduce((text, [faulty, now]) => {
      const line = `${now}\n`;
      return `\n${text}`.replace(`\n${faulty}\n`, () => `\n${now === '' ? '' : line}`).slice(1);
    }, sample);
    expect(mended).not.toBe(sample);
    const found = await findingsOf(path, mended);
    expect(found.filter((f) => f.severity !== 'information' || f.code === code)).toEqual([]);
  });

  it('is one that can be read', () => {
    const lines = exampleLines(changes);
    expect(lines.some((line) => line.startsWith('-') || line.startsWith('+'))).toBe(true);
    expect(lines.length).toBeLessThan(9);
  });
});
