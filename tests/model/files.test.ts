import { describe, expect, it } from 'vitest';
import { importTarget } from '../../server/core/model/files';
import { problemLines } from '../support/problem-lines';
import { resolveText, rigFrom } from '../support/rig';

describe('importTarget', () => {
  it.each([
    ['file:///a/b/c.rig', 'd.rig', 'file:///a/b/d.rig'],
    ['file:///a/b/c.rig', './d.rig', 'file:///a/b/d.rig'],
    ['file:///a/b/c.rig', '../x/d.rig', 'file:///a/x/d.rig'],
    ['file:///a/b/c.rig', '../../../d.rig', 'file:///d.rig'],
    ['file:///a/b/c.rig', '/d.rig', 'file:///d.rig'],
    ['file:///a/b/c.rig', 'my parts.rig', 'file:///a/b/my%20parts.rig'],
    ['file:///a/b/c.rig', 'sub\\d.rig', 'file:///a/b/sub/d.rig'],
    ['file:///a/b/c.rig', 'vscode-vfs://host/d.rig', 'vscode-vfs://host/d.rig'],
    ['vscode-vfs://host/a/c.rig', '../d.rig', 'vscode-vfs://host/d.rig'],
    ['untitled:Untitled-1', 'd.rig', 'untitled:d.rig'],
    ['samples/c.rig', 'd.rig', 'samples/d.rig'],
    ['samples/c.rig', '../d.rig', 'd.rig'],
    ['c.rig', 'd.rig', 'd.rig'],
    ['c.rig', '../d.rig', '../d.rig'],
  ])('%s imports %s: %s', (uri, path, target) => expect(importTarget(uri, path)).toBe(target));
});

describe('imports', () => {
  const LIB =
    'let t = 2 s\nmedium slurry liquid { density 1.3 kg/L }\npart p(go) {\nsignal x = TON(go, t)\n}\nrig demo {\nswitch z = on\n}';
  const MAIN = 'import "lib/p.rig"\nrig r {\nmedium slurry\nswitch s = on\nplace q = p(s)\ndoor d { travel t }\n}';
  const files = { 'file:///lib/p.rig': LIB };

  it('make constants, media and parts of another file known, not its rigs', () => {
    const { rig, resolution } = rigFrom(MAIN, { files });
    expect(rig.doors[0]!.opensIn.nominal).toBe(2_000_000);
    expect(rig.medium!.density!.nominal).toBe(1300);
    expect(rig.network.elements[0]).toMatchObject({ name: 'q.x', kind: 'TON' });
    expect(resolution.rigs).toHaveLength(1);
    expect(resolution.files).toEqual(['file:///test.rig', 'file:///lib/p.rig']);
    expect(resolution.imports).toMatchObject([{ target: 'file:///lib/p.rig', at: { start: 7, end: 18 } }]);
  });

  it('do not pass on what the other file imports', () => {
    const chain = { 'file:///a.rig': 'import "b.rig"\nlet u = t', 'file:///b.rig': 'let t = 2 s' };
    expect(problemLines('import "a.rig"\nrig r {\ndoor d { travel u }\n}', { files: chain })).toEqual([]);
    expect(problemLines('import "a.rig"\nrig r {\ndoor d { travel t }\n}', { files: chain })).toEqual([
      'name/unknown "t": Nothing here is called t.',
    ]);
  });

  it('may be shared by two files without being read twice', () => {
    const diamond = {
      'file:///a.rig': 'import "c.rig"\nlet u = t',
      'file:///b.rig': 'import "c.rig"\nlet v = t',
      'file:///c.rig': 'let t = 2 s',
    };
    const { resolution, problems } = resolveText('import "a.rig"\nimport "b.rig"\nlet w = u + v', { files: diamond });
    expect(problems).toEqual([]);
    expect(resolution.declarations.filter((d) => d.name === 't')).toHaveLength(1);
  });

  it('tell a circle, and go on with what is known', () => {
    const circle = { 'file:///a.rig': 'import "test.rig"\nlet u = 1 s' };
    expect(problemLines('import "a.rig"\nrig r {\ndoor d { travel u }\n}', { files: circle })).toEqual([
      'import/circle in file:///a.rig: These files import each other: test.rig → a.rig → test.rig.',
    ]);
  });

  it('tell errors of the other file at their own place', () =>
    expect(problemLines(MAIN, { files: { 'file:///lib/p.rig': LIB.replace('2 s', '2 s + 1 bar') } })).toEqual([
      'unit/dimension in file:///lib/p.rig: A pressure cannot be added to a time.',
    ]));

  it('tell names that two files give', () => {
    const two = { 'file:///a.rig': 'let t = 1 s\nlet u = 1 s', 'file:///b.rig': 'let t = 2 s' };
    const text = 'import "a.rig"\nimport "b.rig"\nrig r {\ndoor d { travel t }\n}';
    expect(problemLines(text, { files: two })).toEqual([
      'import/ambiguous ""b.rig"": t from b.rig cannot be distinguished from what is imported above.',
    ]);
    expect(rigFrom(text, { files: two, allow: ['import/ambiguous'] }).rig.doors[0]!.opensIn.nominal).toBe(1_000_000);
  });
});
