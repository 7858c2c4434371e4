/** Texts of the user that try to be markup or to steer a terminal: they are shown as written. */
import * as fc from 'fast-check';
import MarkdownIt from 'markdown-it';
import { describe, expect, it } from 'vitest';
import { shownText } from '../../server/cli/io';
import { renderSarif } from '../../server/cli/formats/sarif';
import { visible } from '../../server/core/units/visible';
import { code, escaped, table } from '../../server/core/features/markdown';
import { plainText } from '../../server/lsp/convert-completion';

const markdown = new MarkdownIt({ html: true, linkify: true });
const nasty = fc
  .array(
    fc.constantFrom(
      '`',
      '``',
      '```',
      '\\',
      '*',
      '_',
      '[x](http://h/)',
      '![i](http://h/i.png)',
      '<img src=x>',
      '|',
      '\n',
      '\n\n',
      '# ',
      '- ',
      '&lt;',
      'a',
      ' ',
      '~~',
      'www.h.org',
      'http://h/',
    ),
    { maxLength: 12 },
  )
  .map((parts) => parts.join(''));
/** Kinds of everything in the rendered text that is not plain text. */
const kinds = (source: string): string[] => {
  const list: string[] = [];
  for (const block of markdown.parse(source, {}))
    for (const inline of block.children ?? [])
      if (!/^(text|text_special|softbreak|hardbreak)$/.test(inline.type)) list.push(inline.type);
  return list;
};

describe('Markdown', () => {
  it('inline code is one piece of code, whatever is in it', () =>
    fc.assert(
      fc.property(
        nasty.filter((t) => t.trim() !== ''),
        (text) => {
          expect(kinds(`x ${code(text)} y`)).toEqual(['code_inline']);
        },
      ),
      { numRuns: 500 },
    ));

  it('escaped text has no markup but addresses that show themselves', () =>
    fc.assert(
      fc.property(nasty, (text) => {
        const line = text.replace(/\s+/g, ' ');
        expect(kinds(`x ${escaped(line)} y`).filter((k) => !k.startsWith('link_'))).toEqual([]);
        expect(plainText(escaped(line.replace(/[`*]/g, '')))).toBe(line.replace(/[`*]/g, ''));
      }),
      { numRuns: 500 },
    ));

  it('a title with backticks makes no picture', () =>
    expect(markdown.render(code('rig x "`![i](http://h/i.png)`"'))).not.toContain('<img'));

  it('cells stay cells', () => expect(markdown.render(table(['a'], [[escaped('x | y')]]))).toContain('x | y'));
});

describe('terminals', () => {
  it('control characters and turned directions are visible escapes; line ends stay', () => {
    expect(visible('a\u001b[31mb\u0007\u009bc\u202ed\n\te')).toBe('a\\u001b[31mb\\u0007\\u009bc\\u202ed\n\te');
    expect(shownText('\u001b[31merror\u001b[0m \u001b]0;title\u0007', true)).toBe(
      '\u001b[31merror\u001b[0m \\u001b]0;title\\u0007',
    );
    expect(shownText('\u001b[31mx', false)).toBe('\\u001b[31mx');
  });

  it('JSON stays the same JSON', () =>
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const json = JSON.stringify({ text });
        expect(JSON.parse(shownText(json, false))).toEqual({ text });
      }),
    ));
});

describe('SARIF', () => {
  it('addresses are escaped and have a base', () => {
    const finding = {
      path: 'a b/#1?%.rig',
      start: { line: 1, column: 1 },
      end: { line: 1, column: 2 },
      severity: 'error',
      code: 'x/y',
      message: '',
      related: [],
      fixes: [],
    } as const;
    const { runs } = JSON.parse(renderSarif([finding, { ...finding, path: '/tmp/ü.rig' }], '0', [])) as {
      runs: {
        originalUriBaseIds: object;
        results: { locations: { physicalLocation: { artifactLocation: object } }[] }[];
      }[];
    };
    const places = runs[0]!.results.map((r) => r.locations[0]!.physicalLocation.artifactLocation);
    expect(places).toEqual([
      { uri: 'a%20b/%231%3F%25.rig', uriBaseId: 'WORKING_FOLDER' },
      { uri: 'file:///tmp/%C3%BC.rig' },
    ]);
    expect(runs[0]!.originalUriBaseIds).toHaveProperty('WORKING_FOLDER');
  });
});
