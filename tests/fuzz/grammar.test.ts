/**
 * Random, truncated and mangled texts through lexing, parsing and formatting: nothing throws, nothing hangs, and what the
 * tree promises holds. `FUZZ_RUNS` sets the number of texts (a release run uses 100000), `FUZZ_SEED` repeats one.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatText, parse, parseExpression } from '../../grammar/src/api';
import type { Span } from '../../grammar/src/ast';
import { RIG_LEXER } from '../../grammar/src/lexer';
import { STATEMENTS } from '../../grammar/src/vocabulary';
import { rigText } from '../grammar/generated';

const RUNS = Number(process.env.FUZZ_RUNS ?? 1500);
const SEED = Number(process.env.FUZZ_SEED ?? 20_261_127);

const samples = readdirSync(join(__dirname, '../../samples'))
  .filter((file) => file.endsWith('.rig'))
  .map((file) => readFileSync(join(__dirname, '../../samples', file), 'utf8'));

const pieces = [
  ...STATEMENTS.map((s) => s.keyword + ' '),
  ...[
    '{',
    '}',
    '(',
    ')',
    '\n',
    '\r\n',
    '\r',
    ' ',
    '"',
    '#',
    ',',
    '=',
    '>',
    '..',
    '+-',
    '-',
    '.',
    '5',
    '1e9',
    'µ',
    '°C',
    '%',
  ],
  ...['x ', 'on ', 'and ', 'not ', 'in ', 'at ', 'for ', 'repeat after ', 'TON(', 'volume 6 m3 ', 'above ', 'opens '],
  ...['\u{1F6AA}', '\uD800', '\u0301', '\u2028', '\uFEFF', '\\', '&&', '\0', '1,5', '_'],
];

const salad = fc.array(fc.constantFrom(...pieces), { maxLength: 60 }).map((list) => list.join(''));
const noise = fc.string({ unit: 'binary', maxLength: 120 });
const sound = fc.oneof(rigText, fc.constantFrom(...samples, 'rig r { }'));
const cut = fc
  .tuple(sound, fc.nat(), fc.nat())
  .map(([text, a, b]) => text.slice(a % (text.length + 1)).slice(0, b % (text.length + 1)));
const truncated = fc.tuple(sound, fc.nat()).map(([text, n]) => text.slice(0, n % (text.length + 1)));
const mangled = fc.tuple(sound, fc.nat(), fc.nat(30), fc.oneof(salad, noise)).map(([text, n, length, insert]) => {
  const at = n % (text.length + 1);
  return text.slice(0, at) + insert + text.slice(at + length);
});
const anyText = fc.oneof(salad, noise, cut, truncated, mangled);

function everySpan(value: unknown, see: (span: Span) => void): void {
  if (typeof value !== 'object' || value === null) return;
  const { start, end } = value as Partial<Span>;
  if (typeof start === 'number' && typeof end === 'number') see(value as Span);
  for (const inner of Object.values(value)) everySpan(inner, see);
}

function checkText(text: string): void {
  const result = parse(text);
  const { text: formatted } = formatText(text);
  parseExpression(text);

  expect(result.problems.length).toBeLessThanOrEqual(201);
  everySpan([result.tree, result.problems], ({ start, end }) => {
    if (!(start >= 0 && start <= end && end <= text.length)) throw new Error(`span ${start}..${end} of ${text.length}`);
  });
  for (const p of result.problems) expect(p.message).toMatch(/^\S.*[.?]$/s);
  checkTokens(text, result.tokens);
  expect(formatted === null ? null : formatText(formatted).text).toBe(formatted);
}

/** Every character but blanks belongs to exactly one token. */
function checkTokens(text: string, tokens: readonly { text: string; span: Span }[]): void {
  let at = 0;
  for (const token of tokens) {
    if (text.slice(at, token.span.start).trim() !== '') throw new Error(`no token at ${at}`);
    if (text.slice(token.span.start, token.span.end) !== token.text) throw new Error(`wrong text at ${at}`);
    at = token.span.end;
  }
  if (text.slice(at).trim() !== '') throw new Error(`no token at ${at}`);
}

describe('grammar fuzz', () => {
  it(`survives ${RUNS} texts (seed ${SEED})`, { timeout: 3_600_000 }, () => {
    fc.assert(fc.property(anyText, checkText), { numRuns: RUNS, seed: SEED });
  });

  it('the lexer takes every character', () => {
    fc.assert(
      fc.property(anyText, (text) => {
        expect(RIG_LEXER.tokenize(text).errors).toEqual([]);
      }),
      { numRuns: Math.min(RUNS, 1000), seed: SEED },
    );
  });

  it('the parser reports nothing in its own words', () => {
    let reported = 0;
    const jargon = /token|-->|Redundant|EOF|but found|NoViable|could not be read/;
    fc.assert(
      fc.property(anyText, (text) => {
        fc.pre(!jargon.test(text));
        for (const p of parse(text).problems) {
          reported++;
          expect(p.message).not.toMatch(jargon);
        }
      }),
      { numRuns: Math.min(RUNS, 1000), seed: SEED },
    );
    expect(reported).toBeGreaterThan(0);
  });

  it.each([
    ['braces', '{'.repeat(20_000)],
    ['closing braces', '}'.repeat(20_000)],
    ['parentheses', 'rig r { let a = ' + '('.repeat(20_000)],
    ['rigs in rigs', 'rig r {'.repeat(5_000)],
    ['rigs in rigs, closed', 'rig r {\n'.repeat(5_000) + '}\n'.repeat(5_000)],
    ['signs', 'rig r { let a = ' + '-'.repeat(20_000)],
    ['operators', 'rig r { signal a = b' + ' and b'.repeat(20_000)],
    ['commas', 'rig r { stack a' + ',b'.repeat(20_000)],
    ['one endless line', 'rig r { ' + 'let a = 1 '.repeat(20_000)],
    ['one endless line of blocks', 'rig r { ' + 'door a { travel 1 s } '.repeat(10_000)],
    ['open blocks', 'rig r {\n' + '  chamber a { volume 1 m3\n'.repeat(10_000)],
    ['open parentheses', 'rig r {\n' + '  signal a = TON(b, 1 s\n'.repeat(10_000)],
    ['newlines', '\n'.repeat(50_000)],
    ['comments', '# x\n'.repeat(30_000)],
    ['quotes', '"'.repeat(20_001)],
    ['backslashes', '"' + '\\'.repeat(20_001)],
    ['digits', 'rig r { let a = ' + '9'.repeat(50_000)],
    ['underscores', '1_'.repeat(20_000)],
    ['a long name', 'a'.repeat(100_000)],
    ['dots', 'a.'.repeat(20_000)],
  ])('long runs of %s', (_, text) => checkText(text));
});
