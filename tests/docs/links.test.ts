/** What the documents lead to is there: relative links, and every sample in the list of samples with a command that runs. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ROOT, run } from '../cli/run';

const DOCUMENTS = [
  'README.md',
  'DEVELOPERS.md',
  'CONTRIBUTING.md',
  'SECURITY.md',
  'CHANGELOG.md',
  'grammar/REFERENCE.md',
  'grammar/TUTORIAL.md',
  'samples/README.md',
];
const textOf = (path: string): string => readFileSync(join(ROOT, path), 'utf8');

describe.each(DOCUMENTS)('%s', (path) => {
  it('links only to files that are there', () => {
    const outside = textOf(path).replace(/```[\s\S]*?```/g, '');
    const targets = [...outside.matchAll(/\]\(([^)#\s]+)(?:#[^)]*)?\)/g)].map(([, target]) => target!);
    const local = targets.filter((target) => !/^[a-z]+:/.test(target));
    expect(local.filter((target) => !existsSync(join(ROOT, dirname(path), target)))).toEqual([]);
  });
});

describe('the picture of README.md', () => {
  it('names the times that caisson diagram draws of the sample, below 200 KB', async () => {
    const { out } = await run(['diagram', 'samples/digester_bank.rig', '--width', '900']);
    const picture = textOf('samples/pictures/digester_bank.svg');
    const times = (svg: string) => [...new Set(svg.match(/>[\d.]+ m?s</g))].sort();
    expect(times(picture).length).toBeGreaterThan(4);
    expect(times(picture)).toEqual(times(out));
    expect(picture.length).toBeLessThan(200_000);
  });
});

describe('DEVELOPERS.md is the map', () => {
  const text = textOf('DEVELOPERS.md');
  const below = (folder: string): string[] =>
    readdirSync(join(ROOT, folder), { withFileTypes: true }).flatMap((entry) => {
      const path = `${folder}/${entry.name}`;
      return entry.isDirectory() ? [path, ...below(path)] : [path];
    });
  const paths = ['server', 'client', 'grammar', 'tests', 'samples'].flatMap(below);

  it('names only files and folders that are there', () => {
    const named = [...text.matchAll(/`([\w./-]+\/[\w./-]*|[\w-]+\.(?:ts|mjs))`/g)].map(([, name]) => name!);
    expect(named.length).toBeGreaterThan(50);
    const isThere = (name: string): boolean => {
      const plain = name.replace(/\/$/, '');
      return paths.some((path) => path === plain || path.endsWith(`/${plain}`)) || existsSync(join(ROOT, plain));
    };
    // Made by the build or by tests, and a pattern in a recipe.
    const aside = (name: string): boolean =>
      name.startsWith('dist/') || name.startsWith('artefacts/') || name.includes('GROUP');
    expect(named.filter((name) => !aside(name) && !isThere(name))).toEqual([]);
  });

  it('names every folder of the sources and of the tests', () => {
    const folders = ['server/core', 'server', 'server/cli', 'tests', 'client', 'client/page', 'client/src'].flatMap(
      (top) => readdirSync(join(ROOT, top), { withFileTypes: true }).flatMap((e) => (e.isDirectory() ? [e.name] : [])),
    );
    expect(folders.length).toBeGreaterThan(40);
    expect(folders.filter((name) => !new RegExp(`\\b${name}\\b`).test(text))).toEqual([]);
  });
});

describe('samples/README.md', () => {
  const text = textOf('samples/README.md');
  const samples = ['.', 'poor', 'refuted'].flatMap((folder) =>
    readdirSync(join(ROOT, 'samples', folder))
      .filter((name) => name.endsWith('.rig'))
      .map((name) => (folder === '.' ? name : `${folder}/${name}`)),
  );

  it('lists every sample', () => {
    expect(samples.length).toBeGreaterThan(8);
    expect(samples.filter((name) => !text.includes(`](${name})`))).toEqual([]);
  });

  const commands = [...text.matchAll(/Try `caisson ([^`]* samples\/[^`]*)`/g)].map(([, words]) => words!);

  it.each(commands)('caisson %s runs, and finds something only where it is said', async (words) => {
    const { code, out, err } = await run(words.split(' '));
    expect(err).toBe('');
    expect(out).not.toBe('');
    expect(code).toBe(words.includes('/refuted/') ? 1 : 0);
  });

  it('names a command for every sample', () => expect(commands).toHaveLength(samples.length));
});
