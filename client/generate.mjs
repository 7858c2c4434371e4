/**
 * Writes what package.json takes from tables: the settings (server/protocol/settings.ts) and the semantic token types
 * (server/protocol/messages.ts); their texts go to package.nls.json, for translation. `--check` writes nothing and fails where a file
 * is not current. Part of `npm run generate`.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '..');
const MANIFEST = join(ROOT, 'package.json');
const WORDS = join(ROOT, 'package.nls.json');

/** Exports of a module in TypeScript. */
async function load(path) {
  const { outputFiles } = await build({ entryPoints: [join(ROOT, path)], bundle: true, format: 'esm', write: false });
  return import(`data:text/javascript,${encodeURIComponent(outputFiles[0].text)}`);
}

const settingKey = (spec) => `setting.${spec.name}`;
const tokenKey = (type) => `token.${type.name}`;

function setting(spec, order) {
  return {
    order,
    type: spec.type,
    default: spec.default,
    scope: /^(trace|preview)\./.test(spec.name) ? 'window' : 'resource',
    markdownDescription: `%${settingKey(spec)}%`,
    ...(spec.values ? { enum: spec.values } : {}),
    ...(spec.type === 'object' ? { additionalProperties: { type: 'string' } } : {}),
    ...(spec.type === 'number' ? { minimum: 1 } : {}),
  };
}

const { SETTINGS, SETTINGS_SECTION } = await load('server/protocol/settings.ts');
const { TOKEN_TYPES } = await load('server/protocol/messages.ts');

/** Writes a file of JSON, or only says that it is not current. */
function put(path, value, before) {
  const after = JSON.stringify(value, null, 2) + '\n';
  if (after === before) return;
  if (process.argv.includes('--check')) {
    console.error(`${basename(path)} is not current: npm run generate`);
    process.exitCode = 1;
    return;
  }
  writeFileSync(path, after);
  console.log(`${basename(path)}: settings and token types written`);
}

const before = readFileSync(MANIFEST, 'utf8');
const manifest = JSON.parse(before);
const ownTypes = TOKEN_TYPES.filter((type) => !type.standard);
manifest.contributes.configuration.properties = Object.fromEntries(
  SETTINGS.map((spec, i) => [`${SETTINGS_SECTION}.${spec.name}`, setting(spec, i + 1)]),
);
manifest.contributes.semanticTokenTypes = ownTypes.map((type) => ({
  id: type.name,
  superType: type.superType,
  description: `%${tokenKey(type)}%`,
}));
put(MANIFEST, manifest, before);

const wordsBefore = readFileSync(WORDS, 'utf8');
const kept = Object.entries(JSON.parse(wordsBefore)).filter(([key]) => !/^(setting|token)\./.test(key));
const generated = [
  ...SETTINGS.map((spec) => [settingKey(spec), spec.doc]),
  ...ownTypes.map((type) => [tokenKey(type), type.doc]),
];
put(WORDS, Object.fromEntries([...kept, ...generated]), wordsBefore);
