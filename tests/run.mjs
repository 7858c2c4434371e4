/**
 * `npm test`: unit, reference and protocol tests with vitest, then the suites in the real editor; ends with one line that counts
 * all of it. Where the machine lacks the browser or the editor, says what was skipped; under CI that is a failure.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';

const results = '.cache/vitest.json';
const editorResults = '.cache/editor-results.json';
mkdirSync('.cache', { recursive: true });
rmSync(results, { force: true });
rmSync(editorResults, { force: true });

const run = (command, ...args) => spawnSync(command, args, { stdio: 'inherit', env: process.env }).status ?? 1;

const build = run(process.execPath, 'esbuild.mjs');
if (build !== 0) process.exit(build);
const unit = run(
  process.execPath,
  'node_modules/vitest/vitest.mjs',
  'run',
  '--reporter=default',
  '--reporter=json',
  `--outputFile.json=${results}`,
);
const editor = run(process.execPath, 'tests/editor/run.mjs');

const total = { passed: 0, failed: 0, skipped: 0 };
if (existsSync(results)) {
  const report = JSON.parse(readFileSync(results, 'utf8'));
  total.passed += report.numPassedTests;
  total.failed += report.numFailedTests;
  total.skipped += report.numPendingTests;
}
if (existsSync(editorResults)) {
  const report = JSON.parse(readFileSync(editorResults, 'utf8'));
  total.passed += report.passed;
  total.failed += report.failed;
  total.skipped += report.skipped ?? 0;
}
if ((unit !== 0 || editor !== 0) && total.failed === 0) total.failed = 1;
console.log(`\n${total.passed} passed, ${total.failed} failed, ${total.skipped} skipped`);
process.exit(unit !== 0 || editor !== 0 ? 1 : 0);
