/** `samples/broken` shows every code, each sample exactly its own; every fix of every sample is made and must help. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ALL_CODES, CHECKS, RESERVED_CODES } from '../../server/core/checks/registry';
import { anchorOf } from '../../server/core/checks/reference';
import { applyFix, codesOf, look, problemsWith } from './rigs';

const SAMPLES = resolve(__dirname, '..', '..', 'samples');
const BROKEN = join(SAMPLES, 'broken');
const own = new Set(CHECKS.map((c) => c.code));
const files = readdirSync(BROKEN).filter((f) => f.endsWith('.rig') && own.has(f.replace('-', '/').replace('.rig', '')));
const textOf = (file: string): string => readFileSync(join(BROKEN, file), 'utf8');

/** Codes named in the comment at the top. */
function announced(text: string): string[] {
  const comment = text.slice(0, text.indexOf('\nrig '));
  return [...new Set(comment.match(/\b[a-z]+\/[a-z-]+/g) ?? [])].sort();
}

describe('codes', () => {
  it('are unique, well formed and explained', () => {
    expect(new Set(ALL_CODES.map((c) => c.code)).size).toBe(ALL_CODES.length);
    for (const c of ALL_CODES) {
      expect(c.code).toMatch(/^[a-z]+\/[a-z-]+$/);
      expect(c.explanation.length, c.code).toBeGreaterThan(c.title.length);
    }
  });

  it.each([...CHECKS, ...RESERVED_CODES].map((c) => c.code))('%s has a sample', (code) =>
    expect(existsSync(join(BROKEN, `${anchorOf(code)}.rig`))).toBe(true),
  );
});

describe('samples/broken', () => {
  it.each(files)('%s shows what it announces and nothing else', (file) => {
    const text = textOf(file);
    const looked = look(text);
    expect(looked.mistakes.filter((m) => !m.startsWith('name/unused'))).toEqual([]);
    const wanted = announced(text);
    expect(wanted).toContain(file.replace('-', '/').replace('.rig', ''));
    expect(codesOf(looked, ...wanted)).toEqual(wanted);
  });

  const fixes = files.flatMap((file) => {
    const looked = look(textOf(file));
    return looked.problems.flatMap((p) => (p.fixes ?? []).map((fix) => [file, p.code, fix.title, fix] as const));
  });

  it('offers fixes for most codes', () => expect(new Set(fixes.map((f) => f[1])).size).toBeGreaterThan(14));

  it.each(fixes)('%s: fix of %s works: %s', (file, code, title, fix) => {
    const before = look(textOf(file));
    const after = look(applyFix(before.text, fix));
    expect(after.mistakes.filter((m) => !before.mistakes.includes(m) && !m.startsWith('name/unused'))).toEqual([]);
    expect(problemsWith(after, code).length).toBe(problemsWith(before, code).length - 1);
    const known = new Set(codesOf(before));
    const brought = codesOf(after).filter((c) => !known.has(c));
    // What a fix brings is said in its title; a pair stated as apart is then a requirement that fails until it is met.
    expect(brought.filter((c) => !title.includes(c))).toEqual(
      title.includes('must stay apart') ? ['require/failed'] : [],
    );
  });
});

describe('sound samples', () => {
  const sound = readdirSync(SAMPLES).filter((f) => f.endsWith('.rig'));
  it.each(sound)('%s has no finding', (file) => {
    const looked = look(readFileSync(join(SAMPLES, file), 'utf8'));
    expect(codesOf(looked)).toEqual([]);
  });
});
