import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { TokenKind } from '../../grammar/src/ast';
import { rigText } from './generated';
import { colour, colours, type Coloured } from './textmate';

const ROOT = join(__dirname, '../..');

describe('generated files', () => {
  it('are current', () => {
    expect(() => execFileSync(process.execPath, [join(ROOT, 'grammar/generate.mjs'), '--check'])).not.toThrow();
  });
});

describe('colouring', () => {
  it('statements, names, properties, quantities', async () => {
    expect(await colours('door upper { pocket swept travel 300 ms rest open } # wide')).toEqual([
      'door:storage.type',
      'upper:entity.name.type.door',
      '{:punctuation.section.block.begin',
      'pocket:support.type.property-name',
      'swept:variable.other',
      'travel:support.type.property-name',
      '300:constant.numeric.decimal',
      'ms:keyword.other.unit',
      'rest:support.type.property-name',
      'open:support.constant.word',
      '}:punctuation.section.block.end',
      '#:punctuation.definition.comment',
      'wide:comment.line.number-sign',
    ]);
  });

  it('expressions', async () => {
    expect(await colours('signal a_on = TOF(not b, 2 s) and on responds 0 s')).toEqual([
      'signal:storage.type',
      'a_on:variable.other.signal',
      '=:keyword.operator.assignment',
      'TOF:support.function.block',
      '(:punctuation.section.group',
      'not:keyword.operator.logical',
      'b:variable.other',
      ',:punctuation.separator',
      '2:constant.numeric.decimal',
      's:keyword.other.unit',
      '):punctuation.section.group',
      'and:keyword.operator.logical',
      'on:constant.language.boolean',
      'responds:keyword.other.link',
      '0:constant.numeric.decimal',
      's:keyword.other.unit',
    ]);
    expect(
      (await colours('require order(upper opens, b shuts) during m')).filter((c) => /opens|shuts|order|during/.test(c)),
    ).toEqual([
      'order:entity.name.function',
      'opens:support.constant.event',
      'shuts:support.constant.event',
      'during:keyword.other.link',
    ]);
  });

  it('words of the language used as names stay names', async () => {
    expect((await colours('drive feed = door or level')).slice(1)).toEqual([
      'feed:variable.other',
      '=:keyword.operator.assignment',
      'door:variable.other',
      'or:keyword.operator.logical',
      'level:variable.other',
    ]);
    expect(
      (await colours('signal on_level = notch and 門.opens_not')).filter((c) => c.endsWith(':variable.other')),
    ).toEqual(['notch:variable.other', '門.opens_not:variable.other']);
  });

  it('an unclosed block or text does not colour the next statements wrongly', async () => {
    const lines = 'chamber a { volume 1 m3\ndoor b "x\nsignal c = d';
    expect((await colours(lines)).filter((c) => c.endsWith('storage.type'))).toEqual([
      'chamber:storage.type',
      'door:storage.type',
      'signal:storage.type',
    ]);
  });
});

/** The scope that a token of each kind must lie in, where colours and the parser have to agree. */
const SCOPE_OF: Partial<Record<TokenKind, RegExp>> = {
  keyword: /^(storage\.type|keyword\.control)/,
  property: /^support\.type\.property-name/,
  function: /^(support\.function|entity\.name\.function)/,
  number: /^constant\.numeric/,
  unit: /^keyword\.other\.unit/,
  comment: /^(comment|punctuation\.definition\.comment)/,
  string: /^string/,
  name: /^(variable|entity\.name\.(?!function))/,
};

function disagreements(text: string, pieces: readonly Coloured[]): string[] {
  const at = new Map(pieces.map((p) => [p.start, p]));
  return parse(text)
    .tokens.filter((token) => SCOPE_OF[token.kind])
    .filter((token) => !at.get(token.span.start)?.scopes.some((scope) => SCOPE_OF[token.kind]!.test(scope)))
    .map(
      (t) =>
        `${t.kind} ${t.text} at ${t.span.start}: ${at.get(t.span.start)?.scopes.join(' ') ?? 'no piece begins here'}`,
    );
}

describe('colouring and parser agree', () => {
  const samples = readdirSync(join(ROOT, 'samples')).filter((file) => file.endsWith('.rig'));

  it.each(samples)('on %s', async (file) => {
    const text = readFileSync(join(ROOT, 'samples', file), 'utf8');
    expect(disagreements(text, await colour(text))).toEqual([]);
  });

  it('on the example of the reference', async () => {
    const text = /```rig\n([^`]*)```/.exec(readFileSync(join(ROOT, 'grammar/REFERENCE.md'), 'utf8'))![1]!;
    expect(disagreements(text, await colour(text))).toEqual([]);
  });

  it('never fails on generated rigs', async () => {
    await fc.assert(
      fc.asyncProperty(rigText, async (text) => {
        const pieces = await colour(text);
        expect(
          pieces
            .map((p) => p.text)
            .join('')
            .replace(/\s/g, ''),
        ).toBe(text.replace(/\s/g, ''));
      }),
      { numRuns: 50 },
    );
  });
});

describe('Markdown', () => {
  it('colours rig fences only, and ends them at the fence whatever is open', async () => {
    const text = '# t\n```rig\nrig a {\ndoor b {\n```\ndoor c\n~~~ rig\ndoor d\n~~~\n```js\ndoor e\n```';
    const pieces = await colour(text, 'text.html.markdown');
    const keywords = pieces.filter((p) => p.scopes.includes('storage.type.rig')).map((p) => p.start);
    expect(keywords).toEqual(['rig a', 'door b', 'door d'].map((s) => text.indexOf(s)));
    for (const p of pieces.filter((piece) => keywords.includes(piece.start))) {
      expect(p.scopes).toContain('meta.embedded.block.rig');
    }
  });
});

describe('language configuration', () => {
  const config = JSON.parse(readFileSync(join(ROOT, 'grammar/textmate/language-configuration.json'), 'utf8'));
  const words = new RegExp(config.wordPattern.pattern, config.wordPattern.flags + 'g');

  it('takes as words what the lexer takes as names', () => {
    for (const word of ['upper', '_x1', '門', 'cafe\u0301', 'a\u203fb', '\u{20000}x']) {
      expect([...word.matchAll(words)].map((m) => m[0])).toEqual([word]);
      expect(parse(`rig ${word} { }`).problems).toEqual([]);
    }
    expect([...'gate.upper-2.4 s'.matchAll(words)].map((m) => m[0])).toEqual(['gate', 'upper', '2.4', 's']);
  });

  it('indents after an opening brace and back at a closing one', () => {
    const more = new RegExp(config.indentationRules.increaseIndentPattern);
    const less = new RegExp(config.indentationRules.decreaseIndentPattern);
    for (const line of ['rig a {', 'rig a "x {y}" { # note', '  require order(']) expect(line).toMatch(more);
    for (const line of ['door a { travel 1 s }', '# {', 'let a = 1', 'import "{"']) expect(line).not.toMatch(more);
    expect('  }').toMatch(less);
    expect('door a { }').not.toMatch(less);
  });

  it('goes on with a comment that is split by Enter', () => {
    const rule = config.onEnterRules[1];
    expect('  # some words').toMatch(new RegExp(rule.beforeText));
    expect(' more').toMatch(new RegExp(rule.afterText));
    expect('').not.toMatch(new RegExp(rule.afterText));
  });
});
