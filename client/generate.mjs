/**
 * Writes what package.json takes from tables: the settings (server/protocol/settings.ts) and the semantic token types
 * (server/protocol/messages.ts). `--check` writes nothing and fails where the file is not current. Part of `npm run generate`.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '..');
const MANIFEST = join(ROOT, 'package.json');

/** Exports of a module in TypeScript. */
async function load(path) {
  const { outputFiles } = await build({ entryPoints: [join(ROOT, path)], bundle: true, format: 'esm', write: false });
  return import(`data:text/javascript,${encodeURIComponent(outputFiles[0].text)}`);
}

function setting(spec, order) {
  return {
    order,
    type: spec.type,
    default: spec.default,
    scope: /^(trace|preview)\./.test(spec.name) ? 'window' : 'resource',
    markdownDescription: spec.doc,
    ...(spec.values ? { enum: spec.values } : {}),
    ...(spec.type === 'object' ? { additionalProperties: { type: 'string' } } : {}),
    ...(spec.type === 'number' ? { minimum: 1 } : {}),
  };
}

const { SETTINGS, SETTINGS_SECTION } = await load('server/protocol/settings.ts');
const { TOKEN_TYPES } = await load('server/protocol/messages.ts');
const before = readFileSync(MANIFEST, 'utf8');
const manifest = JSON.parse(before);
manifest.contributes.configuration.properties = Object.fromEntries(
  SETTINGS.map((spec, i) => [`${SETTINGS_SECTION}.${spec.name}`, setting(spec, i + 1)]),
);
manifest.contributes.semanticTokenTypes = TOKEN_TYPES.filter((type) => !type.standard).map((type) => ({
  id: type.name,
  superType: type.superType,
  description: type.doc,
}));
const after = JSON.stringify(manifest, null, 2) + '\n';
if (after !== before && process.argv.includes('--check')) {
  console.error('package.json is not current: npm run generate');
  process.exitCode = 1;
} else if (after !== before) {
  writeFileSync(MANIFEST, after);
  console.log('package.json: settings and token types written');
}
