/**
 * The editor that the tests drive: the VS Code server, extension host and web workbench inside the npm package `code-server`
 * (4.100.3 carries VS Code 1.100.3 and runs on Node 20). Installed once into `.cache/editor`, about a minute and 300 MB;
 * not a dependency of the project.
 *
 *   node tests/editor/setup.mjs      install, or say that it is there
 */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), '../..');
export const CACHE = process.env.CAISSON_EDITOR_CACHE ?? join(ROOT, '.cache/editor');
const VERSION = '4.100.3';
const NATIVE_MODULES = ['node-pty', '@vscode/spdlog', 'native-watchdog'];
/** Where the server is, with what it gives out to browsers. */
export const SERVER_FOLDER = join(CACHE, 'node_modules/code-server/lib/vscode');
const READY = join(CACHE, `ready-${VERSION}`);

/** The script that starts the server; present after `installEditor()`. */
export const SERVER_SCRIPT = join(SERVER_FOLDER, 'out/server-main.js');

/** The browser that shows the workbench, or null where the machine has none. */
export function findBrowser() {
  const candidates = [
    process.env.CAISSON_BROWSER,
    '/usr/bin/chromium',
    '/usr/bin/chromium-browser',
    '/usr/bin/google-chrome',
  ];
  return candidates.find((path) => path && existsSync(path)) ?? null;
}

/** Installs the editor unless it is there; throws with one sentence where it cannot. */
export function installEditor() {
  if (existsSync(READY)) return;
  console.log(`editor: installing code-server ${VERSION} into ${CACHE} (about a minute, 300 MB)`);
  mkdirSync(CACHE, { recursive: true });
  writeFileSync(join(CACHE, 'package.json'), '{ "private": true }\n');
  npm(CACHE, 'install', '--ignore-scripts', `code-server@${VERSION}`);
  npm(SERVER_FOLDER, 'install', '--ignore-scripts', '--omit=dev');
  // node-pty's script runs node-gyp through npx, which must not stop to ask.
  npm(SERVER_FOLDER, 'rebuild', '--yes', ...NATIVE_MODULES);
  placeRipgrep();
  const link = join(SERVER_FOLDER, 'node_modules.asar');
  if (!existsSync(link)) symlinkSync('node_modules', link);
  writeFileSync(READY, '');
}

function npm(folder, ...parameters) {
  try {
    execFileSync('npm', [...parameters, '--no-audit', '--no-fund', '--loglevel=error'], {
      cwd: folder,
      stdio: ['ignore', 'ignore', 'pipe'],
      env: { ...process.env, npm_config_yes: 'true' },
    });
  } catch (error) {
    const reason = String(error.stderr ?? error.message)
      .trim()
      .split('\n')
      .slice(-3)
      .join(' ');
    throw new Error(`the editor could not be installed: npm ${parameters[0]} failed (${reason})`, { cause: error });
  }
}

/** The editor searches files with ripgrep; its package would download one. */
function placeRipgrep() {
  const target = join(SERVER_FOLDER, 'node_modules/@vscode/ripgrep/bin/rg');
  if (existsSync(target)) return;
  let found = null;
  try {
    found = execFileSync('which', ['rg'], { encoding: 'utf8' }).trim();
  } catch {
    console.log('editor: no ripgrep on this machine; searching in files will not work in the tests');
  }
  if (!found) return;
  mkdirSync(dirname(target), { recursive: true });
  symlinkSync(found, target);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  installEditor();
  console.log(`editor: code-server ${VERSION} is in ${CACHE}`);
}
