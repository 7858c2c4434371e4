import { describe, expect, it } from 'vitest';
import { coalesce } from '../../client/src/coalesce';
import { crashLimit } from '../../client/src/crash-limit';
import { baseName, exportName } from '../../client/src/preview/file-names';
import { readKeptPanel } from '../../client/src/preview/saved-state';

describe('crash limit', () => {
  it('allows four crashes in three minutes and stops at the fifth', () => {
    let t = 0;
    const again = crashLimit(() => t);
    const answers = [0, 10_000, 20_000, 30_000, 40_000].map((now) => ((t = now), again()));
    expect(answers).toEqual([true, true, true, true, false]);
  });

  it('forgets crashes older than three minutes', () => {
    let t = 0;
    const again = crashLimit(() => t);
    for (let i = 0; i < 20; i++) {
      t = i * 60_000; // at most 0, 1, 2 minutes old beside the new one
      expect(again()).toBe(true);
    }
  });
});

describe('coalesce', () => {
  it('runs at once, and once more for all that came meanwhile', async () => {
    let runs = 0;
    let release = (): void => {};
    const ask = coalesce(async () => {
      runs++;
      await new Promise<void>((resolve) => (release = resolve));
    });
    ask();
    expect(runs).toBe(1);
    ask();
    ask();
    ask();
    release();
    await new Promise((resolve) => setTimeout(resolve, 0));
    expect(runs).toBe(2);
    release();
    await new Promise((resolve) => setTimeout(resolve, 0));
    expect(runs).toBe(2);
    ask();
    expect(runs).toBe(3);
  });
});

describe('coalesce of work that fails', () => {
  it('tells of it and goes on', async () => {
    const told: unknown[] = [];
    const ask = coalesce(
      () => Promise.reject(new Error('no')),
      (error) => told.push(error),
    );
    ask();
    await new Promise((resolve) => setTimeout(resolve, 0));
    ask();
    await new Promise((resolve) => setTimeout(resolve, 0));
    expect(told).toHaveLength(2);
  });
});

describe('kept panel', () => {
  it.each([undefined, null, 7, 'x', {}, { uri: 3 }, { uri: '', locked: 'yes' }, []])(
    'takes %j for nothing kept',
    (state) => {
      expect(readKeptPanel(state)).toEqual({ uri: null, locked: false });
    },
  );

  it('reads what fits', () => {
    expect(readKeptPanel({ uri: 'file:///a.rig', locked: true, views: 'damaged' })).toEqual({
      uri: 'file:///a.rig',
      locked: true,
    });
  });
});

describe('file names', () => {
  it.each([
    ['/rigs/gas bank.rig', 'gas bank'],
    ['/rigs/Über.RIG', 'Über'],
    ['Untitled-1', 'Untitled-1'],
    ['/', 'rig'],
  ])('%s is called %s', (path, name) => expect(baseName(path)).toBe(name));

  it.each([
    ['timing', 'svg', 'timing.svg'],
    ['timing.svg', 'png', 'timing.png'],
    ['../../etc/passwd', 'svg', '-..-etc-passwd.svg'],
    ['', 'png', 'bank.png'],
    ['...', 'svg', 'bank.svg'],
    ['a:b*c?', 'svg', 'a-b-c-.svg'],
  ] as const)('%j as %s becomes %s', (proposed, format, name) =>
    expect(exportName(proposed, '/x/bank.rig', format)).toBe(name),
  );
});
