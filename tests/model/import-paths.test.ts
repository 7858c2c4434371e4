/** Addresses of imports with the path semantics of both kinds of machine: the functions are pure, so Windows paths are tested here too. */
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { foreignHost, importTarget } from '../../server/core/model/files';
import { relativePaths } from '../../server/lsp/paths';

describe('importTarget', () => {
  it.each([
    ['file:///home/ann/a.rig', 'b.rig', 'file:///home/ann/b.rig'],
    ['file:///home/ann/a.rig', '../lib/b c.rig', 'file:///home/lib/b%20c.rig'],
    ['file:///c%3A/Rigs/a.rig', '..\\lib\\b.rig', 'file:///c%3A/lib/b.rig'],
    ['file:///c%3A/Rigs/a.rig', 'D:\\lib\\b.rig', 'file:///D:/lib/b.rig'],
    ['file:///c%3A/Rigs/a.rig', 'D:/lib/../b.rig', 'file:///D:/b.rig'],
    ['file://server/share/a.rig', 'b.rig', 'file://server/share/b.rig'],
    ['untitled:Untitled-1', 'b.rig', 'untitled:b.rig'],
    ['memfs:/rigs/a.rig', './b#1?.rig', 'memfs:/rigs/b%231%3F.rig'],
    ['file:///c%3A/Rigs/a.rig', '../../../b.rig', 'file:///c%3A/b.rig'],
    ['file:///home/a.rig', '../../..//b.rig', 'file:///b.rig'],
    ['file:///home/a.rig', 'C:/..//a', 'file:///C:/a'],
    ['file:///home/a.rig', 'C:/..', 'file:///C:'],
    ['rigs/a.rig', '../../b.rig', '../b.rig'],
    ['file:///home/a.rig', '\uD800.rig', 'file:///home/%EF%BF%BD.rig'],
  ])('%s imports %s: %s', (from, path, to) => expect(importTarget(from, path)).toBe(to));
});

describe('foreignHost', () => {
  it.each([
    '//host/a.rig',
    '\\\\host\\a.rig',
    'file://host/a.rig',
    'FILE://host/a.rig',
    '///host/a',
    '\\\\?\\C:\\a.rig',
    '\\\\.\\pipe\\x',
    'file:////host/a.rig',
    'file:///%5C%5Chost/a',
  ])('refuses %s', (path) => expect(foreignHost('file:///c%3A/a.rig', path)).not.toBeNull());
  it.each(['a.rig', '../a.rig', '/a.rig', 'C:\\a.rig', 'file:///a.rig', 'file://localhost/a.rig', 'a//b.rig'])(
    'takes %s',
    (path) => expect(foreignHost('file:///c%3A/a.rig', path)).toBeNull(),
  );

  const segment = fc.constantFrom('a', 'b c', '..', '.', 'ü', '%2e', 'C:', '', 'x.rig', '\uDC00', '__proto__');
  const path = fc
    .array(segment, { minLength: 1, maxLength: 5 })
    .chain((s) => fc.constantFrom('/', '\\').map((sep) => s.join(sep)));
  const base = fc.constantFrom(
    'file:///home/a.rig',
    'file:///c%3A/Rigs/a.rig',
    'file://server/share/a.rig',
    'memfs:/a.rig',
  );

  it('what is taken never leads to another machine, whatever the path', () =>
    fc.assert(
      fc.property(base, path, (from, to) => {
        if (foreignHost(from, to) !== null) return;
        const target = importTarget(from, to);
        expect(() => encodeURIComponent(target)).not.toThrow();
        if (!target.startsWith('file:')) return;
        const authority = (uri: string): string => /^file:\/\/([^/]*)/.exec(uri)?.[1] ?? '';
        expect(['', authority(from)]).toContain(authority(target));
        expect(target.replace(/^file:\/\/[^/]*/, '')).not.toMatch(/^\/\//);
      }),
      // The example came from seed 1209323781.
      { numRuns: 1000, examples: [['file:///home/a.rig', 'C:/..//a']] },
    ));
});

describe('relativePaths', () => {
  const name = fc.constantFrom('a', 'b', 'lib', 'Ü', 'x y');
  const uri = fc
    .array(name, { minLength: 1, maxLength: 4 })
    .chain((parts) =>
      fc
        .constantFrom('file:///home/', 'file:///c%3A/')
        .map((root) => root + parts.map(encodeURIComponent).join('/') + '.rig'),
    );
  it('are what an import would have to say', () =>
    fc.assert(
      fc.property(uri, uri, (from, to) => {
        for (const path of relativePaths(from, [to])) expect(importTarget(from, path)).toBe(to);
      }),
      { numRuns: 500 },
    ));
});
