import { describe, expect, it } from 'vitest';
import { cursorFixture, dedent, rangeFixture, withCarets, withoutCarets } from '../support/fixture';

describe('fixture markers', () => {
  it('cursor', () => {
    expect(cursorFixture('a <|>b')).toEqual({ text: 'a b', offset: 2 });
    expect(() => cursorFixture('a')).toThrow();
    expect(() => cursorFixture('<|><|>')).toThrow();
  });

  it('ranges', () => {
    expect(rangeFixture('a <|b|> <|c|>')).toEqual({
      text: 'a b c',
      ranges: [
        { start: 2, end: 3 },
        { start: 4, end: 5 },
      ],
    });
    expect(() => rangeFixture('a <|b')).toThrow();
    expect(() => rangeFixture('a |>b')).toThrow();
  });

  it('carets, there and back', () => {
    const fixture = 'one two\n    ^^^ bad\n| empty\nthree';
    const text = withoutCarets(fixture);
    expect(text).toBe('one two\nthree');
    const problems = [
      { span: { start: 4, end: 7 }, note: 'bad' },
      { span: { start: 0, end: 0 }, note: 'empty' },
    ];
    expect(withCarets(text, problems)).toBe(fixture);
  });

  it('a place over several lines is marked on its first', () => {
    expect(withCarets('ab\ncd', [{ span: { start: 1, end: 5 }, note: 'x' }])).toBe('ab\n ^ x\ncd');
  });

  it('dedent', () => {
    expect(dedent('\n    a\n      b\n\n    c\n  ')).toBe('a\n  b\n\nc');
  });
});
