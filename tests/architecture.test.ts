/** The import table of DEVELOPERS.md, as a test; and core without clock, chance, console, Node or browser. */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';

const ROOT = resolve(__dirname, '..');

/** Folder → what its files may import, longest prefix wins. A folder may always import itself. */
const ALLOWED: Record<string, readonly string[]> = {
  'grammar/src': ['chevrotain'],
  'server/core/units': [],
  'server/core/model': ['server/core/units', 'grammar/src/ast', 'grammar/src/vocabulary', 'grammar/src/near-match'],
  'server/core/timing': ['server/core/model', 'server/core/units', 'yalps'],
  'server/core/flow': ['server/core/model', 'server/core/units'],
  'server/core/run': ['server/core/timing', 'server/core/flow', 'server/core/model', 'server/core/units'],
  'server/core/metrics': [
    'server/core/run',
    'server/core/timing',
    'server/core/flow',
    'server/core/model',
    'server/core/units',
  ],
  'server/core/checks': [
    'server/core/tune',
    'server/core/metrics',
    'server/core/run',
    'server/core/timing',
    'server/core/flow',
    'server/core/model',
    'server/core/units',
  ],
  'server/core/tune': [
    'server/core/metrics',
    'server/core/run',
    'server/core/timing',
    'server/core/flow',
    'server/core/model',
    'server/core/units',
  ],
  'server/core/diagram': [
    'server/core/run',
    'server/core/timing',
    'server/core/flow',
    'server/core/model',
    'server/core/units',
    '@dagrejs/dagre',
  ],
  'server/core/report': [
    'server/core/diagram',
    'server/core/metrics',
    'server/core/run',
    'server/core/timing',
    'server/core/flow',
    'server/core/model',
    'server/core/units',
  ],
  'server/core/document': ['server/core', 'grammar/src'],
  'server/core/features': ['server/core', 'grammar/src'],
  'server/protocol': ['server/core'],
  'server/lsp': [
    'server/core',
    'server/protocol',
    'grammar/src',
    'vscode-languageserver',
    'vscode-languageserver-textdocument',
    'vscode-uri',
    'node:',
    'package.json',
  ],
  'server/cli': [
    'server/core',
    'server/lsp',
    'server/protocol',
    'grammar/src',
    'node:',
    'vscode-uri',
    '@resvg/resvg-js',
    'package.json',
  ],
  'server/program': ['server/cli', 'server/lsp', 'server/core'],
  'client/src': [
    'vscode',
    'vscode-languageclient',
    'server/protocol',
    'server/core/diagram',
    'client/src',
    'node:',
    'vscode-uri',
  ],
  'client/media': ['server/protocol', 'server/core/diagram', 'client/media'],
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

  it.each(
    files.map((f) => relative(ROOT, f)).filter((f) => f.startsWith('server/core') || f.startsWith('grammar/src')),
  )('%s uses no clock, chance, console or platform', (file) => {
    const text = readFileSync(join(ROOT, file), 'utf8').replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');
    // `window` and `document` are the compiler's business: these projects have no DOM types.
    expect(text).not.toMatch(/\bDate\b|\bperformance\.|Math\.random|\bsetTimeout\b|\bconsole\.|\bprocess\./);
  });
});
