/**
 * The build: bundles every program of the project into `dist/`.
 *
 *   node esbuild.mjs             with source maps, for working on it
 *   node esbuild.mjs --release   minified, without source maps: what is packaged
 *   node esbuild.mjs --watch     rebuilds on change
 */
import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

const ROOT = dirname(fileURLToPath(import.meta.url));
const release = process.argv.includes('--release');
const watch = process.argv.includes('--watch');

/** Output → entry point and what is particular about it. */
const BUNDLES = {
  'extension.cjs': {
    entry: 'client/src/extension.ts',
    platform: 'node',
    target: 'node20',
    format: 'cjs',
    external: ['vscode'],
  },
  'extension.web.js': {
    entry: 'client/src/extension-web.ts',
    platform: 'browser',
    target: 'es2022',
    format: 'cjs',
    external: ['vscode'],
  },
  // Command line, language server (as a process and as a worker) and drawing function in one: server/program/entry.ts.
  'caisson.js': {
    entry: 'server/program/entry.ts',
    platform: 'node',
    target: ['node20', 'es2022'],
    format: 'cjs',
    conditions: ['node', 'browser'],
    banner: { js: '#!/usr/bin/env node\nvar module = typeof module === "object" ? module : { exports: {} };' },
    // Draws PNG; a native module that is present where the project is installed and absent in the packaged extension.
    external: ['@resvg/resvg-js'],
  },
  'preview.js': { entry: 'client/page/preview.ts', platform: 'browser', target: 'es2022', format: 'iife' },
  'preview.css': { entry: 'client/page/preview.css', platform: 'browser', target: 'es2022' },
};

/** Options for one bundle. */
function optionsFor(output, outdir) {
  const { entry, ...particular } = BUNDLES[output];
  return {
    absWorkingDir: ROOT,
    entryPoints: [entry],
    outfile: join(outdir, output),
    bundle: true,
    minify: release,
    sourcemap: release ? false : 'linked',
    logLimit: 5,
    legalComments: 'none',
    metafile: true,
    logLevel: 'warning',
    mainFields: particular.platform === 'node' ? ['module', 'main'] : ['browser', 'module', 'main'],
    ...particular,
  };
}

/** Ships beside the bundles: the licences of what is inside them ask for it. */
const NOTICES = 'THIRD-PARTY-NOTICES.txt';

/** Name, version and licence text of every package that a bundle contains, from the lists of inputs that the bundler gives. */
function notices(metafiles) {
  const folders = new Set();
  for (const { outputs } of metafiles)
    for (const { inputs } of Object.values(outputs))
      for (const path of Object.keys(inputs)) {
        const found = /^(?:.*\/)?node_modules\/(?:@[^/]+\/)?[^/]+/.exec(path);
        if (found) folders.add(found[0]);
      }
  const entries = [...folders].sort().map((folder) => {
    const { name, version, license } = JSON.parse(readFileSync(join(ROOT, folder, 'package.json'), 'utf8'));
    const file = readdirSync(join(ROOT, folder)).find((f) => /^(licen[cs]e|copying)/i.test(f));
    const text = file ? readFileSync(join(ROOT, folder, file), 'utf8').trim() : `Licence: ${license}`;
    return `${name} ${version} (${license})\n\n${text}\n`;
  });
  const rule = `\n${'-'.repeat(80)}\n\n`;
  return `Software of others that is part of this program, with its licences.\n${rule}${entries.join(rule)}`;
}

async function main() {
  const outdir = join(ROOT, 'dist');
  mkdirSync(outdir, { recursive: true });
  for (const file of readdirSync(outdir))
    if (file !== NOTICES && !(file.replace(/\.map$/, '') in BUNDLES)) rmSync(join(outdir, file));
  const wanted = Object.keys(BUNDLES);
  if (watch) {
    for (const output of wanted) await (await esbuild.context(optionsFor(output, outdir))).watch();
    console.log(`watching ${wanted.length} entry points`);
    return;
  }
  const results = await Promise.allSettled(wanted.map((output) => esbuild.build(optionsFor(output, outdir))));
  const failed = wanted.filter((_, i) => results[i].status === 'rejected');
  if (existsSync(join(outdir, 'caisson.js'))) chmodSync(join(outdir, 'caisson.js'), 0o755);
  const metafiles = results.flatMap((r) => (r.status === 'fulfilled' ? [r.value.metafile] : []));
  if (failed.length === 0) writeFileSync(join(outdir, NOTICES), notices(metafiles));
  console.log(`built ${wanted.length - failed.length} of ${wanted.length} bundles in dist`);
  if (failed.length > 0) throw new Error(`not built: ${failed.join(', ')}`);
}

main().catch((error) => {
  console.error(error.message);
  process.exitCode = 1;
});
