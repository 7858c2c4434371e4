/** What leads to hardware says what the check finds: a builder may never see the list of findings itself. */
import { describe, expect, it } from 'vitest';
import { mill } from '../support/mill';
import { run } from './run';

const KEEP = 'never(inlet and outlet)';
const OTHER = `rig beside {
  chamber a { volume 1 m3 }
  chamber b { volume 1 m3 }
  door flap { travel 300 ms }
  stack a > flap > b
  switch go = off
  drive flap = TP(go, 200 ms)
}
`;

const oneLine = (text: string): string => text.replace(/\s*\n\s*(?:\*|\/\/)?\s*/g, ' ');
const WAYS = [['sheet'], ...['c', 'st', 'verilog', 'dot'].map((to) => ['export', '--to', to])];
const SENTENCE = 'in this rig: mend the errors before anything is built from it.';

const COUNTED = new RegExp(`The check finds \\d+ errors? (?:and \\d+ warnings? )?${SENTENCE}`);

async function made(words: readonly string[], text: string): Promise<{ err: string; texts: string[] }> {
  const folder = words.includes('c') ? ['--out', 'made'] : [];
  const { code, out, err, written } = await run([...words, ...folder, '--rig', 'mill', 'mill.rig'], {
    'mill.rig': text,
  });
  expect(code).toBe(0);
  return { err, texts: (folder.length > 0 ? [...written.values()].map(String) : [out]).map(oneLine) };
}

describe('a rig with findings', () => {
  it.each(WAYS)('is made with what the check finds in it: %s %s %s', async (...words) => {
    const { err, texts } = await made(words, mill('1200 ms', KEEP) + OTHER);
    expect(texts.length).toBe(words.includes('c') ? 3 : 1);
    for (const text of texts) expect(text).toMatch(COUNTED);
    expect(words[0] === 'sheet' || COUNTED.test(err)).toBe(true);
  });

  it('is listed in the sheet with its findings and none of another rig', async () => {
    const { texts } = await made(['sheet'], mill('1200 ms', KEEP) + OTHER);
    expect(texts[0]).toContain('| error | inlet and outlet are both open from 1.2 s to 1.92 s');
    expect(texts[0]).not.toContain('flap');
  });

  it.each(WAYS)('and without a word where there is none: %s %s %s', async (...words) => {
    const text = mill('2200 ms', KEEP);
    const { out } = await run(['check', '--format', 'json', 'mill.rig'], { 'mill.rig': text });
    const findings = (JSON.parse(out) as { findings: { severity: string }[] }).findings;
    expect(findings.filter((f) => f.severity === 'error')).toEqual([]);
    const { texts } = await made(words, text + OTHER);
    for (const made of texts) expect(made).not.toContain(SENTENCE);
  });
});
