/** The two walks of DEVELOPERS.md, station by station: what each file named there hands to the next. And the list of caches. */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { InitializeParams } from 'vscode-languageserver';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { createDocument } from '../../server/core/document/document';
import { lanesOf } from '../../server/core/diagram/timing/lanes';
import { timingModels } from '../../server/core/diagram/timing/model';
import { renderTimingSvg } from '../../server/core/diagram/timing/svg';
import { compileProgram } from '../../server/core/timing/program';
import { readClientFacts } from '../../server/lsp/client-facts';
import { toLspDiagnostic } from '../../server/lsp/convert-problems';
import { createText } from '../../server/lsp/encoded-text';
import { ROOT } from '../cli/run';

const URI = 'file:///walk.rig';
const TEXT = `rig walk {
  chamber from { volume 1 m3 }
  chamber to { volume 1 m3 }
  door a { travel 200 ms }
  stack from > a > to
  controller { response 20 ms }
  switch go = off
  signal pulse = TP(go, 2 s)
  signal a_on = TON(pulse, 1.99 s)
  drive a = a_on
}
`;
const document = createDocument({ uri: URI, version: 1, text: TEXT }, () => undefined);

describe('a preset, from text to squiggle', () => {
  const literal = TEXT.indexOf('1.99 s');
  const [rig] = document.resolved().rigs;
  const element = rig!.network.elements.findIndex((e) => e.kind === 'TON');
  const preset = rig!.network.elements[element]!.preset!;

  it('is in the tree', () => expect(JSON.stringify(parse(TEXT).tree)).toContain(`"start":${literal}`));

  it('is a time in whole microseconds with its place', () => {
    expect(preset).toMatchObject({
      nominal: 1_990_000,
      at: { uri: URI, start: literal, end: literal + '1.99 s'.length },
    });
  });

  it('stands in the arrays of the engine', () => {
    expect(
      Object.values(compileProgram(rig!)).some(
        (v) => ArrayBuffer.isView(v) && Array.from(v as Float64Array).includes(1_990_000),
      ),
    ).toBe(true);
  });

  it('has a margin in the stroke', () => {
    const timer = document.factsOf(0).timing.strokes[0]!.timers.find((t) => t.element === element);
    expect(timer).toMatchObject({ preset: 1_990_000, longestInput: 2_000_000, margin: 10_000 });
  });

  it('is found by the check, with quick fixes, and is a squiggle at its block', () => {
    const problem = document.problems().find((p) => p.code === 'timer/thin-margin')!;
    expect(problem.fixes!.flatMap((f) => f.edits).some((e) => e.at.start === literal)).toBe(true);
    const text = createText(URI, 1, TEXT, 'utf-16');
    const client = readClientFacts({ capabilities: {} } as InitializeParams, null);
    const { range, code } = toLspDiagnostic(text, () => text, client, problem);
    expect([code, range.start.line]).toEqual(['timer/thin-margin', TEXT.slice(0, literal).split('\n').length - 1]);
  });
});

describe('a door edge, from trace to picture', () => {
  const facts = document.factsOf(0);
  const { trace } = facts.timing.strokes[0]!;

  it('is a move of the trace, in microseconds from the trigger', () => {
    expect(trace.doors[0]!.moves.map((m) => m.t)).toContain(2_030_000);
  });

  it('is an edge of a lane that knows its cause', () => {
    const edge = lanesOf(facts.rig, trace)
      .doors.flatMap((l) => l.edges)
      .find((e) => e.id === 'door:a/opens/0')!;
    expect(edge.t).toBe(2_030_000);
    expect(edge.cause).not.toBeNull();
  });

  it('stands in the picture', () => {
    expect(renderTimingSvg(timingModels(facts)[0]!)).toContain('2.03 s');
  });
});

/** Files that keep what they computed beyond one call, by something that lives as long. */
describe('the list of caches', () => {
  const below = (folder: string): string[] =>
    readdirSync(folder).flatMap((name) => {
      const path = join(folder, name);
      return statSync(path).isDirectory() ? below(path) : path.endsWith('.ts') ? [path] : [];
    });
  const keeping = ['server', 'client/src', 'client/page', 'grammar/src']
    .flatMap((folder) => below(join(ROOT, folder)))
    .filter((path) => /new WeakMap\b/.test(readFileSync(path, 'utf8')));
  const table = /## Caches\n([^]*?)\n## /.exec(readFileSync(join(ROOT, 'DEVELOPERS.md'), 'utf8'))![1]!;

  it('names every file that has one', () => {
    expect(keeping.length).toBeGreaterThan(15);
    const named = (path: string): boolean => table.includes(path.split('/').at(-1)!);
    expect(keeping.filter((path) => !named(path))).toEqual([]);
  });
});
