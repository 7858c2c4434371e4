/**
 * The worked numbers are the project's own. Common practice, no source: off-delays of 1.5 s and 2.5 s on the first two doors, an on-delay of
 * 2.7 s, an off-delay of 1.0 s, a hold-off of 10 s, and lines that carry 10 kg/s. These stay where a test says by these words that it holds
 * them as check values, and nowhere else.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ROOT } from '../cli/run';

/** One of the numbers, wherever it stands. */
const KNOWN =
  /(?<![\w.])(?:(?:1\.50?|2\.50?|2\.70?|1\.00?) ?s|(?:1500|2500|2700) ?ms|10(?:\.0)? ?kg\/s)(?![\w/.]*\w)|T(?:OF|ON|P)\([^,]*, ?10 ?s\)/;
/** One of them as a preset, a constant or a step; other times of a test may come out so. */
const PRESET =
  /(?:T(?:OF|ON|P)\(.*, ?|let \w+ = |\bat |>= )(?:1\.50?|2\.50?|2\.70?|1\.00?|1500|2500|2700) ?m?s\b|T(?:OF|ON|P)\([^,]*, ?10 ?s\)|(?<![\d.])10 kg\/s/;
const MARK = /common practice[^.]*no source|no source[^.]*common practice/i;
const READ = /\.(?:md|rig|ts|mts|mjs|json|csv|svg|html|lua)$/;

/** Paths of files that people write, below a folder; pictures are drawn of samples, and their axes have marks at any time. */
const below = (folder: string): string[] =>
  readdirSync(join(ROOT, folder), { withFileTypes: true }).flatMap((entry) => {
    const path = folder === '.' ? entry.name : `${folder}/${entry.name}`;
    if (entry.isDirectory())
      return /^(?:node_modules|dist|goldens|artefacts|pictures|\..*)$/.test(entry.name) ? [] : below(path);
    return READ.test(entry.name) ? [path] : [];
  });

/** `file:line: text` of each line that has one of the numbers. */
const linesWith = (path: string, pattern: RegExp): string[] =>
  readFileSync(join(ROOT, path), 'utf8')
    .split('\n')
    .flatMap((line, k) => (pattern.test(line) ? [`${path}:${k + 1}: ${line.trim().slice(0, 120)}`] : []));

describe('known numbers', () => {
  const files = [
    'README.md',
    'CHANGELOG.md',
    'package.json',
    ...['grammar', 'samples', 'client', 'server', '.github'].flatMap(below),
  ];

  it('are found where they are', () => {
    for (const line of ['TOF(a, 1.5 s)', 'at 2500 ms close', 'rate 10 kg/s  only', 'TOF(a, 10 s)', '>= 1.0 s', '2.7s'])
      expect(line).toMatch(KNOWN);
    for (const line of ['11.5 s', '1.55 s', '10 s', '0.02 kg/s', '1.5 m3', '2.5 s2', '110 kg/s'])
      expect(line).not.toMatch(KNOWN);
  });

  it('stand in no document, sample, source, template or page', () => {
    expect(files.length).toBeGreaterThan(300);
    expect(files.flatMap((path) => linesWith(path, KNOWN))).toEqual([]);
  });

  it('stand only in tests that mark them', () => {
    const tests = below('tests').filter((path) => path !== 'tests/docs/own-numbers.test.ts');
    const unmarked = tests.filter((path) => !MARK.test(readFileSync(join(ROOT, path), 'utf8')));
    expect(unmarked.length).toBeGreaterThan(100);
    expect(unmarked.flatMap((path) => linesWith(path, PRESET))).toEqual([]);
  });
});
