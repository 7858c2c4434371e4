/** What README.md and the other documents have the reader type is spelt as it runs, and every block of theirs is run. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../server/cli/main';
import { run } from '../cli/run';
import { documentText, fencesOf, runBlocks } from './blocks';

const DOCUMENTS = [
  'README.md',
  'grammar/REFERENCE.md',
  'grammar/TUTORIAL.md',
  'samples/README.md',
  'DEVELOPERS.md',
  'CONTRIBUTING.md',
];
const scripts = Object.keys((JSON.parse(documentText('package.json')) as { scripts: Record<string, string> }).scripts);

describe('README.md', () => {
  it('gives the two commands as they are', () => {
    const shell = fencesOf('README.md').filter((f) => f.language === 'sh');
    expect(shell.map((f) => f.body)).toEqual(['npm ci && npm run demo\n', 'npm ci && npm test\n']);
    expect(scripts).toEqual(expect.arrayContaining(['demo', 'test']));
  });

  it('prints what its commands print', async () => expect(await runBlocks('README.md')).toBeGreaterThan(1));

  it('lists every command, and no other', () => {
    const rows = [...documentText('README.md').matchAll(/^\| `caisson (\w+)/gm)].map((m) => m[1]!);
    expect([...rows].sort()).toEqual(COMMANDS.map((c) => c.name).sort());
  });

  it('has a script for Neovim that Neovim reads', (context) => {
    const lua = fencesOf('README.md').find((f) => f.language === 'lua')!.body;
    const folder = mkdtempSync(join(tmpdir(), 'caisson-readme-'));
    const script = join(folder, 'script.lua');
    writeFileSync(script, `assert(loadfile('${join(folder, 'given.lua')}'))\nprint('read')\nvim.cmd('qall!')\n`);
    writeFileSync(join(folder, 'given.lua'), lua);
    const ran = spawnSync('nvim', ['--headless', '--clean', '-S', script], { encoding: 'utf8' });
    rmSync(folder, { recursive: true });
    if (ran.status === null) context.skip();
    expect(ran.stderr).toContain('read');
    const words = /cmd = \{ ([^}]*) \}/
      .exec(lua)![1]!
      .match(/'([^']*)'/g)!
      .map((w) => w.slice(1, -1));
    expect(words[0]).toBe('caisson');
    expect(COMMANDS.map((c) => c.name)).toContain(words[1]);
  });
});

/** `caisson NAME …` as it stands in the running text, with the options that go with it. */
function commandsIn(text: string): string[] {
  return [...text.matchAll(/`(?:\$ )?caisson ((?!COMMAND)[a-z][^`]*)`/g)].map(([, words]) => words!);
}

describe.each(DOCUMENTS)('%s', (path) => {
  const text = documentText(path);

  it('names only scripts that package.json has', () => {
    const named = [...text.matchAll(/npm run ([\w:]+)/g)].map((m) => m[1]!);
    expect(named.filter((name) => !scripts.includes(name))).toEqual([]);
  });

  it('names only commands that there are, with options that they take', () => {
    expect(commandsIn(text).length).toBeGreaterThan(path === 'README.md' ? 25 : -1);
    const unknown = commandsIn(text).filter((words) => {
      const [name, ...rest] = words.split(/\s+/);
      const command = COMMANDS.find((c) => c.name === name);
      const options = rest.flatMap((word) => /^--([\w-]+)/.exec(word)?.[1] ?? []);
      return !command || options.some((option) => !(option in command.options));
    });
    expect(unknown).toEqual([]);
  });

  const rigs = fencesOf(path).filter((f) => f.language === 'rig' && /^(?:#[^\n]*\n)*(?:part|rig) /.test(f.body));
  it.each(rigs.map((f) => [f.line, f.body] as const))(
    'has no finding in the rig of line %d but what the text shows',
    async (line, body) => {
      const { code, out } = await run(['check', 'it.rig'], { 'it.rig': body });
      // The first rig of the tutorial has the mistake that its second step mends.
      const shown = path === 'grammar/TUTORIAL.md' && body.startsWith('rig first ');
      expect({ line, code, out: code === 0 ? '' : out }).toEqual({ line, code: shown ? 1 : 0, out: shown ? out : '' });
    },
  );

  it('has no block that nothing looks at', () => {
    const unmarked = fencesOf(path).filter(({ language, line }) => {
      const above = text.split('\n').slice(Math.max(0, line - 3), line - 1);
      const marked = above.some((l) => /^<!-- (file|edit|insert before \}|run)/.test(l));
      // Examples of the findings: tests/checks/examples.test.ts.
      if (language === 'diff' && path === 'grammar/REFERENCE.md') return false;
      return !marked && !(path === 'README.md' && ['sh', 'lua'].includes(language)) && language !== 'rig';
    });
    const drawing = (f: { body: string }): boolean => path === 'DEVELOPERS.md' && f.body.startsWith('text → grammar');
    expect(unmarked.filter((f) => !drawing(f)).map((f) => `${path}:${f.line}`)).toEqual([]);
  });
});
