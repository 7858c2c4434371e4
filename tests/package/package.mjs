/**
 * Packages the extension as it is published, then looks into the package.
 *
 *   node tests/package/package.mjs caisson.vsix
 */
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { entriesOf, faultsOf } from './weigh.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

/** Writes the package and gives what is wrong with it, one sentence each. Building is part of it (`vscode:prepublish`). */
export function packageTo(path) {
  const flags = ['--no-dependencies', '--allow-missing-repository', '--no-rewrite-relative-links', '--out', path];
  try {
    execFileSync(process.execPath, [join(ROOT, 'node_modules/@vscode/vsce/vsce'), 'package', ...flags], {
      cwd: ROOT,
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
