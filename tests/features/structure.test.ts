/** Outline, workspace names, folds, selections, colours, formatting, quick fixes, requirements as tests. */
import { describe, expect, it } from 'vitest';
import { fixAllWork, quickFixes, quickFixesWork } from '../../server/core/features/code-actions';
import { foldsOf } from '../../server/core/features/folding';
import { finish } from '../../server/core/work/work';
import { formatDocument, formatRange } from '../../server/core/features/format';
import { selectionRanges } from '../../server/core/features/selection-ranges';
import { semanticTokens } from '../../server/core/features/semantic-tokens';
import type { OutlineEntry } from '../../server/core/features/symbols';
import { declaredNames, matchesName, outline } from '../../server/core/features/symbols';
import { testGroups } from '../../server/core/features/test-items';
import { TOKEN_TYPES } from '../../server/protocol/messages';
import { atCursor, documentOf, LIFT, withEdits } from './support';

describe('outline', () => {
  it('lists a rig with its items and their windows', () => {
    const [rig] = outline(documentOf(LIFT));
    expect(rig).toMatchObject({ name: 'grain_lift', kind: 'rig', detail: 'Grain lift' });
    const children = rig!.children.map((c) => [c.kind, c.name, c.detail]);
    expect(children).toContainEqual(['let', 'dwell', '2 s']);
    expect(children).toContainEqual(['door', 'outlet', '1.2 s – 5.6 s']);
    expect(children).toContainEqual(['signal', 'start', '50 ms – 200 ms']);
    expect(children).toContainEqual(['stack', 'hopper > inlet > outlet > bin', '']);
  });

  it('keeps names inside their statements, also where they are missing', () => {
    for (let cut = 0; cut < LIFT.length; cut += 11) {
      const check = (entries: readonly OutlineEntry[]): void => {
        for (const e of entries) {
          expect(e.nameAt.start).toBeGreaterThanOrEqual(e.whole.start);
          expect(e.nameAt.end).toBeLessThanOrEqual(e.whole.end);
          expect(e.name).not.toBe('');
          check(e.children);
        }
      };
      check(outline(documentOf(LIFT.slice(0, cut))));
    }
  });

  it('names of the workspace are found by their letters in order', () => {
    const names = (query: string) =>
      declaredNames('file:///lift.rig', documentOf(LIFT).parsed().tree)
        .filter((n) => matchesName(n.name, query))
        .map((n) => n.name);
    expect(names('OUT')).toEqual(expect.arrayContaining(['outlet', 'outlet_on']));
    expect(names('ilt')).toEqual(expect.arrayContaining(['inlet']));
    expect(names('xyz')).toEqual([]);
    expect(names('')).toContain('grain_lift');
  });
});

describe('folding', () => {
  it('covers blocks, comments and regions over several lines', () => {
    const text = `# one
# two

# alone
#region doors
rig r {
  door a { pocket 1 L  travel 1 s }
  door b {
    travel 1 s
  }
}
#endregion
`;
    const folds = foldsOf(documentOf(text)).map((f) => [
      f.kind,
      text.slice(f.start, f.end).split('\n').length,
      f.summary,
    ]);
    expect(folds).toEqual([
      ['comment', 2, '# one'],
      ['region', 8, 'doors'],
      ['block', 6, '{ 2 doors }'],
      ['block', 3, '{ … }'],
    ]);
  });

  it('survives braces that do not match', () => {
    expect(foldsOf(documentOf('rig r {\n door a {\n'))).toEqual([]);
    expect(foldsOf(documentOf('}\n}\nrig r {\n}\n'))).toHaveLength(1);
  });
});

describe('selection', () => {
  it('grows from the token over the term to the statement, the block and the file', () => {
    const { document, offset, text } = atCursor(LIFT.replace('TON(inlet_on, 1 s), 3 s', 'TON(inlet<|>_on, 1 s), 3 s'));
    const texts = selectionRanges(document, offset).map((s) => text.slice(s.start, s.end));
    expect(texts.slice(0, 4)).toEqual([
      'inlet_on',
      '(inlet_on, 1 s)',
      'TON(inlet_on, 1 s)',
      '(TON(inlet_on, 1 s), 3 s)',
    ]);
    expect(texts[4]).toBe('TOF(TON(inlet_on, 1 s), 3 s)');
    expect(texts[5]).toBe('signal outlet_on = TOF(TON(inlet_on, 1 s), 3 s)');
    expect(texts.at(-1)).toBe(text);
  });

  it('always grows', () => {
    for (let offset = 0; offset <= LIFT.length; offset += 7) {
      const spans = selectionRanges(documentOf(LIFT), offset);
      for (let i = 1; i < spans.length; i++) {
        expect(spans[i]!.start).toBeLessThanOrEqual(spans[i - 1]!.start);
        expect(spans[i]!.end).toBeGreaterThanOrEqual(spans[i - 1]!.end);
        expect(spans[i]!.end - spans[i]!.start).toBeGreaterThan(spans[i - 1]!.end - spans[i - 1]!.start);
      }
    }
  });
});

describe('colours', () => {
  const colours = (text: string) =>
    semanticTokens(documentOf(text)).map((t) => [text.slice(t.start, t.end), t.type, t.modifiers.join()]);

  it('tell kinds of names apart', () => {
    const found = colours(LIFT);
    expect(found).toContainEqual(['inlet', 'door', 'declaration']);
    expect(found).toContainEqual(['inlet', 'door', 'modification']);
    expect(found).toContainEqual(['hopper', 'chamber', '']);
    expect(found).toContainEqual(['dwell', 'constant', 'readonly']);
    expect(found).toContainEqual(['TON', 'function', '']);
    expect(found).toContainEqual(['full', 'input', '']);
    expect(found).toContainEqual(['ms', 'unit', '']);
  });

  it('show what nothing declares', () => {
    expect(colours(LIFT.replace('start, dwell', 'start, dwel'))).toContainEqual(['dwel', 'unknownName', '']);
  });

  it('of everything above a cut stay as they were', () => {
    const whole = colours(LIFT).map((c) => c.slice(0, 2).join());
    for (let cut = 60; cut < LIFT.length; cut += 23) {
      const now = colours(LIFT.slice(0, LIFT.lastIndexOf('\n', cut) + 1)).map((c) => c.slice(0, 2).join());
      // Names that are only declared further down are unknown until then.
      const same = now.filter((c, i) => c === whole[i] || c.endsWith('unknownName'));
      expect(same).toEqual(now);
    }
  });

  it('of a range are those of the whole that lie in it', () => {
    const from = LIFT.indexOf('signal start');
    const to = LIFT.indexOf('signal hold');
    const whole = semanticTokens(documentOf(LIFT)).filter((t) => t.start < to && t.end > from);
    expect(semanticTokens(documentOf(LIFT), from, to)).toEqual(whole);
  });

  it('use types of the legend only, in order and without overlaps', () => {
    const names = new Set<string>(TOKEN_TYPES.map((t) => t.name));
    const tokens = semanticTokens(documentOf(LIFT));
    tokens.forEach((t, i) => {
      expect(names.has(t.type)).toBe(true);
      expect(t.start).toBeGreaterThanOrEqual(tokens[i - 1]?.end ?? 0);
    });
  });
});

describe('formatting', () => {
  const UGLY = LIFT.replace('  medium air\n', 'medium    air\n').replace(
    'drive outlet = outlet_on',
    'drive outlet=outlet_on',
  );
  const edited = (text: string, edits: ReturnType<typeof formatDocument>['edits']) =>
    withEdits(
      text,
      edits.map((e) => ({ ...e.span, text: e.text })),
    );

  it('touches only what changes, and is stable', () => {
    const tidy = edited(LIFT, formatDocument(LIFT).edits);
    expect(formatDocument(tidy)).toEqual({ edits: [], refused: null });
    const { edits } = formatDocument(tidy.replace('drive inlet ', 'drive   inlet '));
    expect(edits).toHaveLength(1);
    expect(edits[0]!.span.end - edits[0]!.span.start).toBeLessThan(5);
  });

  it('of a range leaves other lines alone', () => {
    const start = UGLY.indexOf('drive outlet');
    const after = edited(UGLY, formatRange(UGLY, { start, end: start + 3 }).edits);
    expect(after).toContain('medium    air');
    expect(after).toMatch(/drive outlet += outlet_on/);
  });

  it('says why it refuses a broken text', () => {
    const { edits, refused } = formatDocument('rig r {\n  door }\n');
    expect(edits).toEqual([]);
    expect(refused).toMatch(/\.$/);
  });
});

describe('quick fixes', () => {
  const NEAR = LIFT.replace('start, dwell', 'start, dwel').replace('TOF(inlet_on, 12 s)', 'TOF(inlet_n, 12 s)');

  it('are those of the problems in the range, preferred first', () => {
    const document = documentOf(NEAR);
    const at = NEAR.indexOf('dwel)');
    const fixes = quickFixes(document, { start: at, end: at + 4 });
    expect(fixes.map((f) => f.title)).toHaveLength(1);
    const fixed = withEdits(
      NEAR,
      fixes[0]!.edits.map((e) => ({ ...e.at, text: e.text })),
    );
    expect(fixed).toContain('start, dwell');
    expect(quickFixes(document, { start: 0, end: 1 })).toEqual([]);
  });

  it('all preferred ones together repair the text', () => {
    const edits = finish(fixAllWork(documentOf(NEAR)));
    const fixed = withEdits(
      NEAR,
      edits.map((e) => ({ ...e.at, text: e.text })),
    );
    expect(
      documentOf(fixed)
        .problems()
        .filter((p) => p.severity === 'error'),
    ).toEqual([]);
  });

  it('of a long part of the text are tried up to a number, and the problems left are counted', () => {
    const signals = Array.from({ length: 90 }, (_, k) => `  signal spare_${k} = TON(go, ${k + 1} s)`);
    const text = `rig yard {\n  medium air\n  switch go = on\n${signals.join('\n')}\n}\n`;
    const document = documentOf(text);
    const fixable = document.problems().filter((p) => (p.fixes ?? []).length > 0);
    const { fixes, left } = finish(quickFixesWork(document, { start: 0, end: text.length }));
    const offered = new Set(fixes.filter((f) => !f.title.startsWith('Allow')).map((f) => f.problem));
    expect(offered.size + left).toBe(fixable.length);
    expect(left).toBeGreaterThan(30);
    const at = text.indexOf('spare_80');
    expect(finish(quickFixesWork(document, { start: at, end: at + 3 })).left).toBe(0);
  });

  it('that touch each other are not taken together', () => {
    const edits = finish(fixAllWork(documentOf(NEAR)));
    const sorted = [...edits].sort((a, b) => a.at.start - b.at.start);
    for (let i = 1; i < sorted.length; i++) expect(sorted[i]!.at.start).toBeGreaterThanOrEqual(sorted[i - 1]!.at.end);
  });
});

describe('requirements as tests', () => {
  it('are listed by rig with their verdicts', () => {
    const text = LIFT.replace('>= 100 ms', '>= 2 s').replace(
      '  require repeat',
      '  require overlap(inlet, outlet) >= 2 s\n  require repeat',
    );
    const [group] = testGroups(documentOf(text));
    expect(group!.name).toBe('grain_lift');
    expect(group!.items.map((i) => [i.id, i.verdict.state])).toEqual([
      ['grain_lift/overlap(inlet, outlet) >= 2 s', 'failed'],
      ['grain_lift/overlap(inlet, outlet) >= 2 s#2', 'failed'],
      ['grain_lift/repeat() in 10 s .. 20 s', 'met'],
    ]);
    // inlet fully open 0.5–2.1 s, outlet from 1.6 s
    expect(group!.items[0]!.verdict.found).toBe('500 ms');
    expect(text.slice(group!.items[0]!.start, group!.items[0]!.end)).toContain('require overlap');
  });
});
