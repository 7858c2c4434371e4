/** The lexer knows no units, but must take every spelling of the unit table as one. */
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { lexText } from '../../grammar/src/lexer';
import { UNITS } from '../../server/core/units/table';

describe('units', () => {
  const spellings = UNITS.flatMap((unit) => [unit.name, ...(unit.aliases ?? [])]).filter((name) => name !== '');

  it('are many', () => expect(spellings.length).toBeGreaterThan(40));

  it.each(spellings)('5 %s, with and without a blank', (spelling) => {
    for (const text of [`5 ${spelling}`, `5${spelling}`, `5 ${spelling} x 6`]) {
      expect(
        lexText(text)
          .tokens.slice(0, 2)
          .map((t) => `${t.image} ${t.kind}`),
      ).toEqual(['5 number', `${spelling} unit`]);
    }
  });

  it.each([
    ['let n = 3 in 1 .. 5', 'word'],
    ['let n = 3 in low .. 5', 'word'],
    ['let bore = 12 in in 10 in .. 14 in', 'unit'],
    ['door a { bore 12 in  travel 300 ms }', 'unit'],
    ['require repeat() >= 3 in', 'unit'],
  ])('in of %s', (text, kind) => {
    const token = parse(`rig r {\n${text}\n}`).tokens.find((t) => t.text === 'in')!;
    expect(token.kind).toBe(kind);
  });
});
