/** Definition, references, highlights, rename, call hierarchy. */
import { describe, expect, it } from 'vitest';
import { causesOf, effectsOf, prepareHierarchy } from '../../server/core/features/call-hierarchy';
import { definitionAt } from '../../server/core/features/definition';
import { documentLinks } from '../../server/core/features/document-links';
import { highlightsAt, referencesAt } from '../../server/core/features/references';
import { isName, prepareRename, renameAt } from '../../server/core/features/rename';
import { atCursor, documentOf, LIFT, otherDocument, URI, withEdits } from './support';

const offsetOf = (text: string, part: string, inside = 0): number => text.indexOf(part) + inside;

describe('definition', () => {
  it('leads from a use to the name in its statement', () => {
    const document = documentOf(LIFT);
    const found = definitionAt(document, offsetOf(LIFT, 'drive inlet', 8))!;
    expect(LIFT.slice(found.name.start, found.name.end)).toBe('inlet');
    expect(LIFT.slice(found.whole.start, found.whole.end)).toBe('door inlet { pocket 60 L  travel 400 ms }');
    expect(found.origin).toEqual({ ...found.origin, start: offsetOf(LIFT, 'drive inlet', 6) });
  });

  it('finds a name when the cursor is right after it', () => {
    const { document, offset } = atCursor(LIFT.replace('drive inlet ', 'drive inlet<|> '));
    expect(definitionAt(document, offset)).not.toBeNull();
  });

  it('leads into an imported file, and from the path to the file', () => {
    const files = { 'times.rig': 'let dwell = 2 s\n' };
    const text = `import "times.rig"\n${LIFT.replace('  let dwell = 2 s\n', '')}`;
    const document = documentOf(text, files);
    expect(definitionAt(document, offsetOf(text, 'start, dwell', 8))!.name).toEqual({
      uri: 'file:///rigs/times.rig',
      start: 4,
      end: 9,
    });
    expect(definitionAt(document, offsetOf(text, '"times.rig', 3))!.name.uri).toBe('file:///rigs/times.rig');
    expect(documentLinks(document)).toEqual([{ start: 7, end: 18, target: 'file:///rigs/times.rig' }]);
  });

  it('knows nothing of keywords, numbers and blanks', () => {
    const document = documentOf(LIFT);
    for (const part of ['door inlet', '400 ms', '> outlet']) {
      expect(definitionAt(document, offsetOf(LIFT, part, part === '> outlet' ? 0 : 1))).toBeNull();
    }
  });
});

describe('references and highlights', () => {
  it('are all places of a name, each once', () => {
    const document = documentOf(LIFT);
    const places = referencesAt(document, offsetOf(LIFT, 'door inlet', 6), []);
    // declaration, stack, drive, overlap
    expect(places.map((p) => p.role)).toEqual(['declaration', 'read', 'write', 'read']);
  });

  it('tell reading from writing', () => {
    const document = documentOf(LIFT);
    const kinds = highlightsAt(document, offsetOf(LIFT, 'signal inlet_on', 8)).map((h) => h.kind);
    expect(kinds).toEqual(['write', 'read', 'read', 'read']);
  });

  it('reach over imports, whichever file is asked', () => {
    const files = {
      'times.rig': 'let dwell = 2 s\n',
      'test.rig': `import "times.rig"\n${LIFT.replace('  let dwell = 2 s\n', '')}`,
    };
    const times = otherDocument('times.rig', files);
    const main = documentOf(files['test.rig'], files);
    const uris = referencesAt(times, 5, [main]).map((o) => o.at.uri);
    expect(uris).toEqual([URI, 'file:///rigs/times.rig']);
    expect(referencesAt(main, files['test.rig'].indexOf('start, dwell') + 8, [times])).toHaveLength(2);
  });
});

describe('rename', () => {
  const rename = (name: string): ReturnType<typeof renameAt> => {
    const document = documentOf(LIFT);
    return renameAt(document, offsetOf(LIFT, 'door inlet', 6), name, []);
  };

  it('changes every place and nothing else', () => {
    const result = rename('upper');
    if (!result.ok) throw new Error(result.reason);
    const text = withEdits(
      LIFT,
      result.edits.map((e) => ({ ...e.at, text: e.text })),
    );
    expect(text).toBe(LIFT.replace(/\binlet\b/g, 'upper'));
    expect(
      documentOf(text)
        .problems()
        .filter((p) => p.severity === 'error'),
    ).toEqual([]);
  });

  it.each([
    ['outlet', '`outlet` is already the name of a door here.'],
    ['bin', '`bin` is already the name of a chamber here.'],
    ['and', '`and` cannot be a name.'],
    ['9lives', '`9lives` cannot be a name.'],
    ['two words', '`two words` cannot be a name.'],
    ['', '`` cannot be a name.'],
  ])('refuses %j', (name, reason) => expect(rename(name)).toEqual({ ok: false, reason }));

  it('takes names of any script and words that are no reserved ones', () => {
    expect([isName('Tür_1'), isName('дверь'), isName('level'), isName('on'), isName('a.b')]).toEqual([
      true,
      true,
      true,
      false,
      false,
    ]);
  });

  it.each([
    ['d<|>oor inlet', '`door` is a word of the language and cannot be renamed.'],
    ['tra<|>vel 400', '`travel` is a word of the language and cannot be renamed.'],
    ['40<|>0 ms', 'There is no name here.'],
  ])('refuses at %s', (marked, reason) => {
    const at = marked.replace('<|>', '');
    const { document, offset } = atCursor(LIFT.replace(at, marked));
    expect(prepareRename(document, offset)).toEqual({ ok: false, reason });
  });

  it('offers the name itself, not the dots around it', () => {
    const text = `rig r {
  chamber a { volume 1 m3 }
  chamber b { volume 1 m3 }
  part lock(speed) { door flap { pocket 10 L  travel speed } }
  place west = lock(1 s)
  stack a > west.flap > b
  switch go = off
  drive west.flap = go
}
`;
    const document = documentOf(text);
    const at = offsetOf(text, 'drive west.flap', 12);
    const place = prepareRename(document, at);
    expect(place).toMatchObject({ ok: true, placeholder: 'flap' });
    const result = renameAt(document, at, 'gate', []);
    if (!result.ok) throw new Error(result.reason);
    const after = withEdits(
      text,
      result.edits.map((e) => ({ ...e.at, text: e.text })),
    );
    expect(after).toBe(text.replace(/\bflap\b/g, 'gate'));
  });

  it('crosses imports in both directions', () => {
    const files = {
      'times.rig': 'let dwell = 2 s\n',
      'test.rig': `import "times.rig"\n${LIFT.replace('  let dwell = 2 s\n', '')}`,
    };
    const main = documentOf(files['test.rig'], files);
    const result = renameAt(otherDocument('times.rig', files), 5, 'pause', [main]);
    if (!result.ok) throw new Error(result.reason);
    expect(result.edits.map((e) => e.at.uri).sort()).toEqual([URI, 'file:///rigs/times.rig']);
  });
});

describe('cause and effect', () => {
  const document = documentOf(LIFT);
  const item = (name: string) => prepareHierarchy(document, offsetOf(LIFT, name) + name.length - 1)!;

  it('of a door are the signals that drive it', () => {
    expect(causesOf(document, item('door inlet').at).map((c) => c.item.name)).toEqual(['inlet_on']);
    expect(effectsOf(document, item('door inlet').at)).toEqual([]);
  });

  it('of a signal lead on, feedback included', () => {
    const start = item('signal start').at;
    expect(causesOf(document, start).map((c) => c.item.name)).toEqual(['run', 'full', 'hold']);
    expect(effectsOf(document, start).map((c) => c.item.name)).toEqual(['inlet_on']);
    const inlet = item('signal inlet_on').at;
    expect(effectsOf(document, inlet).map((c) => c.item.name)).toEqual(['outlet_on', 'hold', 'inlet']);
  });

  it('are not asked of a chamber', () =>
    expect(prepareHierarchy(document, offsetOf(LIFT, 'chamber bin', 9))).toBeNull());
});
