/**
 * The extension in the real editor: weight of the package; from a key to the squiggle it causes; from a key to the changed
 * drawing in the preview, for small and large rigs. Times are taken inside the pages, from the key's event to the change of the
 * document; drawn by software, without a graphics processor, so upper bounds.
 */
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { findBrowser, installEditor } from '../editor/setup.mjs';
import { createUser, workbenchReady } from '../editor/user.mjs';
import { packageTo } from '../package/package.mjs';
import { startBrowser, startServer, workbenchUrl } from '../editor/workbench.mjs';

const EDITS = 25;

/** A sound rig of `doors` doors that open one after the other; about nine shapes a door with its signal. */
function rigOf(doors) {
  const all = Array.from({ length: doors }, (_, i) => i + 1);
  const lines = [
    'rig bench "Bench" {',
    '  medium air',
    '  chamber receiver { volume 200 L  pressure 1.02 bar }',
    '  chamber store { volume 50 L  pressure 1.02 bar }',
    ...all.map((i) => `  door d${i} { pocket 5 L  travel 200 ms }`),
    `  stack receiver > ${all.map((i) => `d${i}`).join(' > ')} > store`,
    '  controller { response 20 ms }',
    '  sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }',
    '  signal start = ready and not hold',
    '  signal s1 = TOF(start, 1 s)',
    ...all.slice(1).map((i) => `  signal s${i} = TOF(TON(s${i - 1}, 900 ms), 1 s)`),
    `  signal hold = TOF(s1, ${doors + 5} s)`,
    ...all.map((i) => `  drive d${i} = s${i}`),
    '}',
  ];
  return lines.join('\n') + '\n';
}

const folder = mkdtempSync(join(tmpdir(), 'caisson-bench-'));
const vsix = join(folder, 'caisson.vsix');

function summary(times) {
  const sorted = [...times].sort((a, b) => a - b);
  const at = (share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
  return `median ${at(0.5).toFixed(0)} ms, p95 ${at(0.95).toFixed(0)} ms (${times.length} edits)`;
}

/** In the workbench: the time of the last key, and of the first change of squiggles after it. */
function watchSquiggles() {
  const count = () => document.querySelectorAll('.cdr[class*="squiggly-"]').length;
  const bench = { key: 0, before: 0, changed: 0 };
  window.bench = bench;
  const now = () => performance.timeOrigin + performance.now();
  document.addEventListener('keydown', () => Object.assign(bench, { key: now(), before: count(), changed: 0 }), true);
  new window.MutationObserver(() => {
    if (bench.changed === 0 && count() !== bench.before) bench.changed = now();
  }).observe(document.body, { subtree: true, childList: true, attributes: true, attributeFilter: ['class'] });
}

/** In the preview: the time of the first frame after the last change of the drawing. */
function watchDrawing() {
  const bench = { drawn: 0 };
  window.bench = bench;
  new window.MutationObserver(() => {
    window.requestAnimationFrame(() => (bench.drawn = performance.timeOrigin + performance.now()));
  }).observe(document.querySelector('#caisson-preview'), {
    subtree: true,
    childList: true,
    attributes: true,
    characterData: true,
  });
}

async function wait(probe, ms = 10_000) {
  const end = Date.now() + ms;
  while (Date.now() < end) {
    const value = await probe();
    if (value) return value;
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
  return null;
}

async function squiggles(page, user) {
  await user.openFile('small.rig');
  // The name of the last driven signal: one more letter makes it unknown.
  const line = rigOf(3).split('\n').length - 2;
  await user.goTo(line, '  drive d3 = s3'.length + 1);
  await page.evaluate(watchSquiggles);
  const times = [];
  for (let i = 0; i < EDITS * 2; i++) {
    await user.press(i % 2 === 0 ? 'x' : 'Backspace');
    const took = await wait(() => page.evaluate(() => window.bench.changed && window.bench.changed - window.bench.key));
    await user.press('Escape');
    if (took) times.push(took);
    await page.waitForTimeout(120);
  }
  console.log(`key → squiggle appears or goes: ${summary(times)}; target 100 ms median`);
}

async function drawings(page, user, name, doors) {
  await user.openFile(`${name}.rig`);
  const frame = await user.preview(`[data-lane*="d${Math.min(doors, 9)}"]`);
  await page.waitForTimeout(1_000);
  const shapes = await frame.locator('#caisson-preview svg.body *, #caisson-preview svg.ruler *').count();
  const line =
    rigOf(doors)
      .split('\n')
      .findIndex((l) => l.startsWith('  signal s1 =')) + 1;
  await user.goTo(line, '  signal s1 = TOF(start, 1'.length + 1);
  await frame.evaluate(watchDrawing);
  await page.evaluate(() => {
    window.key = 0;
    document.addEventListener('keydown', () => (window.key = performance.timeOrigin + performance.now()), true);
  });
  const times = [];
  for (let i = 0; i < EDITS; i++) {
    await user.press('Escape');
    await page.waitForTimeout(250);
    await user.press(i % 2 === 0 ? '1' : 'Backspace');
    const key = await page.evaluate(() => window.key);
    const drawn = await wait(() =>
      frame.evaluate((since) => (window.bench.drawn > since ? window.bench.drawn : 0), key),
    );
    if (drawn) times.push(drawn - key);
  }
  console.log(`key → drawing of ${shapes} shapes changed: ${summary(times)}; target 150 ms up to 1,000 shapes`);
}

async function main() {
  const faults = packageTo(vsix);
  if (faults.length > 0) throw new Error(faults.join(' '));
  console.log(`package: ${(statSync(vsix).size / 1024).toFixed(0)} KB; target 700 KB`);
  if (findBrowser() === null) return console.log('no browser on this machine: the editor is not measured');
  installEditor();
  const sizes = { small: 3, shapes100: 1, shapes1000: 22 };
  for (const [name, doors] of Object.entries(sizes)) writeFileSync(join(folder, `${name}.rig`), rigOf(doors));
  const server = await startServer({ vsix });
  const browser = await startBrowser();
  try {
    const page = browser.context.pages()[0] ?? (await browser.context.newPage());
    await page.goto(workbenchUrl(server.port, { folder }));
    await workbenchReady(page);
    const user = createUser(page);
    await squiggles(page, user);
    await user.command('Caisson: Open Preview to the Side');
    await user.preview('[data-lane]');
    await drawings(page, user, 'shapes100', sizes.shapes100);
    await drawings(page, user, 'shapes1000', sizes.shapes1000);
  } finally {
    await browser.close();
    await server.close();
  }
}

await main().finally(() => rmSync(folder, { recursive: true, force: true }));
