import { describe, expect, it } from 'vitest';
import { parseExpression } from '../../grammar/src/api';
import { expressionShape } from './support';

describe('expressions', () => {
  it.each([
    // Boolean order of IEC 61131-3 structured text: NOT, AND, XOR, OR.
    ['a or b xor c and d', '(a or (b xor (c and d)))'],
    ['a and b xor c or d', '(((a and b) xor c) or d)'],
    ['not a and b', '((not a) and b)'],
    ['a or b or c', '((a or b) or c)'],
    ['1 - 2 - 3', '((1 - 2) - 3)'],
    ['1 + 2 * 3 - 4 / 5', '((1 + (2 * 3)) - (4 / 5))'],
    ['(1 + 2) * 3', '((1 + 2) * 3)'],
    ['-a * b', '((- a) * b)'],
    ['not not a', '(not (not a))'],
    ['a > 1 and b <= 2', '((a > 1) and (b <= 2))'],
    ['2 s + 1 s +- 10 ms', '((2[s] + 1[s]) +- 10[ms])'],
    ['1 s ± 2 %', '(1[s] +- 2[%])'],
    ['50 ms .. 400 ms + t', '(50[ms] .. (400[ms] + t))'],
    ['1..2', '(1 .. 2)'],
    ['TOF(TON(a and b, 2 s), t)', 'TOF(TON((a and b), 2[s]), t)'],
    ['f()', 'f()'],
    ['gate.upper opens', 'gate.upper!opens'],
    ['on', 'on'],
    ['5ms', '5[ms]'],
    ['6 m3', '6[m3]'],
    ['1.5 kg/m3', '1.5[kg/m3]'],
    ['2.0 °C', '2.0[°C]'],
    ['3 µs', '3[µs]'],
    ['3 W/m²', '3[W/m²]'],
    ['3 kg/m^3', '3[kg/m^3]'],
    ['5 / t', '(5 / t)'],
    ['007.50', '007.50'],
  ])('%s', (text, shape) => expect(expressionShape(text)).toBe(shape));

  it('goes on over line ends inside parentheses, after an operator and before one', () => {
    expect(expressionShape('f(a,\n\n  b\n)')).toBe('f(a, b)');
    expect(expressionShape('a and\n # why\n b')).toBe('(a and b)');
    expect(expressionShape('a\n  or b')).toBe('(a or b)');
  });

  it('keeps the digits and spans of a quantity', () => {
    const { expression } = parseExpression(' 1.50  kg/s ');
    expect(expression).toEqual({
      kind: 'quantity',
      number: '1.50',
      numberSpan: { start: 1, end: 5 },
      unit: { text: 'kg/s', span: { start: 7, end: 11 } },
      span: { start: 1, end: 11 },
    });
  });

  it('reports what follows an expression', () => {
    const { expression, problems } = parseExpression('a b');
    expect(expression.kind).toBe('reference');
    expect(problems.map((p) => p.message)).toEqual(['Expected the end of the expression after a, not b.']);
  });

  it('gives a missing expression for an empty text', () => {
    const { expression, problems } = parseExpression('');
    expect(expression.kind).toBe('missing');
    expect(problems).toHaveLength(1);
  });
});
