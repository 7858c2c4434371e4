// Writes the generated sections of grammar/REFERENCE.md from the registries of checks and metrics: node grammar/generate-reference.mjs
// With --check it only says whether they are current (exit code 1 where not).
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const file = join(root, 'grammar', 'REFERENCE.md');

const bundled = await build({
  stdin: {
    contents: `
      export { codesReference, anchorOf } from './server/core/checks/reference';
      export { glossaryReference } from './server/core/report/glossary';
      export { metricsReference } from './server/core/metrics/reference';
      export { ALL_CODES } from './server/core/document/codes';
    `,
    resolveDir: root,
    loader: 'ts',
  },
  bundle: true,
  write: false,
  platform: 'node',
  format: 'esm',
});
const code = Buffer.from(bundled.outputFiles[0].text).toString('base64');
const { codesReference, glossaryReference, metricsReference, anchorOf, ALL_CODES } = await import(
  `data:text/javascript;base64,${code}`
);

const sampled = (name) => existsSync(join(root, 'samples', 'broken', `${anchorOf(name)}.rig`));
const before = readFileSync(file, 'utf8');
let after = section(before, 'checks', codesReference(ALL_CODES, sampled));
after = section(after, 'metrics', metricsReference());
after = section(after, 'words', glossaryReference());

if (process.argv.includes('--check')) {
  if (after !== before) process.exitCode = 1;
  process.stdout.write(
    after === before
      ? 'REFERENCE.md is current.\n'
      : 'REFERENCE.md is not current: run node grammar/generate-reference.mjs\n',
  );
} else if (after !== before) {
  writeFileSync(file, after);
}

function section(text, name, content) {
  const [begin, end] = [`<!-- ${name}:begin -->`, `<!-- ${name}:end -->`];
  const from = text.indexOf(begin);
  const to = text.indexOf(end);
  if (from < 0 || to < from) throw new Error(`REFERENCE.md has no section ${begin} … ${end}`);
  return `${text.slice(0, from + begin.length)}\n\n${content}\n${text.slice(to)}`;
}
