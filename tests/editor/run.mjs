/**
 * The tests in the real editor: the suite inside the extension host, then the packaged extension driven as a user does.
 *
 *   node tests/editor/run.mjs            everything
 *   node tests/editor/run.mjs host       the extension-host suite only
 *   node tests/editor/run.mjs e2e        the user's sessions only
 *   node tests/editor/run.mjs hands      the session with values set by hand only
 *   node tests/editor/run.mjs typing     the session in which rigs and snippets are typed only
 *   node tests/editor/run.mjs answers    the session with suggestions, readings and the build sheet only
 *
 * Where the machine lacks a browser (or, with a desktop editor wanted, cannot get one) it says what was not run; under CI that
 * is a failure. The last line is `N passed, N failed`; the figures also go to `.cache/editor-results.json`.
 */
import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { runTests } from '@vscode/test-electron';
import * as esbuild from 'esbuild';
import { packageTo } from '../package/package.mjs';
import { findBrowser, installEditor, ROOT } from './setup.mjs';
import { removeFolder } from './workbench.mjs';

const SUITE = join(ROOT, '.cache/editor-tests/host/index.js');
const LAST_LINE = /^(?:\[suite\] )?(\d+) passed, (\d+) failed\s*$/gm;
const chosen = process.argv[2] ?? 'all';

/** Why the tests cannot run here, or null. */
function missing() {
  if (findBrowser() === null) return 'no browser on this machine (CAISSON_BROWSER may name one)';
  try {
    installEditor();
    return null;
  } catch (error) {
    return `no editor: ${error.message}`;
  }
}

async function bundleSuite() {
  await esbuild.build({
    entryPoints: [join(ROOT, 'tests/editor/host/index.ts')],
    outfile: SUITE,
    bundle: true,
    platform: 'node',
    format: 'cjs',
    target: 'node20',
    external: ['vscode'],
    define: { 'process.env.CAISSON_RIGS_FOLDER': JSON.stringify(join(ROOT, 'tests/editor/rigs')) },
    logLevel: 'warning',
  });
}

/** A workspace of two empty folders. */
function twoFolders(scratch) {
  for (const name of ['first', 'second']) mkdirSync(join(scratch, name));
  const path = join(scratch, 'two.code-workspace');
  writeFileSync(path, JSON.stringify({ folders: [{ path: 'first' }, { path: 'second' }], settings: {} }));
  return path;
}

/** Runs the extension-host suite; on a desktop (CAISSON_DESKTOP_EDITOR=1) in the editor that test-electron downloads. */
async function hostSuite() {
  await bundleSuite();
  const scratch = mkdtempSync(join(tmpdir(), 'caisson-folders-'));
  const desktop = process.env.CAISSON_DESKTOP_EDITOR === '1';
  const options = {
    extensionDevelopmentPath: ROOT,
    extensionTestsPath: SUITE,
    launchArgs: [twoFolders(scratch), '--disable-workspace-trust'],
    ...(desktop ? {} : { vscodeExecutablePath: join(ROOT, 'tests/editor/launcher.mjs') }),
  };
  const output = await collectOutput(() => runTests(options));
  await removeFolder(scratch);
  return tally(output);
}

/** test-electron prints straight to our output: it is read on the way, for the closing line. */
async function collectOutput(run) {
  const lines = [];
  const write = process.stdout.write.bind(process.stdout);
  process.stdout.write = (chunk, ...rest) => {
    lines.push(String(chunk));
    return write(chunk, ...rest);
  };
  try {
    await run();
  } catch (error) {
    lines.push(`\n${error?.message ?? error}\n`);
  } finally {
    process.stdout.write = write;
  }
  return lines.join('');
}

/** Runs one script of tests in a process of its own, with its output passed on. */
async function script(file) {
  const child = spawn('node', [join(ROOT, 'tests/editor', file)], { stdio: ['ignore', 'pipe', 'inherit'] });
  let output = '';
  child.stdout.on('data', (data) => {
    output += data;
    process.stdout.write(data);
  });
  await new Promise((resolve) => child.once('exit', resolve));
  return tally(output);
}

/** A user's session. It hangs on the pace of a whole browser: where a step fails it is run once more, and that run counts. */
async function session(file) {
  const first = await script(file);
  if (first.failed === 0) return first;
  console.log(`the session of ${file}: ${first.failed} steps failed; once more, and this run counts`);
  return script(file);
}

/** Figures of a closing line; a run without one counts as one failure. */
function tally(output) {
  const last = [...output.matchAll(LAST_LINE)].pop();
  return last ? { passed: Number(last[1]), failed: Number(last[2]) } : { passed: 0, failed: 1 };
}

/** Packages the extension as it is published and looks into it; gives where it is. */
function packageExtension(folder) {
  const vsix = join(folder, 'caisson.vsix');
  const faults = packageTo(vsix);
  for (const fault of faults) console.log(`FAIL  the package: ${fault}`);
  if (faults.length === 0) console.log(`ok    the package holds what it should, in ${statSync(vsix).size} bytes`);
  return { vsix, passed: faults.length === 0 ? 1 : 0, failed: faults.length === 0 ? 0 : 1 };
}

/** Prints the closing line and leaves the figures for `npm test`; gives the exit code. */
function end(figures) {
  const { passed, failed } = figures;
  mkdirSync(join(ROOT, '.cache'), { recursive: true });
  writeFileSync(join(ROOT, '.cache/editor-results.json'), JSON.stringify(figures));
  console.log(`${passed} passed, ${failed} failed`);
  return failed === 0 ? 0 : 1;
}

async function main() {
  const scratch = mkdtempSync(join(tmpdir(), 'caisson-package-'));
  try {
    const packaged = packageExtension(scratch);
    const reason = missing();
    if (reason !== null) {
      console.log(`not run: the tests in the real editor, because there is ${reason}`);
      return end({ passed: packaged.passed, failed: packaged.failed + (process.env.CI ? 1 : 0), skipped: 1 });
    }
    process.env.CAISSON_VSIX = packaged.vsix;
    const results = [packaged];
    const wants = (...names) => chosen === 'all' || names.includes(chosen);
    if (wants('host')) results.push(await hostSuite());
    if (wants('e2e')) results.push(await script('worker.mjs'), await session('e2e.mjs'));
    if (wants('e2e', 'hands')) results.push(await session('hands.mjs'));
    if (wants('e2e', 'typing')) results.push(await script('typing.mjs'));
    if (wants('e2e', 'answers')) results.push(await session('answers.mjs'));
    const sum = (key) => results.reduce((total, result) => total + result[key], 0);
    return end({ passed: sum('passed'), failed: sum('failed'), skipped: 0 });
  } finally {
    await removeFolder(scratch);
  }
}

process.exitCode = await main();
