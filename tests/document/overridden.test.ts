/** A constant given from outside: whatever rests on it says so, and no repair edits the text that does not count. */
import { describe, expect, it } from 'vitest';
import { createDocument } from '../../server/core/document/document';
import { overrideNote } from '../../server/core/document/overrides';
import { inlayHints } from '../../server/core/features/inlay-hints';
import { lenses } from '../../server/core/features/code-lens';
import { noted } from '../../server/core/diagram/kit/noted';
import { run } from '../cli/run';

const TEXT = `rig r {
  let settle = 1.8 s
  medium air
  chamber a { volume 1 m3  pressure 2 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door d { travel 300 ms }
  stack a > d > b
  switch s = off
  drive d = TOF(s, settle)
  require window(d) >= 2 s
}
`;
const document = (constants: Record<string, string>) =>
  createDocument({ uri: 'file:///r.rig', version: 1, text: TEXT }, () => undefined, { constants });

describe('an overridden constant', () => {
  const given = document({ settle: '2 s' });

  it('is information at its declaration', () => {
    const [problem] = given.problems().filter((p) => p.code === 'value/overridden');
    expect(problem).toMatchObject({ severity: 'information' });
    expect(TEXT.slice(problem!.at.start, problem!.at.end)).toBe('settle');
    expect(problem!.message).toContain('settle counts as 2 s here');
    expect(problem!.message).toContain('not as 1.8 s');
    expect(
      document({})
        .problems()
        .filter((p) => p.code === 'value/overridden'),
    ).toEqual([]);
  });

  it('shows in the hint at its line, the lens and the note of every output', () => {
    const none = { drives: false, timers: false, requirements: false };
    expect(inlayHints(given, { start: 0, end: TEXT.length }, none).map((h) => h.label)).toEqual([
      'other value from outside',
    ]);
    expect(lenses(given)[0]!.title).toContain('constants from outside');
    expect(overrideNote(given.resolved())).toContain('settle counts as 2 s');
    expect(overrideNote(document({}).resolved())).toBe('');
  });

  it('is not edited by repairs, which edit it where it counts', () => {
    const text = `rig r {
  let settle = 800 ms
  medium air
  chamber a { volume 1 m3  pressure 2 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door d { pocket 5 L  travel 100 ms }
  door e { pocket 5 L  travel 100 ms }
  stack a > d > e > b
  sensor full on a { pressure above 3 bar  clears below 2.5 bar }
  controller { response 0 s }
  drive d = TP(full, 900 ms)
  drive e = TP(TON(full, settle), 900 ms)
  require gap(d, e) >= 100 ms
}
`;
    const declared = text.indexOf('800 ms');
    const editsOfIt = (constants: Record<string, string>): number => {
      const made = createDocument({ uri: 'file:///r.rig', version: 1, text }, () => undefined, { constants });
      const edits = made.problems().flatMap((problem) => (problem.fixes ?? []).flatMap((fix) => fix.edits));
      return edits.filter(({ at }) => at.start <= declared && at.end > declared).length;
    };
    expect(editsOfIt({})).toBeGreaterThan(0);
    expect(editsOfIt({ settle: '700 ms' })).toBe(0);
  });

  it.each([
    ['timing', 'r.rig'],
    ['flow', 'r.rig'],
    ['prove', 'r.rig'],
    ['trace', 'r.rig'],
    ['diagram', 'r.rig'],
    ['tolerance', 'r.rig', '--samples', '10'],
  ])('%s says so on standard error', async (...words) => {
    const { err } = await run([...words, '--let', 'settle=2 s'], { 'r.rig': TEXT });
    expect(err).toContain('settle counts as 2 s');
  });

  it('is written into the picture', async () => {
    const { out } = await run(['diagram', 'r.rig', '--let', 'settle=2 s'], { 'r.rig': TEXT });
    expect(out).toContain('settle counts as 2 s');
    expect(noted('<svg viewBox="0 0 10 20" height="20"></svg>', '')).toBe(
      '<svg viewBox="0 0 10 20" height="20"></svg>',
    );
    expect(noted('<svg viewBox="0 0 100 20" height="20"></svg>', 'a < b')).toContain('a &lt; b');
  });
});
