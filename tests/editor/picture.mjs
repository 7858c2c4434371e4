/**
 * Draws the picture of the editor in README.md: the first sample with its preview beside it, in the packaged extension.
 *
 *   node tests/editor/picture.mjs     writes samples/pictures/editor.jpg, and what it shows beside it
 *
 * `tests/docs/pictures.test.ts` holds what it shows against the sample and its diagram, so that an old picture is found.
 */
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { packageTo } from '../package/package.mjs';
import { installEditor, ROOT } from './setup.mjs';
import { until } from './steps.mjs';
import { createUser, workbenchReady } from './user.mjs';
import { startBrowser, startServer, workbenchUrl } from './workbench.mjs';

const SAMPLE = 'digester_bank.rig';
const PICTURE = join(ROOT, 'samples/pictures/editor.jpg');

installEditor();
const folder = mkdtempSync(join(tmpdir(), 'caisson-picture-'));
const vsix = join(folder, 'caisson.vsix');
packageTo(vsix);
const rigs = join(folder, 'rigs');
mkdirSync(rigs);
cpSync(join(ROOT, 'samples', SAMPLE), join(rigs, SAMPLE));

const server = await startServer({
  vsix,
  settings: {
    'workbench.colorTheme': 'Default Light Modern',
    'workbench.sideBar.location': 'right',
    'editor.fontSize': 13,
    'editor.minimap.enabled': false,
  },
});
const browser = await startBrowser({ width: 1300, height: 730 });
try {
  const page = browser.context.pages()[0] ?? (await browser.context.newPage());
  const user = createUser(page);
  await page.goto(workbenchUrl(server.port, { folder: rigs }));
  await workbenchReady(page);
  await user.openFile(SAMPLE);
  await user.command('View: Close Primary Side Bar').catch(() => user.press('Control+b'));
  await user.goTo(34);
  await user.press('Control+k');
  await user.press('v');
  const frame = await user.preview('[data-lane]', 60_000);
  const texts = async () => frame.locator('#caisson-preview svg text').allTextContents();
  await until('the times', async () => (await texts()).some((text) => /\d m?s$/.test(text)));
  await page.waitForTimeout(3_000);
  await page.screenshot({ path: PICTURE, type: 'jpeg', quality: 74 });
  const times = [...new Set((await texts()).flatMap((text) => /^[\d.]+ m?s$/.exec(text.trim()) ?? []))].sort();
  const shown = { sample: `samples/${SAMPLE}`, text: readFileSync(join(rigs, SAMPLE), 'utf8'), times };
  writeFileSync(PICTURE.replace('.jpg', '.json'), `${JSON.stringify(shown, null, 2)}\n`);
  console.log(`${PICTURE}: ${times.length} times`);
} finally {
  await browser.close();
  await server.close();
  rmSync(folder, { recursive: true, force: true });
}
