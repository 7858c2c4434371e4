/**
 * `npm run bench [NAME …]`: bundles every `tests/bench/*.bench.ts` (or those named) and runs them one after the other, `*.bench.mjs` as it is. They print ratios
 * measured in one run on one machine; nothing here is a test.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const folder = dirname(fileURLToPath(import.meta.url));
const out = join(folder, '../../.cache/bench');
mkdirSync(out, { recursive: true });
const wanted = process.argv.slice(2);
const names = readdirSync(folder)
  .filter((file) => /\.bench\.(ts|mjs)$/.test(file))
  .map((file) => file.replace(/\.bench\.(ts|mjs)$/, ''))
  .filter((name) => wanted.length === 0 || wanted.includes(name));

let failed = 0;
for (const name of names) {
  console.log(`\n== ${name}`);
  const script = join(folder, `${name}.bench.mjs`);
  if (existsSync(script)) {
    if (spawnSync(process.execPath, [script], { stdio: 'inherit' }).status !== 0) failed++;
    continue;
  }
  const outfile = join(out, `${name}.cjs`);
  await build({
    entryPoints: [join(folder, `${name}.bench.ts`)],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'cjs',
    mainFields: ['module', 'main'],
    external: ['esbuild'],
    logLevel: 'error',
  });
  if (spawnSync(process.execPath, ['--expose-gc', outfile], { stdio: 'inherit' }).status !== 0) failed++;
}
process.exit(failed === 0 ? 0 : 1);
