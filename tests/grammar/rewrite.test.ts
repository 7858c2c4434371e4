/** Properties stated in blocks of every layout: the text parses afterwards, says what was stated, and keeps all comments. */
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { Statement } from '../../grammar/src/ast';
import { quantityText } from '../../grammar/src/quantity-text';
import {
  asOperand,
  expressionSpan,
  hasProperties,
  inverse,
  setProperties,
  statementAt,
  type Stated,
} from '../../grammar/src/rewrite';

const itemOf = (text: string): Statement => {
  const rig = parse(text).tree.statements[0]!;
  if (rig.kind !== 'rig') throw new Error('no rig');
  return rig.body[0]!;
};

function stated(item: string, properties: readonly Stated[], newline = '\n'): string {
  const text = `rig r {\n  ${item}\n  switch s = on\n}\n`.replaceAll('\n', newline);
  const statement = itemOf(text);
  if (!hasProperties(statement)) throw new Error('no properties');
  const edits = setProperties(text, statement, properties) ?? [];
  return [...edits]
    .sort((a, b) => b.span.start - a.span.start)
    .reduce((now, { span, text: by }) => now.slice(0, span.start) + by + now.slice(span.end), text);
}
const lines = (text: string): string[] => text.split('\n').slice(1, -3);

describe('setProperties', () => {
  it.each([
    ['door d', '  door d { rest open }'],
    ['door d # the gate', '  door d { rest open } # the gate'],
    ['door d { }', '  door d { rest open }'],
    ['door d {}', '  door d { rest open }'],
    ['door d { travel 300 ms }', '  door d { travel 300 ms  rest open }'],
    ['door d { travel 300 ms}', '  door d { travel 300 ms  rest open }'],
    ['door d { rest closed  travel 300 ms }', '  door d { rest open  travel 300 ms }'],
  ])('%s', (before, after) => expect(lines(stated(before, [['rest', 'open']]))).toEqual([after]));

  it('uses a line of its own where the block has lines, after a comment', () =>
    expect(lines(stated('door d {\n      travel 300 ms # slow\n    # {\n  }', [['rest', 'open']]))).toEqual([
      '  door d {',
      '      travel 300 ms # slow',
      '    # {',
      '      rest open',
      '  }',
    ]));

  it('adds several at once, also without a block', () => {
    const two: Stated[] = [
      ['opens_in', '250 ms'],
      ['closes_in', '310 ms'],
    ];
    expect(lines(stated('door d', two))).toEqual(['  door d { opens_in 250 ms  closes_in 310 ms }']);
    expect(lines(stated('door d { closes_in 1 s }', two))).toEqual(['  door d { closes_in 310 ms  opens_in 250 ms }']);
  });

  it('leaves a block alone that the text does not close', () => {
    const text = 'rig r {\n  door d { travel 300 ms\n';
    const statement = itemOf(text);
    expect(hasProperties(statement) && setProperties(text, statement, [['rest', 'open']])).toBeNull();
  });

  const property = fc.constantFrom('pocket 250 L', 'travel 300 ms', 'bore 80 mm', 'rest closed', 'power moving 300 W');
  const between = fc.constantFrom('  ', '\n    ', ' # note }\n    ', '\n\n\t', ' # {\n', '\n  # alone\n  ');
  const layout = fc.tuple(
    fc.uniqueArray(property, { maxLength: 4 }),
    fc.array(between, { minLength: 6, maxLength: 6 }),
    fc.constantFrom('\n', '\r\n'),
  );

  it('in any layout: no new mistake, said once, comments kept', () =>
    fc.assert(
      fc.property(layout, ([properties, gaps, newline]) => {
        const block = gaps[5]! + properties.map((p, i) => p + gaps[i]!).join('');
        const item = `door d {${block}}`;
        const before = `rig r {\n  ${item}\n}\n`.replaceAll('\n', newline);
        const after = stated(
          item,
          [
            ['rest', 'open'],
            ['discharge', '0.7'],
          ],
          newline,
        );
        const { problems, tokens } = parse(after);
        expect(problems.map((p) => p.message)).toEqual([]);
        const comments = (list: ReturnType<typeof parse>['tokens']) => list.filter((t) => t.kind === 'comment').length;
        expect(comments(tokens)).toBe(comments(parse(before).tokens));
        const door = itemOf(after);
        const said = hasProperties(door) ? door.properties.map((p) => p.keyword.text) : [];
        expect(said.filter((k) => k === 'rest')).toEqual(['rest']);
        expect(said.filter((k) => k === 'discharge')).toEqual(['discharge']);
        expect(said).toHaveLength(new Set([...properties.map((p) => p.split(' ')[0]), 'rest', 'discharge']).size);
      }),
      { numRuns: Number(process.env['REWRITE_RUNS'] ?? 300) },
    ));
});

describe('statementAt', () => {
  it('finds statements in rigs and parts by their exact place', () => {
    const text = 'part p(a) {\n  door d { travel 1 s }\n}\n';
    const start = text.indexOf('door');
    expect(statementAt(parse(text).tree, { start, end: start + 'door d { travel 1 s }'.length })?.kind).toBe('door');
    expect(statementAt(parse(text).tree, { start, end: start + 3 })).toBeNull();
  });
});

describe('expressions of statements', () => {
  const written = (statement: string): string | null => {
    const text = `rig r {\n  ${statement}\n}\n`;
    const [rig] = parse(text).tree.statements;
    const inner = rig?.kind === 'rig' ? rig.body[0]! : null;
    const span = expressionSpan(text, inner);
    return span && text.slice(span.start, span.end);
  };

  it.each([
    ['drive a = b', 'b'],
    ['drive a = (b or c)', '(b or c)'],
    ['signal s = (a) or (b)', '(a) or (b)'],
    ['signal s = TON(a, 1 s) responds 80 ms', 'TON(a, 1 s)'],
    ['signal s = (a and b)  responds (40 ms + 40 ms)', '(a and b)'],
    ['let wait = 1.5 min in 1 min .. 2 min', '1.5 min'],
    ['let wait = (1 s)', '(1 s)'],
    ['drive a =', null],
    ['door a', null],
  ])('%s', (statement, expected) => expect(written(statement)).toBe(expected));

  it.each([
    ['a', 'a', 'a', 'a'],
    ['west.a', 'west.a', 'west.a', 'west.a'],
    ['TON(a, 1 s)', 'TON(a, 1 s)', 'TON(a, 1 s)', 'TON(a, 1 s)'],
    ['not a', '(not a)', 'not a', 'not a'],
    ['a and b', '(a and b)', 'a and b', '(a and b)'],
    ['a or b', '(a or b)', '(a or b)', 'a or b'],
    ['a xor b', '(a xor b)', '(a xor b)', '(a xor b)'],
    ['a and', '(a and)', '(a and)', '(a and)'],
  ])('%s as an operand of not, and, or', (text, not, and, or) => {
    expect([asOperand(text, 'not'), asOperand(text, 'and'), asOperand(text, 'or')]).toEqual([not, and, or]);
  });

  it.each([
    ['a', 'not a'],
    ['not a', 'a'],
    ['not (a or b)', 'not (not (a or b))'],
    ['(not a)', 'a'],
    ['a and b', 'not (a and b)'],
  ])('the inverse of %s', (text, expected) => expect(inverse(text)).toBe(expected));
});

describe('literals as they are written', () => {
  it.each([
    ['1.8 s', ['1.8', ' ', 's', 0, 5]],
    ['-20 degC', ['-20', ' ', 'degC', 0, 8]],
    ['1.8 s +- 5 %', ['1.8', ' ', 's', 0, 5]],
    ['5bar', ['5', '', 'bar', 0, 4]],
    ['2 * 1.8 s', null],
    ['settle', null],
  ])('%s', (text, expected) => {
    const found = quantityText(text);
    expect(found && [found.number, found.blank, found.unit, found.span.start, found.span.end]).toEqual(expected);
  });
});
