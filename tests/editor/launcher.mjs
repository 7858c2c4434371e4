#!/usr/bin/env node
/**
 * Stands in for a desktop editor: given to `runTests` of @vscode/test-electron as `vscodeExecutablePath`, it understands the
 * same arguments, shows the workbench of the editor's server in a browser, lets the suite run in the real extension host and
 * ends with the suite's result. What the suite prints is passed on.
 */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { remoteUri, removeFolder, startBrowser, startServer, workbenchUrl } from './workbench.mjs';

const LIMIT_MS = Number(process.env.CAISSON_SUITE_LIMIT_MS ?? 240_000);
const SUITE_LINE = /^\[suite\] /;
const LAST_LINE = /^\[suite\] (\d+) passed, (\d+) failed/;

function argument(name) {
  const prefix = `--${name}=`;
  return process.argv.find((given) => given.startsWith(prefix))?.slice(prefix.length) ?? null;
}

/** Resolves with the number of failed tests when the suite has printed its last line. */
function suiteEnd(page) {
  return new Promise((resolve) => {
    page.on('console', (message) => {
      const text = message.text().replace(/^%c[^%]*%c\s*|^\[Extension Host\]\s*/g, '');
      const at = text.indexOf('[suite] ');
      const line =
        at < 0
          ? ''
          : text
              .slice(at)
              .split(/ color: /)[0]
              .trimEnd();
      if (!SUITE_LINE.test(line)) return;
      console.log(line.replace(SUITE_LINE, ''));
      const last = LAST_LINE.exec(line);
      if (last) resolve(Number(last[2]));
    });
  });
}

async function main() {
  const development = argument('extensionDevelopmentPath');
  const suite = argument('extensionTestsPath');
  if (!development || !suite) throw new Error('needs --extensionDevelopmentPath= and --extensionTestsPath=');
  const scratch = mkdtempSync(join(tmpdir(), 'caisson-suite-'));
  const target = process.argv.slice(2).find((given) => !given.startsWith('-')) ?? scratch;
  const server = await startServer({ env: { CAISSON_SUITE: '1' } });
  const browser = await startBrowser();
  try {
    const page = browser.context.pages()[0] ?? (await browser.context.newPage());
    const failed = suiteEnd(page);
    const opened = target.endsWith('.code-workspace') ? { workspace: resolve(target) } : { folder: resolve(target) };
    const payload = [
      ['extensionDevelopmentPath', remoteUri(server.port, resolve(development))],
      ['extensionTestsPath', remoteUri(server.port, resolve(suite))],
    ];
    await page.goto(workbenchUrl(server.port, { ...opened, payload }));
    const limit = new Promise((_, reject) => {
      setTimeout(() => reject(new Error(`the suite did not end within ${LIMIT_MS / 1000} s`)), LIMIT_MS).unref();
    });
    return await Promise.race([failed, limit]);
  } finally {
    await browser.close();
    await server.close();
    await removeFolder(scratch);
  }
}

main().then(
  (failed) => process.exit(failed === 0 ? 0 : 1),
  (error) => {
    console.error(error.message);
    process.exit(2);
  },
);
