/** The import table of DEVELOPERS.md, as a test; and core without clock, chance, console, Node or browser. */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';

const ROOT = resolve(__dirname, '..');

/** Folder → what its files may import, longest prefix wins. A folder may always import itself. */
const MODEL = ['server/core/model', 'server/core/units', 'server/core/words', 'server/core/work'];
const ENGINES = ['server/core/run', 'server/core/proof', 'server/core/timing', 'server/core/flow', ...MODEL];
const JUDGED = ['server/core/checks', 'server/core/metrics', ...ENGINES];
const BUILT = ['server/core/choose', 'server/core/readings', 'server/core/diagram', 'server/core/report', ...JUDGED];

const ALLOWED: Record<string, readonly string[]> = {
  'grammar/src': ['chevrotain'],
  'server/core/units': ['server/core/words'],
  'server/core/words': ['grammar/src/say'],
  'server/core/work': [],
  'server/core/model': [
    'server/core/words',
    'server/core/units',
    'grammar/src/ast',
    'grammar/src/vocabulary',
    'grammar/src/near-match',
  ],
  'server/core/timing': [...MODEL, 'yalps'],
  'server/core/proof': ['server/core/timing', ...MODEL, 'yalps'],
  'server/core/flow': MODEL,
  'server/core/run': ENGINES,
  'server/core/metrics': ENGINES,
  'server/core/readings': [
    'papaparse',
    'grammar/src/rewrite',
    'grammar/src/ast',
    'server/core/checks',
    'server/core/metrics',
    ...ENGINES,
  ],
  'server/core/choose': ['grammar/src/quantity-text', 'server/core/metrics', ...ENGINES, 'yalps'],
  'server/core/checks': [
    'grammar/src/ast',
    'grammar/src/quantity-text',
    'grammar/src/rewrite',
    'server/core/choose',
    'server/core/metrics',
    ...ENGINES,
  ],
  'server/core/diagram': [...JUDGED, '@dagrejs/dagre', 'd3-scale'],
  'server/core/report': ['server/core/diagram', 'server/core/readings', 'server/core/choose', ...JUDGED],
  'server/core/document': [...BUILT, 'grammar/src'],
  'server/core/features': ['server/core/document', ...BUILT, 'grammar/src'],
  'server/protocol': ['server/core'],
  'server/disk': ['server/protocol/text-bytes', 'server/core/words', 'node:'],
  'server/lsp': [
    'server/disk',
    'server/core/document',
    'server/core/features',
    ...BUILT,
    'server/protocol',
    'grammar/src',
    'vscode-languageserver',
    'vscode-languageserver-textdocument',
    'vscode-uri',
    'node:',
    'package.json',
  ],
  'server/cli': [
    'server/disk',
    'server/core/document',
    'server/core/features',
    ...BUILT,
    'server/lsp',
    'server/protocol',
    'grammar/src',
    'node:',
    'vscode-uri',
    '@resvg/resvg-js',
    'package.json',
  ],
  'server/program': ['server/cli', 'server/core/words', 'server/lsp', 'server/core/features', 'server/core/document'],
  'client/src': [
    'server/core/report/bench-rig',
    'vscode',
    'vscode-languageclient',
    'server/protocol',
    'server/core/diagram',
    'server/core/words',
    'client/src',
    'node:',
    'vscode-uri',
  ],
  'client/page': [
    'server/protocol',
    'server/core/diagram',
    'server/core/model/motion',
    'server/core/words',
    'client/page',
  ],
};

function sources(folder: string): string[] {
  let found: string[] = [];
  for (const entry of readdirSync(folder)) {
    const path = join(folder, entry);
    if (statSync(path).isDirectory()) found = found.concat(sources(path));
    else if (path.endsWith('.ts')) found.push(path);
  }
  return found;
}

function importsOf(text: string): string[] {
  const pattern = /^\s*(?:import|export)\s(?:[^'"`;]*?\sfrom\s)?['"]([^'"]+)['"];|import\(\s*['"]([^'"]+)['"]\s*\)/gm;
  return [...text.matchAll(pattern)].map((m) => (m[1] ?? m[2])!);
}

/** Files that a file imports by value: `import type`, and imports of types only, are left out. */
function valueImports(file: string): string[] {
  const pattern = /^\s*(?:import|export)\s([^'"`;]*?)\sfrom\s+['"](\.[^'"]+)['"];/gm;
  return [...readFileSync(file, 'utf8').matchAll(pattern)].flatMap(([, what, path]) => {
    const names = /\{([\s\S]*)\}/
      .exec(what!)?.[1]
      ?.split(',')
      .map((n) => n.trim()) ?? ['value'];
    const isType = what!.trim().startsWith('type ') || names.filter(Boolean).every((n) => n.startsWith('type '));
    return isType ? [] : [resolve(dirname(file), `${path}.ts`)];
  });
}

function rowFor(file: string): string | undefined {
  return Object.keys(ALLOWED)
    .filter((row) => file.startsWith(row + '/'))
    .sort((a, b) => b.length - a.length)[0];
}

const files = ['grammar/src', 'server', 'client'].flatMap((top) => sources(join(ROOT, top)));

describe('architecture', () => {
  it('reads the tree it guards', () => expect(files.length).toBeGreaterThan(10));

  it.each(files.map((f) => relative(ROOT, f)))('%s imports only what its folder may', (file) => {
    const row = rowFor(file);
    expect(row, `no row in the table for ${file}`).toBeDefined();
    const text = readFileSync(join(ROOT, file), 'utf8');
    for (const name of importsOf(text)) {
      const target = name.startsWith('.') ? relative(ROOT, resolve(ROOT, dirname(file), name)) : name;
      const allowed = [row!, ...ALLOWED[row!]!].some(
        (ok) => target === ok || target.startsWith(ok.endsWith(':') ? ok : ok + '/'),
      );
      expect(allowed, `${file} may not import ${target}`).toBe(true);
    }
  });

  it('has no import cycles between files (types alone may be mutual)', () => {
    const graph = new Map(files.map((file) => [file, valueImports(file)]));
    const state = new Map<string, 'open' | 'done'>();
    const cycles: string[] = [];
    const visit = (file: string, path: readonly string[]): void => {
      if (state.get(file) === 'done') return;
      if (state.get(file) === 'open') {
        const round = [...path.slice(path.indexOf(file)), file].map((f) => relative(ROOT, f));
        cycles.push(round.join(' → '));
        return;
      }
      state.set(file, 'open');
      for (const next of graph.get(file) ?? []) visit(next, [...path, file]);
      state.set(file, 'done');
    };
    files.forEach((file) => visit(file, []));
    expect(cycles).toEqual([]);
    // The reading itself: a file that imports another by value is seen to.
    expect(graph.get(join(ROOT, 'server/core/timing/program.ts'))).toContain(join(ROOT, 'server/core/model/logic.ts'));
  });

  it.each(
    files.map((f) => relative(ROOT, f)).filter((f) => f.startsWith('server/core') || f.startsWith('grammar/src')),
  )('%s uses no clock, chance, console or platform', (file) => {
    const text = readFileSync(join(ROOT, file), 'utf8').replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');
    // `window` and `document` are the compiler's business: these projects have no DOM types.
    expect(text).not.toMatch(/\bDate\b|\bperformance\.|Math\.random|\bsetTimeout\b|\bconsole\.|\bprocess\./);
  });
});
