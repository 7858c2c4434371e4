/** `samples/broken` shows each code of the resolver, each sample exactly its own; the fixes help. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import { createDocument } from '../../server/core/document/document';
import { PROBLEM_CODES } from '../../server/core/model/problem-codes';
import type { Fix, Problem } from '../../server/core/model/problem';

const BROKEN = resolve(__dirname, '../../samples/broken');
/** Come from outside of any file. */
const UNSEEN: readonly string[] = ['value/override', 'value/overridden'];
const codes = PROBLEM_CODES.map((entry) => entry.code).filter((code) => !UNSEEN.includes(code));
const pathOf = (code: string): string => join(BROKEN, `${code.replace('/', '-')}.rig`);

function readText(uri: string): string | undefined {
  const path = fileURLToPath(uri);
  return existsSync(path) ? readFileSync(path, 'utf8') : undefined;
}

/** Problems of a text in the place of a sample, the hints that follow from errors left out. */
function problemsOf(path: string, text: string): Problem[] {
  const document = createDocument({ uri: pathToFileURL(path).href, version: 1, text }, readText);
  const problems = [...document.problems()];
  const graver = problems.filter((problem) => problem.severity !== 'hint');
  return graver.length > 0 ? graver : problems;
}

function applied(text: string, fix: Fix): string {
  const edits = [...fix.edits].sort((a, b) => b.at.start - a.at.start);
  return edits.reduce((now, { at, text: put }) => now.slice(0, at.start) + put + now.slice(at.end), text);
}

describe('samples/broken', () => {
  it.each(codes)('%s is shown, alone and as its comment says', (code) => {
    const text = readFileSync(pathOf(code), 'utf8');
    expect(text.replaceAll('\n# ', ' ')).toContain(`Shows ${code}.`);
    expect(problemsOf(pathOf(code), text).map((problem) => problem.code)).toEqual([code]);
  });

  const fixes = codes.flatMap((code) => {
    const text = readFileSync(pathOf(code), 'utf8');
    return problemsOf(pathOf(code), text).flatMap((p) =>
      (p.fixes ?? []).map((fix) => [code, fix.title, fix, text] as const),
    );
  });

  it('has fixes to try', () => expect(new Set(fixes.map(([code]) => code)).size).toBeGreaterThanOrEqual(7));

  it.each(fixes)('%s: %s', (code, _title, fix, text) => {
    const after = problemsOf(pathOf(code), applied(text, fix)).map((problem) => problem.code);
    expect(after).not.toContain(code);
    // An equally near unit may make a door slow enough for a finding; a mistake in the text it is not.
    expect(after.filter((c) => /^(syntax|name|unit|value|import)\//.test(c))).toEqual([]);
  });

  it('holds nothing for codes that are gone', () => {
    const files = readdirSync(BROKEN).filter((file) => /^(name|unit|value|import)-.*\.rig$/.test(file));
    expect(files.sort()).toEqual(codes.map((code) => `${code.replace('/', '-')}.rig`).sort());
  });
});
