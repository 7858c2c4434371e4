/** The one way by which text is changed: applied whole, or refused with nothing changed. */
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseExpression } from '../../grammar/src/api';
import { applyEdits } from '../../server/core/document/apply-edits';
import { createDocument } from '../../server/core/document/document';
import type { TextEdit } from '../../server/core/model/problem';

const URI = 'file:///yard/pump.rig';
const TEXT = `let settle = 1.8 s
rig r {
  chamber a { volume 1 m3 }
  chamber b { volume 2 m3 }
  door d { travel 300 ms }
  stack a > d > b
  switch s = off
  drive d = TON(s, settle)
}
`;
const read = (texts: Readonly<Record<string, string>>) => (uri: string) => texts[uri];
const change = (old: string, text: string, uri = URI, within = TEXT): TextEdit => {
  const start = within.indexOf(old);
  if (start < 0) throw new Error(`no ${old}`);
  return { at: { uri, start, end: start + old.length }, text };
};
const applied = (...edits: TextEdit[]) => applyEdits(edits, read({ [URI]: TEXT }));
const insert = (start: number, text: string): TextEdit => ({ at: { uri: URI, start, end: start }, text });

describe('applyEdits', () => {
  it('applies edits in any order', () => {
    const result = applied(change('300 ms', '250 ms'), change('1.8 s', '2 s'));
    expect(result.ok && result.texts.get(URI)).toBe(TEXT.replace('300 ms', '250 ms').replace('1.8 s', '2 s'));
  });

  it('puts insertions at one place in the order given', () => {
    const end = TEXT.indexOf('\n}') + 1;
    const result = applied(insert(end, '  switch t = on\n'), insert(end, '  switch u = on\n'));
    expect(result.ok && result.texts.get(URI)).toContain('switch t = on\n  switch u = on\n}');
  });

  it('puts an insertion before what is changed at its place, whichever comes first', () => {
    const [value, note] = [change('300 ms', '250 ms'), insert(TEXT.indexOf('300 ms'), ' ')];
    for (const edits of [
      [value, note],
      [note, value],
    ]) {
      const result = applied(...edits);
      expect(result.ok && result.texts.get(URI)).toBe(TEXT.replace('300 ms', ' 250 ms'));
    }
  });

  it('takes the same edit once', () => {
    const result = applied(change('300 ms', '250 ms'), change('300 ms', '250 ms'));
    expect(result.ok && result.texts.get(URI)).toBe(TEXT.replace('300 ms', '250 ms'));
  });

  it.each([
    ['two values for one place', [change('300 ms', '250 ms'), change('300 ms', '260 ms')], 'same place'],
    ['an edit inside another', [change('travel 300 ms', 'travel 1 s'), change('300', '250')], 'same place'],
    ['a place outside the text', [insert(TEXT.length + 1, 'x')], 'outside the text'],
    ['a mistake of form', [change('300 ms', '250 ms }')], 'new error'],
    ['an overwritten name', [change('door d', 'door 620 ms')], 'new error'],
    ['an unknown name', [change('drive d', 'drive e')], 'new error'],
    ['a wrong unit', [change('300 ms', '3 bar')], 'new error'],
    ['a removed declaration', [change('let settle = 1.8 s', '')], 'new error'],
    ['a file that is not known', [change('300 ms', '1 s', 'file:///yard/none.rig')], 'not known'],
  ])('refuses %s', (_, edits, why) => {
    const result = applied(...edits);
    expect(result).toMatchObject({ ok: false });
    expect(!result.ok && result.reason).toContain(why);
    expect(!result.ok && result.reason).toMatch(/^Nothing is changed, because [^.]/);
  });

  it('lets errors be that were there before, wherever they move to', () => {
    const broken = TEXT.replace('drive d = TON(s, settle)', 'drive d = TON(t, settle)');
    const result = applyEdits(
      [change('let settle = 1.8 s', '# why\nlet settle = 1.95 s', URI, broken), change('TON(t', 'TON( t', URI, broken)],
      read({ [URI]: broken }),
    );
    expect(result.ok).toBe(true);
  });

  it('lets an error be that has no length, at the end of the text', () => {
    const open = TEXT.slice(0, TEXT.lastIndexOf('}'));
    expect(applyEdits([change('300 ms', '250 ms', URI, open)], read({ [URI]: open })).ok).toBe(true);
    // A value from outside for no constant: an error at the start, without length.
    const overrides = new Map([['nothing', parseExpression('2 s').expression]]);
    expect(applyEdits([change('300 ms', '250 ms')], read({ [URI]: TEXT }), { overrides }).ok).toBe(true);
  });

  it.each([
    ['of the same code at another place', [change('TON(s', 'TON(s'), change('drive d', 'drive e')]],
    ['of the same code before it', [change('TON(s', 'TON(s'), change('a > d', 'q > d')]],
    ['of another code at its place', [change('TON(s', 'TON(3 bar')]],
  ])('takes an error %s for a new one', (_, edits) => {
    const broken = TEXT.replace('TON(s', 'TON(t');
    // As long as the sound text: places are the same.
    expect(applyEdits(edits, read({ [URI]: broken }))).toMatchObject({ ok: false });
  });

  it('takes an error in another file for a new one, whatever stands at its place in the changed one', () => {
    const user = 'file:///yard/user.rig';
    const broken = TEXT.replace('1.8 s', '1.8 s + nothing');
    // As far from the start of its text as the error of the imported file.
    const uses = 'import "pump.rig"\nlet own = settle\n';
    const texts = { [URI]: broken, [user]: uses };
    const gone = [change('let settle', 'let calm', URI, broken), change('s, settle', 's, calm', URI, broken)];
    expect(applyEdits(gone, read(texts), { users: [user] })).toMatchObject({ ok: false });
  });

  it('looks at files that import the changed one', () => {
    const user = 'file:///yard/user.rig';
    const texts = {
      [URI]: TEXT,
      [user]: 'import "pump.rig"\nrig q {\n  switch s = off\n  signal x = TON(s, settle)\n}\n',
    };
    const renamed = [change('let settle', 'let calm'), change('s, settle', 's, calm')];
    expect(applyEdits(renamed, read(texts)).ok).toBe(true);
    expect(applyEdits(renamed, read(texts), { users: [user] })).toMatchObject({ ok: false });
  });

  it('whatever the edits: refused, or a text without an error', () =>
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(TEXT.length), fc.nat(12), fc.constantFrom('', ' ', 'x', '1 s', '}', '# ', '\n')), {
          maxLength: 3,
        }),
        (raw) => {
          const edits = raw.map(([start, length, text]) => ({
            at: { uri: URI, start, end: Math.min(TEXT.length, start + length) },
            text,
          }));
          const result = applied(...edits);
          if (!result.ok) return;
          const text = result.texts.get(URI) ?? TEXT;
          const document = createDocument({ uri: URI, version: 0, text }, () => undefined);
          expect(document.parsed().problems).toEqual([]);
          expect(document.resolved().problems.filter((p) => p.severity === 'error')).toEqual([]);
        },
      ),
      { numRuns: 200 },
    ));
});
