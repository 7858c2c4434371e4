/** Parsing by pieces gives what parsing the whole text gives, for random edits one after the other. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { ParseResult } from '../../grammar/src/ast';
import { parseNext } from '../../server/core/document/splice-parse';

const SAMPLES = ['digester_bank', 'quay_lock', 'twin_presses', 'brine_lift'].map((name) =>
  readFileSync(join(__dirname, '../../samples', `${name}.rig`), 'utf8'),
);
const TEXT = SAMPLES.join('\nlet between = 3 s # of its own\n');

const plain = ({ tree, problems }: ParseResult): unknown => ({ tree, problems });

/** What people type and take away: single characters, lines, words, brackets. */
const PIECE = fc.oneof(
  fc.constantFrom(
    '',
    ' ',
    '\n',
    '\r\n',
    '\r',
    'x',
    '7',
    '.',
    '{',
    '}',
    '(',
    ')',
    '"',
    '#',
    ',',
    '=',
    '>',
    '+',
    ' and ',
    'not ',
  ),
  fc.constantFrom(
    'let a = 1 s\n',
    'rig new {\n}\n',
    '# note\n',
    '  signal x = TON(a, 2 s)\n',
    'import "a.rig"\n',
    'travl 3 ms',
    '🚪',
    '+-',
  ),
);
const EDIT = fc.record({ at: fc.nat(), length: fc.oneof(fc.nat(3), fc.nat(60), fc.nat(2000)), piece: PIECE });

function edited(text: string, { at, length, piece }: { at: number; length: number; piece: string }): string {
  const start = at % (text.length + 1);
  return text.slice(0, start) + piece + text.slice(start + length);
}

describe('parsing by pieces', () => {
  it.each([
    ['LF', TEXT],
    ['CRLF', TEXT.replace(/\n/g, '\r\n')],
  ])('is the same as parsing the whole, %s', (_, base) => {
    fc.assert(
      fc.property(fc.array(EDIT, { minLength: 1, maxLength: 6 }), (edits) => {
        let before = { text: base, result: parse(base) };
        for (const edit of edits) {
          const text = edited(before.text, edit);
          const result = parseNext(text, before);
          expect(plain(result)).toEqual(plain(parse(text)));
          before = { text, result };
        }
      }),
      { seed: Number(process.env['SPLICE_SEED'] ?? 41), numRuns: Number(process.env['SPLICE_RUNS'] ?? 25) },
    );
  });

  it('keeps statements before an edit as they are and tokens complete', () => {
    const before = { text: TEXT, result: parse(TEXT) };
    const at = TEXT.indexOf('rig ', TEXT.indexOf('between')) + 60;
    const text = TEXT.slice(0, at) + ' ' + TEXT.slice(at);
    const result = parseNext(text, before);
    expect(result.tree.statements[0]).toBe(before.result.tree.statements[0]);
    expect(result.tokens).toEqual(parse(text).tokens);
  });
});
