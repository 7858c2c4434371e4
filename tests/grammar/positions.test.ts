import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { Statement } from '../../grammar/src/ast';
import { shapeOf } from './support';

const TEXT = [
  '# 🚪 gate 門',
  'rig r\u00e9servoir "T\u{1F6AA}r" {',
  '  door 門 { travel 1 s } # \u{1F600} first',
  '  signal caf\u0065\u0301 = TON(門_\u0661, 2 µs)',
  '  drive 門 = caf\u0065\u0301',
  '}',
  '',
].join('\n');

const bodyOf = (text: string): readonly Statement[] => {
  const { tree, problems } = parse(text);
  expect(problems).toEqual([]);
  const rig = tree.statements[0]!;
  return rig.kind === 'rig' ? rig.body : [];
};

describe('positions', () => {
  it('count UTF-16 units, so that slices of the text are the names as written', () => {
    const body = bodyOf(TEXT);
    const slice = (span: { start: number; end: number }) => TEXT.slice(span.start, span.end);
    const [door, signal, drive] = body;
    expect(door!.kind === 'door' && slice(door.name.span)).toBe('門');
    expect(signal!.kind === 'signal' && slice(signal.value.span)).toBe('TON(門_\u0661, 2 µs)');
    expect(drive!.kind === 'drive' && slice(drive.value.span)).toBe('cafe\u0301');
    expect(slice(door!.span)).toBe('door 門 { travel 1 s }');
    expect(slice(door!.keywordSpan)).toBe('door');
  });

  it('names are normalised, so that composed and combining spellings are one name', () => {
    const [, signal, drive] = bodyOf(TEXT);
    expect(signal!.kind === 'signal' && signal.name.text).toBe('caf\u00e9');
    expect(drive!.kind === 'drive' && shapeOf(drive.value)).toBe('caf\u00e9');
  });

  it('astral letters are names, emoji are none', () => {
    const { problems } = parse('rig r { signal \u{1D4B6}\u{20000} = b\n signal c = 🚪 }');
    expect(problems.map((p) => [p.code, p.span.end - p.span.start])).toEqual([['syntax/character', 2]]);
  });

  it.each([
    ['CRLF', '\r\n'],
    ['CR', '\r'],
  ])('%s reads as LF does', (_, end) => {
    const text = TEXT.replaceAll('\n', end);
    const kinds = (t: string) => bodyOf(t).map((s) => [s.kind, t.slice(s.span.start, s.span.end)]);
    expect(kinds(text)).toEqual(kinds(TEXT));
  });

  it('mixed line ends, a byte order mark and odd blanks', () => {
    const text = '\uFEFFrig r {\r\n\tlet a\u00a0= 1 s\n  let b\u3000= 2 s\r  let c = a\r\n}';
    expect(bodyOf(text).map((s) => s.kind === 'let' && shapeOf(s.value))).toEqual(['1[s]', '2[s]', 'a']);
  });
});

describe('tokens', () => {
  it('cover every character but blanks exactly once, in order', () => {
    const { tokens } = parse(TEXT);
    let at = 0;
    for (const token of tokens) {
      expect(TEXT.slice(at, token.span.start)).toMatch(/^[^\S\n]*$/);
      expect(TEXT.slice(token.span.start, token.span.end)).toBe(token.text);
      at = token.span.end;
    }
    expect(at).toBe(TEXT.length);
  });

  it('have the kind of their role', () => {
    const kinds = (text: string) =>
      parse(text)
        .tokens.filter((t) => t.kind !== 'newline')
        .map((t) => `${t.text}:${t.kind}`)
        .join(' ');
    expect(kinds('rig r { door on_level { rest open travel 2 % } # x\n}')).toBe(
      'rig:keyword r:name {:bracket door:keyword on_level:name {:bracket rest:property open:word travel:property ' +
        '2:number %:unit }:bracket # x:comment }:bracket',
    );
    expect(kinds('rig r { signal a = TON(not b, 1 s) responds 0 s }')).toBe(
      'rig:keyword r:name {:bracket signal:keyword a:name =:operator TON:function (:bracket not:operator b:name ' +
        ',:separator 1:number s:unit ):bracket responds:word 0:number s:unit }:bracket',
    );
    expect(kinds('rig r { scenario s { at 0 s feed x on\n for 1 h } }')).toBe(
      'rig:keyword r:name {:bracket scenario:keyword s:name {:bracket at:word 0:number s:unit feed:word x:name on:word ' +
        'for:word 1:number h:unit }:bracket }:bracket',
    );
  });
});

describe('documentation', () => {
  it('is the comments directly above and at the end of the first line', () => {
    const [first, second, third] = bodyOf(
      'rig r {\n# not this\n\n  # Lets the\n  ## gas in.\n  door a { # wide\n    travel 1 s # no\n  }\n  door b { }\n  let c = 1 # last\n}',
    );
    expect(first!.documentation).toBe('Lets the\ngas in.\nwide');
    expect(second!.documentation).toBe('');
    expect(third!.documentation).toBe('last');
  });

  it('is no comment of the line above and no folding mark', () => {
    const [a, b] = bodyOf('rig r {\n  let a = 1 # one\n  # region timers\n  let b = 2\n}');
    expect(a!.documentation).toBe('one');
    expect(b!.documentation).toBe('');
  });
});
