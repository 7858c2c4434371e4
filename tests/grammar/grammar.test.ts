/** The definitions themselves: what `skipValidations` leaves out at run time is checked here. */
import { Lexer } from 'chevrotain';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { RigParser } from '../../grammar/src/parser';
import { SYNTAX_CODES } from '../../grammar/src/syntax-codes';
import { LEXED, WORD_TYPES } from '../../grammar/src/tokens';
import { EVENT_WORDS, FUNCTIONS, PROPERTIES, RESERVED_WORDS, STATEMENTS } from '../../grammar/src/vocabulary';

describe('grammar', () => {
  it('passes the parser library’s own validations', () => {
    expect(() => new RigParser(false)).not.toThrow();
  });

  it('passes the lexer library’s own validations, with the first-character table', () => {
    const lexer = new Lexer([...LEXED], { positionTracking: 'onlyOffset', ensureOptimizations: true });
    expect(lexer.lexerDefinitionErrors).toEqual([]);
  });

  it('has a token type for every reserved word', () => {
    for (const word of RESERVED_WORDS)
      expect(WORD_TYPES.get(word)?.CATEGORIES?.map((c) => c.name)).toContain('Reserved');
  });

  it('takes every word of the vocabulary as a name, but the reserved ones', () => {
    const words = [
      ...STATEMENTS.map((s) => s.keyword),
      ...Object.values(PROPERTIES).flatMap((list) => list.flatMap((p) => [p.keyword, ...p.words])),
      ...EVENT_WORDS,
      ...FUNCTIONS.map((f) => f.name),
    ];
    for (const word of new Set(words)) {
      const text = `rig r { door ${word} { travel 1 s }\n signal ${word} = ${word} and ${word}\n drive ${word} = ${word} }`;
      expect(parse(text).problems, word).toEqual([]);
    }
    for (const word of RESERVED_WORDS) {
      expect(
        parse(`rig r { door ${word} { travel 1 s } }`).problems.map((p) => p.code),
        word,
      ).toEqual(['syntax/name']);
    }
  });

  it('takes every property of every statement, in one line and one a line', () => {
    const heads: Record<string, string> = {
      medium: 'medium m gas',
      chamber: 'chamber c',
      door: 'door d',
      stack: 'stack a > d > b',
      feed: 'feed f into c',
      draw: 'draw w from c',
      supply: 'supply',
      atmosphere: 'atmosphere',
      controller: 'controller',
      switch: 'switch s = on',
      sensor: 'sensor n on c',
    };
    expect(Object.keys(heads).sort()).toEqual(Object.keys(PROPERTIES).sort());
    for (const [keyword, specs] of Object.entries(PROPERTIES)) {
      const parts = specs.map((p) =>
        [
          p.keyword,
          ...p.words.slice(0, 1),
          ...(p.names ? ['c, e'] : []),
          ...(p.pairs ? ['1 y 2 x, 3 y 1 x'] : p.dimensions.length > 0 ? ['2 x'] : []),
        ].join(' '),
      );
      for (const between of [' ', '\n']) {
        const { tree, problems } = parse(`rig r { ${heads[keyword]} { ${parts.join(between)} } }`);
        expect(problems).toEqual([]);
        const rig = tree.statements[0]!;
        const statement = rig.kind === 'rig' ? rig.body[0]! : rig;
        expect('properties' in statement && statement.properties.map((p) => p.keyword.text)).toEqual(
          specs.map((p) => p.keyword),
        );
      }
    }
  });

  it('has each syntax code once, all in the group', () => {
    const codes = SYNTAX_CODES.map((c) => c.code);
    expect(new Set(codes).size).toBe(codes.length);
    for (const code of codes) expect(code).toMatch(/^syntax\/[a-z-]+$/);
  });
});

describe('lines', () => {
  const problems = (text: string) => parse(text).problems;

  it('a statement goes on inside parentheses, after and before an operator, after = and ,', () => {
    const text = [
      'rig r {',
      '  signal a =',
      '    b',
      '    and c',
      '  stack x >',
      '    y > # why',
      '    z',
      '    > w',
      '  require order(',
      '    y opens,',
      '',
      '    z opens',
      '  )',
      '  require gap(y, z)',
      '    >= 5 ms',
      '}',
    ].join('\n');
    expect(problems(text)).toEqual([]);
    const rig = parse(text).tree.statements[0]!;
    expect(rig.kind === 'rig' && rig.body.map((s) => s.kind)).toEqual(['signal', 'stack', 'require', 'require']);
  });

  it('an operator at the end of a line does not swallow the next statement', () => {
    const rig = parse('rig r {\n  signal a = b and\n  drive x = a\n}').tree.statements[0]!;
    expect(rig.kind === 'rig' && rig.body.map((s) => s.kind)).toEqual(['signal', 'drive']);
  });

  it('a statement with the name of a statement may go on', () => {
    expect(problems('rig r {\n  signal a = b and\n  feed\n  signal c = order(a,\n  door opens)\n}')).toEqual([]);
  });

  it('braces may stand on a line of their own', () => {
    expect(problems('rig r\n{\n  door d\n  {\n    travel 1 s\n  }\n}')).toEqual([]);
  });

  it('a whole rig may stand on one line', () => {
    expect(problems('rig r { chamber a { volume 1 m3 } door d { travel 1 s } stack a > d > a }')).toEqual([]);
  });
});
