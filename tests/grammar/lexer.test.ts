import { describe, expect, it } from 'vitest';
import { lexText, plainNumber } from '../../grammar/src/lexer';

const images = (text: string) => lexText(text).tokens.map((t) => `${t.image}:${t.kind}`);

describe('lexer', () => {
  it('takes a unit only directly after a number, and no word of the language', () => {
    expect(images('6 m3')).toEqual(['6:number', 'm3:unit']);
    expect(images('6 above')).toEqual(['6:number', 'above:name']);
    expect(images('6\nm3')).toEqual(['6:number', '\n:newline', 'm3:name']);
    expect(images('a m3')).toEqual(['a:name', 'm3:name']);
    expect(images('6 kg / m3')).toEqual(['6:number', 'kg:unit', '/:operator', 'm3:name']);
    expect(images('6 kg/m3')).toEqual(['6:number', 'kg/m3:unit']);
  });

  it('takes a long word before another number as a mistyped property', () => {
    expect(images('0.6 boer 300 mm')).toEqual(['0.6:number', 'boer:name', '300:number', 'mm:unit']);
    expect(images('0.6 degC 300')).toEqual(['0.6:number', 'degC:name', '300:number']);
  });

  it('tells keywords from names that begin or end with them', () => {
    expect(images('notch on_level android xory')).toEqual(['notch:name', 'on_level:name', 'android:name', 'xory:name']);
  });

  it('tells dots in names, numbers and ranges', () => {
    expect(images('a.b..c')).toEqual(['a.b:name', '..:operator', 'c:name']);
    expect(images('1..2.5')).toEqual(['1:number', '..:operator', '2.5:number']);
    expect(images('a.')).toEqual(['a:name', '.:unknown']);
  });

  it('ends an unclosed text at the end of its line', () => {
    expect(images('"a # b\n"c"')).toEqual(['"a # b:string', '\n:newline', '"c":string']);
    expect(images('"a\\"b"')).toEqual(['"a\\"b":string']);
    expect(images('"a\\\nb')).toEqual(['"a\\:string', '\n:newline', 'b:name']);
  });
});

describe('plainNumber', () => {
  it.each([
    ['5', '5'],
    ['1_000', '1000'],
    ['.5', '0.5'],
    ['5.', '5'],
    ['1e3', '1000'],
    ['1.25e1', '12.5'],
    ['12.5e-3', '0.0125'],
    ['1E+2', '100'],
    ['100e-2', '1'],
  ])('%s is %s', (image, plain) => expect(plainNumber(image)).toBe(plain));
});
