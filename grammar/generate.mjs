/**
 * Writes what follows from the vocabulary: the colouring grammar, the language configuration's word pattern and the tables of
 * REFERENCE.md between their markers, those of the units, checks and metrics included. `npm run generate`; with `--check` it
 * writes nothing and fails where a file is not current.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { languageConfiguration, markdownInjection, rigGrammar } from './generate-textmate.mjs';
import { referenceTables } from './generate-tables.mjs';

const here = dirname(fileURLToPath(import.meta.url));

/** The language's own tables, from their TypeScript source. */
async function loadSource(name) {
  const { outputFiles } = await build({
    entryPoints: [join(here, name)],
    bundle: true,
    format: 'esm',
    platform: 'node',
    write: false,
    logLevel: 'silent',
  });
  return import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].text).toString('base64'));
}

function withTables(markdown, tables) {
  let result = markdown;
  for (const [name, table] of Object.entries(tables)) {
    const begin = `<!-- ${name}:begin -->`;
    const end = `<!-- ${name}:end -->`;
    const from = result.indexOf(begin);
    const to = result.indexOf(end);
    if (from < 0 || to < from) throw new Error(`REFERENCE.md has no markers for ${name}`);
    result = result.slice(0, from + begin.length) + '\n\n' + table.trim() + '\n\n' + result.slice(to);
  }
  return result;
}

const json = (value) => JSON.stringify(value, null, 2) + '\n';

const vocabulary = await loadSource('src/vocabulary.ts');
const names = await loadSource('src/name-pattern.ts');
const { unitsReference } = await loadSource('../server/core/units/reference.ts');
const { mediaReference } = await loadSource('../server/core/model/media-reference.ts');
const reference = join(here, 'REFERENCE.md');

const files = {
  [join(here, 'textmate/rig.tmLanguage.json')]: json(rigGrammar(vocabulary, names)),
  [join(here, 'textmate/markdown-rig.tmLanguage.json')]: json(markdownInjection()),
  [join(here, 'textmate/language-configuration.json')]: json(languageConfiguration(names)),
  [reference]: withTables(readFileSync(reference, 'utf8'), {
    ...referenceTables(vocabulary),
    units: unitsReference(),
    media: mediaReference(),
  }),
};

const read = (path) => {
  try {
    return readFileSync(path, 'utf8');
  } catch {
    return null;
  }
};

const stale = Object.entries(files).filter(([path, text]) => read(path) !== text);
if (!process.argv.includes('--check')) for (const [path, text] of stale) writeFileSync(path, text);
for (const [path] of stale) console.log(path);
if (process.argv.includes('--check') && stale.length > 0) {
  console.log('not current; run npm run generate');
  process.exitCode = 1;
}

// Checks and metrics, from their registries.
await import('./generate-reference.mjs');
