/** `caisson diff --git`, on a repository made here by git itself. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { nodeIo } from '../../server/cli/io';
import { main } from '../../server/cli/main';

const PART = (time: string): string => `part gate(ask) {
  door flap { pocket 5 L  travel 200 ms }
  drive flap = TP(ask, ${time})
}
`;
const RIG = (time: string): string => `import "parts/gate #2.rig"
rig quay {
  medium air
  chamber hall { volume 3 m3  pressure 1.2 bar }
  chamber room { volume 1 m3  pressure 1 bar }
  door lid { pocket 5 L  travel 200 ms }
  stack hall > lid > room
  controller { response 20 ms }
  switch ask = off
  drive lid = TP(ask, ${time})
}
`;

const root = mkdtempSync(join(tmpdir(), 'caisson-git-'));
// A folder whose name an address would have to escape.
const yard = join(root, 'yard 50% #1?');
const file = (name: string): string => join(yard, name);
const git = (...words: string[]): void =>
  void execFileSync('git', ['-c', 'user.name=tests', '-c', 'user.email=tests@localhost', ...words], {
    cwd: yard,
    stdio: 'ignore',
  });

async function diff(words: readonly string[], cwd = yard): Promise<{ code: number; out: string; err: string }> {
  let out = '';
  let err = '';
  const io = {
    ...nodeIo(),
    out: (t: string | Uint8Array) => void (out += String(t)),
    err: (t: string) => void (err += t),
    cwd,
  };
  return { code: await main(['diff', ...words], io), out, err };
}

beforeAll(() => {
  mkdirSync(join(yard, 'parts'), { recursive: true });
  execFileSync('git', ['init', '-q'], { cwd: yard });
  writeFileSync(file('parts/gate #2.rig'), PART('900 ms'));
  writeFileSync(file('quay.rig'), RIG('900 ms'));
  writeFileSync(file('latin.rig'), Buffer.from('rig caf\xe9 {}', 'latin1'));
  writeFileSync(file('large.rig'), `# ${'x'.repeat(5 << 20)}`);
  symlinkSync('quay.rig', file('link.rig'));
  git('add', '.');
  git('commit', '-qm', 'first');
  git('tag', 'first');
  writeFileSync(file('quay.rig'), RIG('1.1 s'));
  git('rm', '-q', 'parts/gate #2.rig');
  mkdirSync(join(yard, 'parts'), { recursive: true });
  writeFileSync(file('parts/gate #2.rig'), PART('900 ms'));
  git('commit', '-qam', 'second');
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

describe('a file beside its revisions', () => {
  it('tells what changed, with imports as they were then', async () => {
    const { code, out, err } = await diff(['--git', 'first', 'quay.rig']);
    expect([code, err]).toEqual([1, '']);
    expect(out).toContain('900 ms');
    expect(out).toContain('1.1 s');
  });

  it('compares two revisions, whatever is there now', async () => {
    const both = await diff(['--git', 'first', '--git', 'HEAD', 'quay.rig']);
    expect(both.code).toBe(1);
    // The part is not in the second revision: its import is an error of that text, and told as such.
    expect(both.err).toContain('parts/gate #2.rig');
    expect(both.err).toContain('is not there at HEAD');
    expect((await diff(['--git', 'first', '--git', 'first', 'quay.rig'])).out).toBe('quay: nothing differs.\n');
  });

  it('is named from another folder too', async () => {
    expect((await diff(['--git', 'first', file('quay.rig')], tmpdir())).code).toBe(1);
  });
});

describe('what git cannot give', () => {
  it.each([
    [
      'a revision that is not there',
      ['--git', 'nosuch', 'quay.rig'],
      'quay.rig has no version nosuch: git knows no commit of that name.',
    ],
    [
      'an option for a revision',
      ['--git=--all', 'quay.rig'],
      'quay.rig has no version --all: git knows no commit of that name.',
    ],
    ['a file that was not there', ['--git', 'first', 'later.rig'], 'later.rig is not there at first.'],
    ['a folder', ['--git', 'first', 'parts'], 'parts is a folder at first.'],
    ['a link', ['--git', 'first', 'link.rig'], 'link.rig is not a regular file at first.'],
    ['other text than UTF-8', ['--git', 'first', 'latin.rig'], 'latin.rig is not UTF-8 text; save it as UTF-8.'],
    ['a huge file', ['--git', 'first', 'large.rig'], 'large.rig is larger than 4 MB at first.'],
    [
      'a folder that was never there',
      ['--git', 'first', 'no/such/quay.rig'],
      'no/such/quay.rig is not there at first.',
    ],
    ['three revisions', ['--git', 'a', '--git', 'b', '--git', 'c', 'quay.rig'], '--git stands once or twice.'],
    ['two files', ['--git', 'first', 'quay.rig', 'link.rig'], 'With --git, name one file.'],
  ])('%s: one sentence, exit code 2', async (_, words, sentence) => {
    const { code, out, err } = await diff(words);
    expect([code, out]).toEqual([2, '']);
    expect(err.split('\n')[0]).toBe(`caisson: ${sentence}`);
  });

  it('a file outside any repository', async () => {
    const outside = join(root, 'outside.rig');
    writeFileSync(outside, RIG('900 ms'));
    const { code, err } = await diff(['--git', 'first', outside]);
    expect(code).toBe(2);
    expect(err).toContain('outside.rig does not lie in a git repository.');
  });

  it('a machine without git', async () => {
    const path = process.env['PATH'];
    process.env['PATH'] = root;
    try {
      const { code, err } = await diff(['--git', 'first', 'quay.rig']);
      expect(code).toBe(2);
      expect(err).toContain('quay.rig cannot be read from git, which is not installed here.');
    } finally {
      process.env['PATH'] = path;
    }
  });
});
