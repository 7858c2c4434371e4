/**
 * Packages the extension as it is published, then looks into the package.
 *
 *   node tests/package/package.mjs caisson.vsix
 */
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { CONTENT, entriesOf, faultsOf } from './weigh.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

/**
 * A folder with the files of the extension and nothing else. The list of files in package.json is that of the npm package, which
 * holds the command line only; the packager of the extension would take it for its own.
 */
function stage() {
  execFileSync(process.execPath, [join(ROOT, 'esbuild.mjs'), '--release'], { cwd: ROOT, stdio: 'pipe' });
  const folder = mkdtempSync(join(tmpdir(), 'caisson-package-'));
  for (const name of CONTENT) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    copyFileSync(join(ROOT, name), join(folder, name));
  }
  const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));
  for (const field of ['files', 'scripts', 'devDependencies']) delete manifest[field];
  // The npm package shows the text itself; the editor looks it up in the language of its user.
  manifest.description = '%description%';
  writeFileSync(join(folder, 'package.json'), JSON.stringify(manifest, null, 2));
  return folder;
}

/** Writes the package and gives what is wrong with it, one sentence each. Building is part of it. */
export function packageTo(path) {
  const flags = [
    '--no-dependencies',
    '--allow-missing-repository',
    '--no-rewrite-relative-links',
    '--out',
    resolve(path),
  ];
  const folder = stage();
  try {
    execFileSync(process.execPath, [join(ROOT, 'node_modules/@vscode/vsce/vsce'), 'package', ...flags], {
      cwd: folder,
      stdio: 'pipe',
    });
  } catch (error) {
    return [
      `it could not be made: ${String(error.stderr ?? error)
        .trim()
        .split('\n')
        .slice(-3)
        .join(' ')}`,
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return faultsOf(readFileSync(path));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const path = process.argv[2] ?? 'caisson.vsix';
  const faults = packageTo(path);
  for (const fault of faults) console.error(fault);
  if (faults.length === 0) {
    const zip = readFileSync(path);
    const entries = entriesOf(zip).sort((a, b) => b.bytes - a.bytes);
    for (const entry of entries.slice(0, 6)) console.log(`${String(entry.bytes).padStart(8)}  ${entry.name}`);
    console.log(`${path}: ${zip.length} bytes, ${entries.length} files`);
  }
  process.exitCode = faults.length > 0 ? 1 : 0;
}
