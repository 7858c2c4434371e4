/** Phases, reuse between versions, cancellation, overrides, the joined list of problems. */
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { describe, expect, it, vi } from 'vitest';
import * as run from '../../server/core/run/analyse';
import type { RigDocument } from '../../server/core/document/document';
import { createDocument } from '../../server/core/document/document';
import { ALL_CODES } from '../../server/core/document/codes';

const URI = 'file:///rigs/test.rig';

/** A rig with one door that opens for `time` after its sensor. */
const rig = (name: string, time: string): string => `rig ${name} {
  medium air
  chamber a { volume 1 m3  pressure 1.1 bar }
  chamber b { volume 1 m3  pressure 1.02 bar }
  door flap { pocket 10 L  travel 200 ms }
  stack a > flap > b
  controller { response 20 ms }
  sensor full on a { pressure above 1.5 bar  clears below 1.2 bar }
  signal go = TP(full, ${time})
  drive flap = go
  require opens_at(flap) <= 10 ms
}
`;

function version(text: string, before?: RigDocument, files: Readonly<Record<string, string>> = {}): RigDocument {
  return createDocument({ uri: URI, version: 1, text }, (uri) => files[uri], {}, before);
}

/** Facts with those about flow read; their own problems keep the places of the first reading. */
function plain(document: RigDocument): unknown {
  return document.analysed().map(({ rig: r, timing, flow }) => {
    const rest = { ...flow, problems: [] };
    return JSON.parse(JSON.stringify({ rig: r, timing, flow: rest })) as unknown;
  });
}

describe('phases', () => {
  it('are worked out once, when asked for', () => {
    const document = version(rig('one', '1 s'));
    expect(document.parsed()).toBe(document.parsed());
    expect(document.resolved()).toBe(document.resolved());
    expect(document.analysed()).toBe(document.analysed());
    expect(document.checked()).toBe(document.checked());
    expect(document.factsOf(0)).toBe(document.analysed()[0]);
  });

  it('give something for any text', () => {
    for (const text of ['', '}', 'rig', 'rig {', '\u0000', 'rig r {\n door', '🚪', 'import "x']) {
      const document = version(text);
      expect(Array.isArray(document.checked().problems)).toBe(true);
    }
  });
});

describe('from version to version', () => {
  const spy = () => vi.spyOn(run, 'analysisOf');

  it('only the edited rig is worked out again', () => {
    const text = rig('one', '1 s') + rig('two', '2 s') + rig('three', '3 s');
    const first = version(text);
    first.checked();
    const analyse = spy();
    const second = version(text.replace('TP(full, 2 s)', 'TP(full, 2400 ms)'), first);
    second.checked();
    expect(analyse.mock.calls.map(([r]) => r.name)).toEqual(['two']);
    analyse.mockRestore();
    expect(second.analysed()[0]!.timing).toBe(first.analysed()[0]!.timing);
    expect(second.analysed()[2]!.timing).toBe(first.analysed()[2]!.timing);
    expect(second.analysed()[1]!.timing).not.toBe(first.analysed()[1]!.timing);
  });

  it('a constant or part touches only the rigs that use it, through others too', () => {
    const lets = 'let base = 1 s\nlet pause = 2 * base\nlet other = 3 s\n';
    const text = lets + rig('one', 'pause') + rig('two', 'other') + rig('three', '3 s');
    const first = version(text);
    first.checked();
    const analyse = spy();
    const second = version(text.replace('let base = 1 s', 'let base = 1400 ms'), first);
    second.checked();
    expect(analyse.mock.calls.map(([r]) => r.name)).toEqual(['one']);
    analyse.mockRestore();
    expect(second.checked()).toEqual(version(second.text).checked());
  });

  it('moved rigs keep their facts, and all places follow', () => {
    const text = rig('one', '1 s') + rig('two', '2 s');
    const first = version(text);
    first.checked();
    const moved = `# a comment\n\nlet unused_here = 1 s\n${text}`;
    // Surroundings changed: everything is worked out again, so compare with a rig moved by another rig.
    const second = version(rig('zero', '1 s') + text, first);
    const fresh = version(rig('zero', '1 s') + text);
    expect(second.checked()).toEqual(fresh.checked());
    expect(plain(second)).toEqual(plain(fresh));
    expect(version(moved, first).checked()).toEqual(version(moved).checked());
  });

  it('results are the same as without a version before, for a chain of edits', () => {
    let text = `let pause = 1 s\n${rig('one', 'pause')}${rig('two', '2 s')}`;
    let before = version(text);
    before.checked();
    const edits: [string, string][] = [
      ['let pause = 1 s', 'let pause = 30 ms'],
      ['rig two', '# note\nrig two'],
      ['let pause = 30 ms', '# more\n\nlet pause = 30 ms'],
      ['travel 200 ms', 'travel 300 ms'],
      ['rig one', 'rig first'],
      ['drive flap = go\n', 'drive flap = g\n'],
      ['drive flap = g\n', 'drive flap = go\n'],
    ];
    for (const [from, to] of edits) {
      text = text.replace(from, to);
      const after = version(text, before);
      const fresh = version(text);
      expect(after.checked()).toEqual(fresh.checked());
      expect(plain(after)).toEqual(plain(fresh));
      before = after;
    }
  });

  it('a changed import is seen, an unchanged one is not parsed again', () => {
    const text = `import "times.rig"\n${rig('one', 'pause')}`;
    const file = (time: string) => ({ 'file:///rigs/times.rig': `let pause = ${time}\n` });
    const first = version(text, undefined, file('1 s'));
    const off = (d: RigDocument): number | null =>
      d.analysed()[0]!.timing.strokes[0]!.doors[0]!.windows[0]!.commanded!.to;
    // one response after the sensor the pulse begins: 20 ms; it lasts 1 s
    expect(off(first)).toBe(1_020_000);
    expect([...first.dependencies()]).toEqual(['file:///rigs/times.rig']);
    expect(off(version(text, first, file('2 s')))).toBe(2_020_000);
    const again = version(`${text}\n`, first, file('1 s'));
    expect(again.analysed()[0]!.timing).toBe(first.analysed()[0]!.timing);
  });

  it('twins with the same text are kept apart', () => {
    const text = rig('same', '1 s') + rig('same', '1 s');
    const first = version(text);
    first.checked();
    const second = version(`${text}${rig('other', '1 s')}`, first);
    const starts = second.analysed().map((f) => f.rig.whole.start);
    expect(new Set(starts).size).toBe(starts.length);
    expect(second.checked()).toEqual(version(`${text}${rig('other', '1 s')}`).checked());
  });

  it('a version nobody asked hands on what it was given', () => {
    const first = version(rig('one', '1 s'));
    first.checked();
    const skipped = version(`${rig('one', '1 s')} `, first);
    const third = version(rig('one', '1 s'), skipped);
    expect(third.analysed()[0]!.timing).toBe(first.analysed()[0]!.timing);
  });

  it('memory does not grow with versions: an entry dropped is gone', async () => {
    setFlagsFromString('--expose-gc');
    const gc = runInNewContext('gc') as () => void;
    let before = version(rig('one', '1 s'));
    before.checked();
    const refs: WeakRef<object>[] = [];
    for (let i = 2; i < 60; i++) {
      before = version(rig('one', `${i} s`), before);
      before.checked();
      refs.push(new WeakRef(before.analysed()[0]!));
    }
    // What a WeakRef was asked for in one turn of the event loop is kept until that turn ends.
    await new Promise((resolve) => setTimeout(resolve, 0));
    gc();
    const alive = refs.filter((r) => r.deref() !== undefined).length;
    expect(alive).toBeGreaterThan(0);
    expect(alive).toBeLessThan(10);
    expect(before.analysed()).toHaveLength(1);
  });
});

describe('stopping', () => {
  it('gives null and keeps what is done', () => {
    const document = version(rig('one', '1 s') + rig('two', '2 s') + rig('three', '3 s'));
    const analyse = vi.spyOn(run, 'analysisOf');
    const rigs = () => [...new Set(analyse.mock.calls.map(([r]) => r.name))];
    expect(document.finish(() => rigs().length === 2)).toBeNull();
    expect(rigs()).toEqual(['one', 'two']);
    analyse.mockClear();
    expect(document.finish(() => false)).not.toBeNull();
    expect(rigs()).not.toContain('one');
    expect(rigs()).toContain('three');
    analyse.mockRestore();
  });
});

describe('early problems', () => {
  it('come once, before those of flow, and are among the last ones', () => {
    const document = version(`${rig('one', '1 s')}${rig('two', '2 s')}let unused = 3 s\n`);
    const steps = document.work();
    const early: (readonly { readonly code: string }[])[] = [];
    let last = steps.next();
    for (; !last.done; last = steps.next()) if (last.value) early.push(last.value);
    expect(early).toHaveLength(1);
    const codes = last.value.problems.map((p) => p.code);
    expect(early[0]!.map((p) => p.code).filter((code) => !codes.includes(code))).toEqual([]);
    expect(early[0]!.some((p) => /^(flow|loss|require)/.test(p.code))).toBe(false);
  });
});

describe('constants from outside', () => {
  const text = `let pause = 1 s\n${rig('one', 'pause')}`;
  const off = (d: RigDocument): number | null =>
    d.analysed()[0]!.timing.strokes[0]!.doors[0]!.windows[0]!.commanded!.to;

  it('replace those of the text', () => {
    const document = createDocument({ uri: URI, version: 1, text }, () => undefined, { constants: { pause: '3 s' } });
    expect(off(document)).toBe(3_020_000);
  });

  it('that cannot be read are reported, and the text counts', () => {
    const document = createDocument({ uri: URI, version: 1, text }, () => undefined, { constants: { pause: '3 )' } });
    expect(off(document)).toBe(1_020_000);
    const problem = document.problems().find((p) => p.code === 'value/override')!;
    expect(problem.message).toContain('`pause`');
  });

  it('are part of what facts depend on', () => {
    const first = createDocument({ uri: URI, version: 1, text }, () => undefined, {});
    first.checked();
    const second = createDocument(
      { uri: URI, version: 2, text },
      () => undefined,
      { constants: { pause: '3 s' } },
      first,
    );
    expect(off(second)).toBe(3_020_000);
  });
});

describe('problems', () => {
  it('of all phases are joined and sorted by place', () => {
    const document = version(
      rig('one', '1 s').replace('drive flap = go', 'drive flap = nope').replace('travel 200 ms', 'travel'),
    );
    const problems = document.problems();
    expect(problems.map((p) => p.code)).toEqual(expect.arrayContaining(['syntax/expected', 'name/unknown']));
    const starts = problems.map((p) => p.at.start);
    expect(starts).toEqual([...starts].sort((a, b) => a - b));
  });

  it('are cut at the limit, the gravest kept, and the cut is said', () => {
    const text = `rig r {\n${Array.from({ length: 30 }, (_, i) => `  signal s${i} = nope${i}\n`).join('')}}\n`;
    const document = createDocument({ uri: URI, version: 1, text }, () => undefined, { limit: 10 });
    const problems = document.problems();
    expect(problems).toHaveLength(11);
    expect(problems.filter((p) => p.severity === 'error')).toHaveLength(10);
    expect(problems.find((p) => p.code === 'syntax/more')!.message).toMatch(/^\d+ more problems/);
  });

  it('of an imported file stand at the import', () => {
    const files = { 'file:///rigs/parts.rig': 'part lock(speed) {\n  door flap { pocket 10 L  travel spee }\n}\n' };
    const text = `import "parts.rig"\nrig r {\n  place west = lock(1 s)\n}\n`;
    const problem = version(text, undefined, files)
      .problems()
      .find((p) => p.code === 'name/import-errors')!;
    expect(text.slice(problem.at.start, problem.at.end)).toContain('parts.rig');
    expect(problem.related![0]!.at.uri).toBe('file:///rigs/parts.rig');
  });

  it('carry only codes that are explained', () => {
    const known = new Set(ALL_CODES.map((c) => c.code));
    expect(known.size).toBe(ALL_CODES.length);
    const document = version(rig('one', '1 s').replace('travel 200 ms', 'travl 200'));
    expect(document.problems().length).toBeGreaterThan(0);
    for (const p of document.problems()) expect(known).toContain(p.code);
  });
});
