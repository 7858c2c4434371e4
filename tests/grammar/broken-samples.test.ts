/** `samples/broken/syntax-*.rig` shows each code of form, with one mistake each. Two codes need thousands of mistakes and are made here. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { SYNTAX_CODES } from '../../grammar/src/syntax-codes';

const BROKEN = join(__dirname, '../../samples/broken');
const files = readdirSync(BROKEN).filter((f) => f.startsWith('syntax-'));
const MADE_HERE = ['syntax/too-deep', 'syntax/too-many'];

describe('broken samples of form', () => {
  it.each(files)('%s shows one mistake, its own', (file) => {
    const { problems } = parse(readFileSync(join(BROKEN, file), 'utf8'));
    expect(problems.map((p) => p.code)).toEqual([file.replace('-', '/').replace('.rig', '')]);
  });

  it.each(SYNTAX_CODES.map((c) => c.code).filter((code) => !MADE_HERE.includes(code)))('%s has a sample', (code) =>
    expect(existsSync(join(BROKEN, `${code.replace('/', '-')}.rig`))).toBe(true),
  );

  it('says when an expression is too deep, and when there are too many mistakes', () => {
    const deep = parse(`let a = ${'('.repeat(100)}1${')'.repeat(100)}\n`);
    expect(deep.problems.map((p) => p.code)).toEqual(['syntax/too-deep']);
    const many = parse('portal x\n'.repeat(300));
    expect(many.problems.at(-1)!.code).toBe('syntax/too-many');
    expect(many.problems.length).toBe(201);
  });
});
