/** Rigs that nothing is wrong with, and half-written ones that must not throw. */
import { describe, expect, it } from 'vitest';
import { changed, GAS_BANK, LOCK, look } from './rigs';

describe('sound rigs', () => {
  it.each([
    ['gas bank', GAS_BANK],
    // Its switch is for other tests: nothing reads it here.
    ['lock', changed(LOCK, ['  switch open_up = off\n', ''])],
  ])('%s has no finding, not even information', (_, text) => {
    const looked = look(text);
    expect(looked.mistakes).toEqual([]);
    expect(looked.problems.map((p) => p.message)).toEqual([]);
  });

  it('the worked example of the language, with its tolerances and its order, has none either', () => {
    const example = GAS_BANK.replace(
      '  require repeat() in 10 s .. 15 s',
      `  require repeat() in 10 s .. 15 s
  require order(upper opens, upper closes, lower opens, middle closes, lower closes)`,
    ).replace('response 50 ms', 'response 50 ms +- 10 ms  timer_accuracy 2 %');
    const looked = look(example);
    expect(looked.mistakes).toEqual([]);
    expect(looked.problems.filter((p) => p.code !== 'require/tolerance')).toEqual([]);
  });
});

describe('half-written rigs', () => {
  const pieces = [GAS_BANK, LOCK].flatMap((text) => {
    const ends = [...text.matchAll(/\s/g)].map((m) => m.index);
    return ends.filter((_, i) => i % 7 === 0).map((end) => text.slice(0, end));
  });

  it('cut anywhere, never throw', () => {
    for (const piece of pieces) expect(() => look(piece), piece.slice(-60)).not.toThrow();
    expect(pieces.length).toBeGreaterThan(60);
  });

  it('with any one line missing, never throw', () => {
    const lines = GAS_BANK.split('\n');
    lines.forEach((line, i) => {
      const text = lines.filter((_, j) => j !== i).join('\n');
      expect(() => look(text), line).not.toThrow();
    });
  });
});
