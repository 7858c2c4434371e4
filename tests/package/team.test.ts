/** What a team's repository uses: the commands of the composite action and of the hooks are run as they stand in their files. */
import { spawnSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ROOT } from '../cli/run';

const PROGRAM = join(ROOT, 'dist/caisson.js');
let work = '';
beforeAll(() => {
  work = mkdtempSync(join(tmpdir(), 'caisson-team-'));
  cpSync(join(ROOT, 'samples/digester_bank.rig'), join(work, 'sound.rig'));
  cpSync(join(ROOT, 'samples/broken/door-overlap.rig'), join(work, 'faulty.rig'));
  writeFileSync(join(work, 'caisson'), `#!/bin/sh\nexec "${process.execPath}" "${PROGRAM}" "$@"\n`);
  chmodSync(join(work, 'caisson'), 0o755);
});
afterAll(() => rmSync(work, { recursive: true, force: true }));

/** The scripts below `run: |`, in order. */
function scripts(yaml: string): string[] {
  return [...yaml.matchAll(/^( +)run: \|\n((?:\1 {2}.*\n)+)/gm)].map(([, , body]) => body!.replace(/^ {8}/gm, ''));
}

describe('the composite action', () => {
  const folder = join(ROOT, '.github/actions/check');
  const [build, check] = scripts(readFileSync(join(folder, 'action.yml'), 'utf8'));
  const ran = (files: string, options = '') =>
    spawnSync('bash', ['-e', '-o', 'pipefail', '-c', check!], {
      cwd: work,
      env: { ...process.env, GITHUB_ACTION_PATH: folder, FILES: files, OPTIONS: options },
      encoding: 'utf8',
    });

  it('builds what it runs', () => {
    expect(build).toContain('npm run build');
    expect(existsSync(join(folder, '../../../package.json'))).toBe(true);
    expect(existsSync(PROGRAM)).toBe(true);
  });

  it('passes where nothing is found, and fails with an annotation where something is', () => {
    const sound = ran('sound.rig');
    expect({ status: sound.status, stdout: sound.stdout }).toEqual({ status: 0, stdout: '' });
    const faulty = ran('faulty.rig');
    expect(faulty.status).toBe(1);
    expect(faulty.stdout).toMatch(/^::(error|warning) file=faulty\.rig,line=\d+,/m);
  });

  it('takes patterns and options', () => {
    const { status, stdout } = ran('*.rig', '--max-warnings 99');
    expect(stdout).toContain('file=faulty.rig');
    expect([0, 1]).toContain(status);
  });
});

describe('the hooks', () => {
  const hooks = readFileSync(join(ROOT, '.pre-commit-hooks.yaml'), 'utf8');
  const entries = [...hooks.matchAll(/^- id: (\S+)[\s\S]*?^ {2}entry: (.+)$/gm)].map(([, id, entry]) => [id!, entry!]);
  const ran = (entry: string, files: readonly string[]) =>
    spawnSync('sh', ['-c', `${entry} ${files.join(' ')}`], {
      cwd: work,
      env: { ...process.env, PATH: `${work}:${process.env.PATH}` },
      encoding: 'utf8',
    });

  it('are the check and the layout, of rigs only', () => {
    expect(entries.map(([id]) => id)).toEqual(['caisson-check', 'caisson-format']);
    expect([...hooks.matchAll(/files: (.+)/g)].every(([, pattern]) => new RegExp(pattern!).test('a/b.rig'))).toBe(true);
  });

  it('check refuses a faulty rig and passes a sound one', () => {
    expect(ran(entries[0]![1]!, ['sound.rig']).status).toBe(0);
    expect(ran(entries[0]![1]!, ['sound.rig', 'faulty.rig']).status).toBe(1);
  });

  it('format puts a rig into its layout', () => {
    const path = join(work, 'laid.rig');
    writeFileSync(path, readFileSync(join(work, 'sound.rig'), 'utf8').replace(/^ {2}/gm, '      '));
    expect(ran(entries[1]![1]!, ['laid.rig']).status).toBe(0);
    expect(readFileSync(path, 'utf8')).toBe(readFileSync(join(work, 'sound.rig'), 'utf8'));
  });

  it('the program is what the package installs', () => {
    const { bin } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { bin: Record<string, string> };
    expect(bin).toEqual({ caisson: 'dist/caisson.js' });
  });
});
