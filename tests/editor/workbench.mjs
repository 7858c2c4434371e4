/**
 * Starts the editor's server and shows its workbench in a browser. What is started here is ended by `close()`, also when the
 * test run itself is ended.
 */
import { execFileSync, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { findBrowser, SERVER_SCRIPT } from './setup.mjs';

/** Chromium makes no calls of its own with these: a closed network would refuse them, many at a time. */
const BROWSER_FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--no-first-run',
];

/** Settings of a quiet editor: no pages of its own, nothing that calls out. */
const QUIET = {
  // A suggestion that comes late would take an Enter that ends a line; words are picked from the list by hand.
  'editor.acceptSuggestionOnEnter': 'off',
  'workbench.startupEditor': 'none',
  'workbench.welcomePage.walkthroughs.openOnInstall': false,
  'workbench.tips.enabled': false,
  'telemetry.telemetryLevel': 'off',
  'update.mode': 'none',
  'extensions.autoCheckUpdates': false,
  'extensions.autoUpdate': false,
  'extensions.ignoreRecommendations': true,
  'chat.commandCenter.enabled': false,
  'window.confirmBeforeClose': 'never',
  'files.simpleDialog.enable': true,
  'editor.accessibilitySupport': 'off',
  'git.enabled': false,
  'files.autoSave': 'off',
};

/** A free port of this machine. */
export async function freePort() {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const { port } = probe.address();
      probe.close(() => resolve(port));
    });
  });
}

/**
 * Removes a folder that a process which is ending may still write to: its helpers outlive the editor's server by a moment. A folder that
 * stays in the temporary folder is no fault of what was tested.
 */
export async function removeFolder(folder) {
  for (let tries = 0; tries < 40; tries++) {
    try {
      return rmSync(folder, { recursive: true, force: true });
    } catch {
      await new Promise((resolve) => setTimeout(resolve, 250));
    }
  }
  console.error(`not removed: ${folder}`);
}

/**
 * Starts the editor's server.
 * `vsix`: extension to install; `settings`: of the user; `trust`: keep workspace trust on (restricted mode).
 */
export async function startServer({ vsix = null, settings = {}, trust = false, env = {} } = {}) {
  const home = mkdtempSync(join(tmpdir(), 'caisson-editor-'));
  const extensions = join(home, 'extensions');
  mkdirSync(join(home, 'data/Machine'), { recursive: true });
  mkdirSync(join(home, 'data/User'), { recursive: true });
  const user = { ...QUIET, ...settings };
  if (!trust) user['security.workspace.trust.enabled'] = false;
  writeFileSync(join(home, 'data/Machine/settings.json'), JSON.stringify(user));
  writeFileSync(join(home, 'data/User/settings.json'), JSON.stringify(user));
  const folders = ['--extensions-dir', extensions, '--server-data-dir', home, '--user-data-dir', join(home, 'data')];
  const common = ['--accept-server-license-terms', ...folders];
  if (vsix) execFileSync('node', [SERVER_SCRIPT, ...common, '--install-extension', vsix], { stdio: 'pipe' });

  const port = await freePort();
  const parameters = [
    SERVER_SCRIPT,
    ...common,
    ...['--host', '127.0.0.1', '--port', String(port), '--without-connection-token', '--telemetry-level', 'off'],
    ...(trust ? [] : ['--disable-workspace-trust']),
  ];
  const child = spawn('node', parameters, { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, ...env } });
  const log = [];
  child.stdout.on('data', (data) => log.push(String(data)));
  child.stderr.on('data', (data) => log.push(String(data)));
  const end = () => child.kill('SIGKILL');
  process.once('exit', end);
  await answering(port, child, log);
  return {
    port,
    home,
    log,
    close: async () => {
      process.removeListener('exit', end);
      const ended = new Promise((resolve) => child.once('exit', resolve));
      child.kill();
      const timer = setTimeout(end, 5_000);
      await ended;
      clearTimeout(timer);
      await removeFolder(home);
    },
  };
}

async function answering(port, child, log) {
  for (let tries = 0; tries < 150; tries++) {
    if (child.exitCode !== null) throw new Error(`the editor's server ended: ${log.join('').slice(-500)}`);
    const ok = await fetch(`http://127.0.0.1:${port}/version`).then(
      (response) => response.ok,
      () => false,
    );
    if (ok) return;
    await new Promise((resolve) => setTimeout(resolve, 200));
  }
  throw new Error(`the editor's server does not answer: ${log.join('').slice(-500)}`);
}

/** Starts the browser with a profile of its own, so that reloads keep what the workbench stored. */
export async function startBrowser({ width = 1400, height = 860 } = {}) {
  const profile = mkdtempSync(join(tmpdir(), 'caisson-browser-'));
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: findBrowser(),
    headless: true,
    args: BROWSER_FLAGS,
    viewport: { width, height },
    acceptDownloads: true,
    permissions: ['clipboard-read', 'clipboard-write'],
  });
  return {
    context,
    close: async () => {
      await context.close();
      await removeFolder(profile);
    },
  };
}

/** Address of the workbench; `payload` is the list of pairs it reads at its start. */
export function workbenchUrl(port, { folder = null, workspace = null, payload = [] } = {}) {
  const query = new URLSearchParams();
  if (folder) query.set('folder', folder);
  else if (workspace) query.set('workspace', workspace);
  else query.set('ew', 'true');
  if (payload.length > 0) query.set('payload', JSON.stringify(payload));
  return `http://localhost:${port}/?${query}`;
}

/** Address of a file of this machine as the workbench names it. */
export const remoteUri = (port, path) => `vscode-remote://localhost:${port}${path}`;
