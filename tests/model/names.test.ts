/** Declarations and uses: what definition, references and rename work on. */
import { describe, expect, it } from 'vitest';
import { problemLines } from '../support/problem-lines';
import { resolveText, TEST_URI } from '../support/rig';

/** The text with each use (and the declaration) of one name put in brackets. */
function marked(text: string, name: string, files: Record<string, string> = {}): string {
  const { resolution } = resolveText(text, { files });
  const ids = new Set(resolution.declarations.filter((d) => d.name === name).map((d) => d.id));
  const places = [
    ...resolution.declarations.filter((d) => ids.has(d.id)).map((d) => d.at),
    ...resolution.uses.filter((u) => ids.has(u.declaration)).map((u) => u.at),
  ].filter((at) => at.uri === TEST_URI);
  let out = text;
  for (const at of places.sort((a, b) => b.start - a.start)) {
    out = `${out.slice(0, at.start)}[${out.slice(at.start, at.end)}]${out.slice(at.end)}`;
  }
  return out;
}

/** `text` has brackets round every place of `name`; without them it is what is resolved. */
function expectPlaces(name: string, text: string): void {
  expect(marked(text.replace(/[[\]]/g, ''), name)).toBe(text);
}

describe('places of a name', () => {
  it.each<[string, string]>([
    [
      'd',
      'rig r {\nchamber a { volume 1 L }\nchamber b { volume 1 L }\nswitch s = on\ndoor [d] { travel 1 s }\nstack a > [d] > b\ndrive [d] = s\nsequence q on s { at 0 s open [d]  at 1 s close [d] }\nrequire never([d] and s)\nrequire order([d] opens, [d] shuts)\n}',
    ],
    [
      't',
      'let [t] = 1 s\nrig r {\ndoor d { travel [t]  opens_in 2 * [t] }\nswitch s = on\nsignal x = TON(s, [t] + 1 s)\nrequire repeat() in [t] .. 9 s\n}',
    ],
    [
      's',
      'rig r {\nswitch [s] = on\nsignal x = TOF([s] and not TON([s], 1 s), 1 s) responds 1 s\nscenario m { at 1 s switch [s] off  for 2 s }\n}',
    ],
    [
      'm',
      'rig r {\nswitch s = on\nrequire repeat() <= 1 s during [m]\nscenario [m] { at 1 s switch s off  for 2 s }\n}',
    ],
    [
      'go',
      'part p([go], t) {\nsignal x = TON([go], t)\nsignal y = [go] or x\n}\nrig r {\nswitch s = on\nplace q = p(s, 1 s)\n}',
    ],
    [
      'q',
      'part p(go) {\ndoor d { travel 1 s }\ndrive d = go\n}\nrig r {\nswitch s = on\nplace [q] = p(s)\nrequire gap([q].d, [q].d) >= 1 s\n}',
    ],
    [
      'd',
      'part p(go) {\ndoor [d] { travel 1 s }\ndrive [d] = go\n}\nrig r {\nswitch s = on\nplace q = p(s)\nplace z = p(s)\nrequire gap(q.[d], z.[d]) >= 1 s\n}',
    ],
    ['p', 'part [p](go) {\nsignal x = go\n}\nrig r {\nswitch s = on\nplace q = [p](s)\nplace z = [p](s)\n}'],
    ['biogas', 'medium [biogas] gas { molar_mass 27 g/mol }\nrig r {\nmedium [biogas]\n}'],
    ['ventil_höhe', 'rig r {\nswitch [ventil_höhe] = on\nsignal x = [ventil_höhe]\n}'],
    // broken values still use the names in them
    ['t', 'let [t] = 1 s\nrig r {\nsignal x = TON([t], 1 bar, [t])\n}'],
  ])('%s', (name, text) => expectPlaces(name, text));

  it('go through imports', () => {
    const files = { 'file:///lib.rig': 'let t = 1 s\npart p(go) {\nsignal x = TON(go, t)\n}' };
    const text = 'import "lib.rig"\nrig r {\nswitch s = on\nplace q = p(s)\nsignal y = TON(q.x, t)\n}';
    const { resolution, problems } = resolveText(text, { files });
    expect(problems.filter((p) => !p.startsWith('name/unused'))).toEqual([]);
    const t = resolution.declarations.find((d) => d.name === 't')!;
    expect(t.at).toEqual({ uri: 'file:///lib.rig', start: 4, end: 5 });
    const uses = resolution.uses.filter((u) => u.declaration === t.id).map((u) => u.at);
    expect(uses).toEqual([
      { uri: 'file:///lib.rig', start: 44, end: 45 },
      { uri: TEST_URI, start: text.length - 4, end: text.length - 3 },
    ]);
  });

  it('count a text in a part once, however often it is placed', () => {
    const { resolution } = resolveText(
      'part p(go) {\nsignal x = go\n}\nrig r {\nswitch s = on\nplace a = p(s)\nplace b = p(s)\n}',
    );
    expect(resolution.declarations.filter((d) => d.name === 'x')).toHaveLength(1);
    const go = resolution.declarations.find((d) => d.name === 'go')!;
    expect(resolution.uses.filter((u) => u.declaration === go.id)).toHaveLength(1);
  });
});

describe('roles and details', () => {
  it('tell who operates from who reads', () => {
    const { resolution } = resolveText(
      'rig r {\nswitch s = on\ndoor d { travel 1 s }\ndrive d = s\nscenario m { at 1 s switch s off  for 2 s }\n}',
    );
    const roles = (name: string) => {
      const { id } = resolution.declarations.find((d) => d.name === name)!;
      return resolution.uses.filter((u) => u.declaration === id).map((u) => u.role);
    };
    expect(roles('d')).toEqual(['write']);
    expect(roles('s')).toEqual(['read', 'write']);
  });

  it('describe each declaration', () => {
    const { resolution } = resolveText(
      '# settling\nlet settle = 1.4 s\nrig r "Title" {\ndoor   d { travel 1 s }\nswitch s = on\n}',
    );
    expect(resolution.declarations.map((d) => [d.kind, d.name, d.detail, d.container])).toEqual([
      ['let', 'settle', 'let settle = 1.4 s', -1],
      ['rig', 'r', 'rig r "Title"', -1],
      ['door', 'd', 'door d { travel 1 s }', 1],
      ['switch', 's', 'switch s = on', 1],
    ]);
    expect(resolution.declarations[0]!.doc).toBe('settling');
  });
});

describe('suggestions', () => {
  it('prefer names of the kind that is needed', () => {
    const text = 'rig r {\ndoor gate1 { travel 1 s }\nswitch gate2 = on\nsignal x = gate3\n}';
    expect(problemLines(text)).toEqual(['name/unknown "gate3": Nothing here is called gate3. Did you mean gate2?']);
  });

  it('come with an edit that mends the text', () => {
    const text = 'rig r {\nswitch ready = on\nsignal x = redy\n}';
    const problem = resolveText(text).resolution.problems.find((p) => p.code === 'name/unknown');
    const [edit] = problem!.fixes![0]!.edits;
    const mended = text.slice(0, edit!.at.start) + edit!.text + text.slice(edit!.at.end);
    expect(problemLines(mended)).toEqual([]);
  });

  it('offer units where one is missing', () => {
    const { resolution } = resolveText('rig r {\ndoor d { travel 300 }\n}');
    expect(resolution.problems[0]!.fixes!.map((f) => f.edits[0]!.text)).toEqual([' s', ' ms', ' us']);
  });
});
