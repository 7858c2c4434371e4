/** The server bundled for tests that spawn it: the same entry and format as the build, in a folder of its own. */
import { copyFileSync, existsSync, mkdirSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'esbuild';

const ROOT = join(__dirname, '../..');

/** Builds the command line as `caisson.cjs` and gives its path; PNG is left out. */
export async function bundleProgram(): Promise<string> {
  const outfile = join(mkdtempSync(join(tmpdir(), 'caisson-program-')), 'dist', 'caisson.cjs');
  await build({
    absWorkingDir: ROOT,
    entryPoints: ['server/cli/bin.ts'],
    outfile,
    bundle: true,
    platform: 'node',
    target: 'node20',
    format: 'cjs',
    mainFields: ['module', 'main'],
    external: ['@resvg/resvg-js', 'dejavu-fonts-ttf'],
    logLevel: 'error',
  });
  return outfile;
}

/** Builds `server.cjs` and gives its path; the language reference stands beside it as in the package. */
export async function bundleServer(): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-server-'));
  const outfile = join(folder, 'dist', 'server.cjs');
  await build({
    absWorkingDir: ROOT,
    entryPoints: ['server/lsp/node-main.ts'],
    outfile,
    bundle: true,
    minify: true,
    platform: 'node',
    target: 'node20',
    format: 'cjs',
    mainFields: ['module', 'main'],
    logLevel: 'error',
  });
  const reference = join(ROOT, 'grammar/REFERENCE.md');
  if (existsSync(reference)) {
    mkdirSync(join(folder, 'grammar'));
    copyFileSync(reference, join(folder, 'grammar', 'REFERENCE.md'));
  }
  return outfile;
}
