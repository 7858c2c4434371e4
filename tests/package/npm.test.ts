/** The npm package: the program only, and it runs where it is installed. */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';

const ROOT = join(__dirname, '../..');
const folder = mkdtempSync(join(tmpdir(), 'caisson-npm-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it('packs the program with its licences, installs elsewhere and runs', () => {
  const packed = execFileSync('npm', ['pack', '--json', '--pack-destination', folder], {
    cwd: ROOT,
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  const [{ filename, files, unpackedSize }] = JSON.parse(packed.slice(packed.indexOf('['))) as [
    { filename: string; unpackedSize: number; files: { path: string }[] },
  ];
  expect(files.map((f) => f.path).sort()).toEqual([
    'CHANGELOG.md',
    'LICENSE',
    'README.md',
    'dist/THIRD-PARTY-NOTICES.txt',
    'dist/caisson.js',
    'grammar/REFERENCE.md',
    'package.json',
    // The schemas of what its commands print; which there are is tests/cli/schemas.test.ts.
    ...readdirSync(join(ROOT, 'server/core/report'))
      .filter((name) => name.endsWith('.schema.json'))
      .sort()
      .map((name) => `server/core/report/${name}`),
  ]);
  expect(unpackedSize).toBeLessThan(2_200_000);
  // Without its dependencies, which only draw PNG: nothing is fetched.
  execFileSync('tar', ['-xzf', join(folder, filename)], { cwd: folder });
  const program = join(folder, 'package', 'dist', 'caisson.js');
  writeFileSync(join(folder, 'a.rig'), 'rig r {\n  switch s = of\n}\n');
  const run = spawnSync(process.execPath, [program, 'check', 'a.rig'], { cwd: folder, encoding: 'utf8' });
  expect(run.stdout).toContain('a.rig:2:14: error');
  expect(run.status).toBe(1);
});

it('names every package that is bundled, with a licence text', () => {
  const text = readFileSync(join(ROOT, 'dist', 'THIRD-PARTY-NOTICES.txt'), 'utf8');
  for (const name of [
    'chevrotain',
    'vscode-languageserver',
    'vscode-languageclient',
    'vscode-uri',
    '@dagrejs/dagre',
    'yalps',
  ])
    expect(text).toMatch(new RegExp(`^${name} \\d+\\.\\d+`, 'm'));
  expect(text).toContain('Permission is hereby granted');
  expect(text).toContain('Apache License');
});
