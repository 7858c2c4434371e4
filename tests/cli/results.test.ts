/** What a command writes never takes the place of what it read, nor of a rig; a text without a rig is not passed over in silence. */
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { nodeIo } from '../../server/cli/io';
import { main } from '../../server/cli/main';

const RIG = `let dwell = 2 s
rig hopper {
  controller { response 20 ms }
  chamber bin { volume 2 m3 }
  chamber silo { volume 4 m3 }
  door slide { travel 300 ms }
  stack bin > slide > silo
  sensor full on bin { pressure above 1.8 bar }
  signal go = TP(full, dwell)
  drive slide = go
}
`;
const home = mkdtempSync(join(tmpdir(), 'caisson-results-'));
const path = (name: string): string => join(home, name);

async function command(...words: string[]): Promise<{ code: number; err: string }> {
  let err = '';
  const add = (text: string): void => void (err += text);
  const code = await main(words, { ...nodeIo(), out: () => undefined, err: add, cwd: home });
  return { code, err };
}

describe('a result', () => {
  it.each([
    ['export', path('a.rig'), '--to', 'st', '--out', path('a.rig')],
    ['export', path('a.rig'), '--to', 'dot', '--out', path('other.rig')],
    ['diff', path('a.rig'), path('other.rig'), '--out', path('a.rig')],
    ['diff', path('a.rig'), path('plain'), '--out', path('plain')],
  ])('does not replace a source: %s', async (...words) => {
    const texts = new Map(['a.rig', 'other.rig', 'plain'].map((n) => [n, RIG.replace('2 s', `2.${n.length} s`)]));
    for (const [name, text] of texts) writeFileSync(path(name), text);
    const { code, err } = await command(...words);
    expect(err).toMatch(/^caisson: [^\n]+ give the result another name\.\n$/);
    expect(code).toBe(2);
    for (const [name, text] of texts) expect(readFileSync(path(name), 'utf8')).toBe(text);
  });

  it('goes where nothing was read', async () => {
    writeFileSync(path('a.rig'), RIG);
    const { code, err } = await command('export', path('a.rig'), '--to', 'dot', '--out', path('a.dot'));
    expect(code).toBe(0);
    expect(err).toMatch(/^caisson: The check finds [^\n]* in this rig[^\n]*\n$/);
  });
});

describe('a text without a rig', () => {
  it.each(['timing', 'flow', 'tolerance', 'prove', 'trace', 'sheet'])('ends %s with exit code 2', async (name) => {
    writeFileSync(path('times.rig'), 'let dwell = 2 s\n');
    writeFileSync(path('wrong.rig'), 'let dwell = = 3\n');
    expect(await command(name, path('times.rig'))).toEqual({
      code: 2,
      err: 'caisson: There is no rig in times.rig.\n',
    });
    const wrong = await command(name, path('wrong.rig'));
    expect(wrong.code).toBe(2);
    expect(wrong.err).toMatch(/^caisson: There is no rig in wrong\.rig: .+\n$/);
  });
});
