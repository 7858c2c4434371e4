/**
 * The packaged extension in the real editor, driven by keyboard and mouse as a user does. Pictures of what was to be seen are
 * kept in `tests/editor/artefacts`.
 */
import { execFileSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT, SERVER_FOLDER } from './setup.mjs';
import { close, equal, ok, picturesOfFailures, step, until } from './steps.mjs';
import { createUser, workbenchReady } from './user.mjs';
import { CONTENT } from '../package/weigh.mjs';
import { remoteUri, removeFolder, startBrowser, startServer, workbenchUrl } from './workbench.mjs';

const vsix = process.env.CAISSON_VSIX;
if (!vsix) throw new Error('CAISSON_VSIX names the packaged extension; run tests/editor/run.mjs e2e');
const folder = mkdtempSync(join(tmpdir(), 'caisson-user-'));
const inFolder = (name) => join(folder, name);
const read = (name) => readFileSync(inFolder(name), 'utf8');

/** Finding codes of a file as the command line reports them. */
function codesOf(name) {
  try {
    const output = execFileSync('node', [join(ROOT, 'dist/caisson.js'), 'check', '--format', 'json', inFolder(name)], {
      stdio: 'pipe',
    });
    return [...String(output).matchAll(/"code":\s*"([^"]+)"/g)].map((m) => m[1]);
  } catch (error) {
    return [...String(error.stdout).matchAll(/"code":\s*"([^"]+)"/g)].map((m) => m[1]);
  }
}

/** Saves until the file is as wanted: what was asked of the editor before may still be on its way. */
const savedAs = (what, probe) =>
  until(what, async () => {
    await user.press('Control+s');
    await page.waitForTimeout(200);
    return probe();
  });

const lineOf = (name, text) =>
  read(name)
    .split('\n')
    .findIndex((line) => line.includes(text)) + 1;

cpSync(join(ROOT, 'tests/editor/rigs'), folder, { recursive: true });
writeFileSync(inFolder('typed.rig'), '');
writeFileSync(inFolder('notes.md'), '# Feeder\n\nAs built:\n\n```rig\n' + read('feeder.rig') + '```\n');

const server = await startServer({ vsix });
const browser = await startBrowser();
const page = browser.context.pages()[0] ?? (await browser.context.newPage());
const violations = [];
page.on('console', (message) => {
  // The preview's own policy: scripts by nonce. The workbench has others.
  if (/Content.Security.Policy/i.test(message.text()) && /script-src 'nonce|default-src 'none'/.test(message.text())) {
    violations.push(message.text());
  }
});
const user = createUser(page);
picturesOfFailures((name) => user.picture(`failed ${name.replace(/\W+/g, ' ').trim()}`));
const settings = (given) => {
  const path = join(server.home, 'data/Machine/settings.json');
  writeFileSync(path, JSON.stringify({ ...JSON.parse(readFileSync(path, 'utf8')), ...given }));
};

await page.goto(workbenchUrl(server.port, { folder }));
await workbenchReady(page);

await step('a rig is typed from nothing, with completions', async () => {
  await user.openFile('typed.rig');
  const row = async () => Number(/Ln (\d+)/.exec((await user.position()) ?? '')?.[1]);
  /** Ends a line; on a busy machine a late suggestion may take the first Enter for itself. */
  const enter = async () => {
    const before = await row();
    await until('the next line', async () => {
      await user.press('Escape');
      await page.waitForTimeout(100);
      await user.press('Enter');
      await page.waitForTimeout(150);
      return (await row()) > before;
    });
  };
  const line = async (text) => {
    await user.type(text);
    await enter();
  };
  /** Types the first letters of a word and takes the suggestion. */
  const pick = async (letters, label) => {
    await user.type(letters, 40);
    const row = page.locator('.suggest-widget.visible .monaco-list-row').filter({ hasText: label }).first();
    await row.waitFor({ state: 'visible', timeout: 10_000 });
    await row.click();
  };
  await line('rig typed "Typed in the test" {');
  await line('medium air');
  await line('chamber receiver { volume 200 L  pressure 1.02 bar }');
  await line('chamber store { volume 50 L  pressure 1.02 bar }');
  for (const door of ['upper', 'middle', 'lower']) await line(`door ${door} { pocket 5 L  travel 200 ms }`);
  await line('stack receiver > upper > middle > lower > store');
  await line('feed compressor into receiver { rate 0.001 kg/s }');
  await line('controller { response 20 ms }');
  await line('switch run = on');
  await line('sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }');
  await line('signal start = run and ready and not hold');
  await line('signal upper_on = TOF(start, 1 s)');
  await line('signal middle_on = TOF(start, 2.6 s)');
  await line('signal lower_on = TOF(TON(middle_on, 1.8 s), 1 s)');
  await line('signal hold = TOF(upper_on, 5 s)');
  await line('require overlap(middle, lower) >= 400 ms');
  await line('require repeat() in 6 s .. 6.5 s');
  for (const door of ['upper', 'middle', 'lower']) {
    await user.type('drive ');
    await pick(door.slice(0, 2), door);
    await user.type(' = ');
    await pick(door, `${door}_on`);
    if (door !== 'lower') await enter();
  }
  const saved = await savedAs('the saved text', () => read('typed.rig'));
  ok(
    /drive upper = upper_on\n\s*drive middle = middle_on\n\s*drive lower = lower_on\s*\}\s*$/.test(saved),
    `saved text: ${saved.slice(-160)}`,
  );
  equal(codesOf('typed.rig').join(), 'door/overlap', 'findings of the command line');
  await user.picture('typed');
});

await step('the mistake is underlined', async () => {
  await until('a squiggle', () => user.squiggles());
});

await step('hovering over a door shows its times', async () => {
  const word = page.locator('.editor-group-container.active .view-line').filter({ hasText: 'door' }).first();
  await word.locator('span', { hasText: 'upper' }).last().hover();
  const shown = page.locator('.monaco-hover:not(.hidden) table, .monaco-hover:not(.hidden) .hover-contents').first();
  await shown.waitFor({ state: 'visible', timeout: 10_000 });
  await until('times in the hover', async () => /\d+(\.\d+)? m?s/.test((await shown.textContent()) ?? ''));
  await user.picture('hover');
  await user.press('Escape');
});

await step('the preview opens beside the text and draws both doors', async () => {
  await user.goTo(lineOf('typed.rig', 'signal start'));
  await user.press('Control+k');
  await user.press('v');
  const frame = await user.preview('[data-lane]');
  const lanes = await frame
    .locator('[data-lane]')
    .evaluateAll((all) => [...new Set(all.map((e) => e.getAttribute('data-lane')))]);
  ok(lanes.some((l) => l.includes('upper')) && lanes.some((l) => l.includes('lower')), `lanes: ${lanes.join(', ')}`);
  ok(await page.locator('.tab', { hasText: 'Preview typed.rig' }).count(), 'a tab named after the file');
  ok(
    await page.locator('.editor-group-container.active .tab.active', { hasText: 'typed.rig' }).count(),
    'the text keeps the focus',
  );
  await user.picture('preview');
});

await step('a quick fix mends the mistake and the squiggle goes', async () => {
  const marked = await firstMarkedLine();
  await user.goTo(marked.line, marked.column);
  await user.press('Control+.');
  const menu = page.locator('.action-widget .monaco-list-row.action');
  await menu.first().waitFor({ state: 'visible', timeout: 10_000 });
  const titles = await menu.allTextContents();
  await user.picture('quick-fix');
  const focused = () => page.locator('.action-widget .monaco-list-row.focused').first().getAttribute('aria-label');
  for (let i = 0; i < titles.length && !/meant to overlap/.test(await focused()); i++) await user.press('ArrowDown');
  await user.press('Enter');
  await until('no squiggle', async () => (await user.squiggles()) === 0);
  await savedAs('the saved fix', () => /require overlap\(upper, middle\)/.test(read('typed.rig')));
  ok(titles.length >= 2, `repairs offered: ${titles.join(' | ')}`);
});

await step('the diagram changes with the text', async () => {
  const frame = await user.preview('[data-lane]');
  const drawn = () => frame.locator('#caisson-preview').innerHTML();
  const before = await drawn();
  const row = lineOf('typed.rig', 'signal upper_on');
  await user.goTo(row, read('typed.rig').split('\n')[row - 1].indexOf('1 s') + 2);
  await user.type('.5');
  await until('another drawing', async () => (await drawn()) !== before);
  await user.press('Control+s');
});

await step('clicking an edge leads to its source', async () => {
  await user.goTo(1);
  const frame = await user.preview('[data-edge]');
  const edge = frame.locator('[data-edge*="lower"]').first();
  await edge.click();
  const wanted = ['signal lower_on', 'drive lower', 'door lower'].map((text) => `Ln ${lineOf('typed.rig', text)},`);
  const there = await until('the cursor at the source', async () => {
    const now = await user.position();
    return now && !now.startsWith('Ln 1,') && now;
  });
  ok(
    wanted.some((w) => there.startsWith(w)),
    `cursor at ${there}, wanted ${wanted.join(' or ')}`,
  );
  await user.picture('edge-to-source');
});

await step('a door is renamed in every place', async () => {
  const row = lineOf('typed.rig', 'door upper');
  await user.goTo(row, read('typed.rig').split('\n')[row - 1].indexOf('upper') + 2);
  const before = read('typed.rig');
  await user.press('F2');
  const box = page.locator('.rename-box input');
  await box.waitFor({ state: 'visible', timeout: 10_000 });
  await box.fill('inlet');
  await user.press('Enter');
  await box.waitFor({ state: 'hidden' });
  await savedAs('the new name', () => read('typed.rig') === before.replace(/\bupper\b/g, 'inlet'));
});

await step('a picture is exported beside the source', async () => {
  await user.command('Caisson: Export Picture');
  await page.locator('.quick-input-list .monaco-list-row', { hasText: 'SVG' }).first().click();
  const input = page.locator('.quick-input-widget input').first();
  await until('the save dialog', async () => /\.svg$/.test(await input.inputValue().catch(() => '')));
  const target = await input.inputValue();
  await user.picture('export-dialog');
  await user.press('Enter');
  // The file is there before all of it is written.
  await until(
    'the whole picture',
    () => existsSync(target) && readFileSync(target, 'utf8').trimEnd().endsWith('</svg>'),
  );
  ok(target.startsWith(folder), `${target} is beside the source`);
  const svg = readFileSync(target, 'utf8');
  ok(/^<(\?xml|svg)/.test(svg) && svg.includes('inlet') && !svg.includes('var(--'), 'a picture that stands alone');
});

await step('the preview of a broken text keeps the last drawing and says where it is broken', async () => {
  await user.openFile('feeder.rig');
  const frame = await user.preview('[data-lane*="upper"]');
  const row = lineOf('feeder.rig', 'signal hold');
  await user.goTo(row, read('feeder.rig').split('\n')[row - 1].length);
  await user.press('Backspace');
  await user.press('Backspace');
  await user.press('Backspace');
  await until('word of the error', async () =>
    (await frame.locator('#caisson-preview').innerText()).includes(`${row}`),
  );
  ok((await frame.locator('[data-lane]').count()) > 0, 'the drawing is still there');
  await user.picture('stale');
  await user.press('Control+z');
  await user.press('Control+z');
  await user.press('Control+z');
});

await step('a file that is broken from the start is opened without harm', async () => {
  await user.openFile('broken.rig');
  await until('a squiggle', () => user.squiggles());
  await until('the preview to say so', async () => {
    const frame = await user.preview('#caisson-preview');
    return /line \d+|:\d+|error/i.test(await frame.locator('#caisson-preview').innerText());
  });
  await user.picture('broken');
});

await step('after reloading the window the view is as it was', async () => {
  await user.openFile('typed.rig');
  let frame = await user.preview('[data-lane*="inlet"]');
  const before = await viewOf(frame);
  // A narrow preview has its controls in one menu.
  await frame.locator('.everything summary').click();
  await frame.locator('.everything button', { hasText: 'Zoom in' }).click();
  await until('a closer view', async () => (await viewOf(frame)) !== before);
  const kept = await viewOf(frame);
  await page.waitForTimeout(1_000); // the page tells the workbench its state with a short delay
  const loaded = page.waitForEvent('load');
  await user.command('Developer: Reload Window');
  await loaded;
  await workbenchReady(page);
  frame = await user.preview('[data-lane*="inlet"]', 40_000);
  await until('the same view', async () => (await viewOf(frame)) === kept);
  await user.picture('reloaded');
});

await step('the requirements are run, and marked in the margin as met or failed', async () => {
  await user.press('Control+1');
  await user.openFile('typed.rig');
  await user.command('Test: Run Tests in Current File');
  const marks = (result) => page.locator(`.editor-group-container .margin .codicon-testing-${result}-icon`).count();
  await until('marks in the margin', async () => (await marks('passed')) >= 2);
  await user.command('Testing: Focus on Test Explorer View');
  await page.locator('.test-explorer .monaco-list-row', { hasText: 'typed.rig' }).first().waitFor({ timeout: 20_000 });
  await user.picture('test-view');
  await user.command('View: Show Explorer');
});

for (const [name, theme] of [
  ['light', 'Default Light Modern'],
  ['dark', 'Default Dark Modern'],
  ['contrast-dark', 'Default High Contrast'],
  ['contrast-light', 'Default High Contrast Light'],
]) {
  await step(`the preview follows the theme ${theme}`, async () => {
    settings({ 'workbench.colorTheme': theme });
    const word = {
      light: 'vscode-light',
      dark: 'vscode-dark',
      'contrast-dark': 'vscode-high-contrast',
      'contrast-light': 'vscode-high-contrast-light',
    }[name];
    const frame = await user.preview('[data-lane]');
    await until('the theme in the page', async () =>
      (await frame.locator('body').getAttribute('class'))?.includes(word),
    );
    await page.waitForTimeout(500);
    await user.picture(`theme-${name}`);
  });
}

await step('what is not saved is compared with the last saved version', async () => {
  await user.press('Control+1');
  await user.openFile('typed.rig');
  const row = lineOf('typed.rig', 'signal middle_on');
  await user.goTo(row, read('typed.rig').split('\n')[row - 1].indexOf('2.6') + 1);
  await user.type('1');
  const frame = await user.preview('[data-lane*="inlet"]');
  await user.command('Caisson: Compare Timing with the Last Saved Version');
  await until('word of the other version', async () => {
    return (await frame.locator('#caisson-preview').innerText()).includes('last saved version');
  });
  ok(!read('typed.rig').includes('12.6'), 'the change is not saved');
  await page.waitForTimeout(300);
  await user.picture('compared');
  await user.command('Caisson: Stop Comparing');
  await user.openFile('typed.rig');
  await user.press('Control+z');
});

await step('a locked preview stays with its file', async () => {
  await user.command('Caisson: Lock or Unlock the Preview');
  await user.openFile('feeder.rig');
  await page.locator('.tab', { hasText: '[Preview] typed.rig' }).waitFor({ timeout: 10_000 });
  await user.command('Caisson: Lock or Unlock the Preview');
  await page.locator('.tab', { hasText: 'Preview feeder.rig' }).waitFor({ timeout: 10_000 });
});

await step('a rig in Markdown is drawn in the Markdown preview', async () => {
  await user.openFile('notes.md');
  await user.command('Markdown: Open Preview');
  const drawn = await until('the drawing', () => figureIn(page));
  ok(/upper/.test(await drawn.locator('figure.caisson-rig svg').first().textContent()), 'the doors are named');
  await user.picture('markdown');
});

await step('a new rig is started from the command, without a mistake in it', async () => {
  await user.command('Caisson: New Rig');
  await page.locator('.tab.active', { hasText: 'Untitled' }).first().waitFor({ timeout: 10_000 });
  await until('its lens', async () =>
    /requirements met/.test(await page.locator('.editor-group-container.active').first().innerText()),
  );
  equal(await user.squiggles(), 0, 'squiggles');
  await user.picture('new-rig');
});

await step('the walkthrough leads through the first rig', async () => {
  await user.command('Welcome: Open Walkthrough');
  const input = page.locator('.quick-input-widget input').first();
  await input.waitFor({ state: 'visible' });
  await page.locator('.quick-input-list .monaco-list-row', { hasText: 'First rig with Caisson' }).first().click();
  const tab = page.locator('.tab', { hasText: 'Walkthrough' }).first();
  const button = async (title, text) => {
    await tab.click();
    const heading = page.locator('.getting-started-step', { hasText: title }).first();
    if (!(await heading.evaluate((e) => e.classList.contains('expanded')))) await heading.click();
    const place = page.locator('.getting-started-step.expanded .monaco-button', { hasText: text }).first();
    await place.waitFor({ timeout: 10_000 });
    await place.click();
  };
  await button('Start a rig', 'New Rig');
  await page.locator('.tab.active', { hasText: 'Untitled' }).first().waitFor({ timeout: 10_000 });
  await user.press('Escape');
  await button('Mend a mistake', 'Show the Mistake');
  await page.locator('.notification-toast', { hasText: 'no mistake' }).first().waitFor({ timeout: 10_000 });
  await user.command('Notifications: Clear All Notifications').catch(() => user.press('Escape'));
  // The mistake that the step asks for.
  await page.locator('.view-line', { hasText: 'TON(middle_on, 1.45' }).last().click();
  await user.press('Home');
  await user.press('Control+h');
  await page.locator('.find-widget .find-part textarea').first().fill('1.45 s');
  await page.locator('.find-widget .replace-part textarea').first().fill('500 ms');
  await user.press('Control+Alt+Enter');
  await user.press('Escape');
  await until('what is underlined', () => user.squiggles());
  await button('Mend a mistake', 'Show the Mistake');
  await page.locator('.action-widget', { hasText: 'so that no path is open' }).first().waitFor({ timeout: 10_000 });
  await user.picture('walkthrough-mistake');
  await user.press('Escape');
  await button('See the doors move', 'Open Preview to the Side');
  await user.preview('[data-lane*="lower"]');
  await user.picture('walkthrough');
});

await step('the content policy was never broken', async () => equal(violations.join('\n'), '', 'violations'));

await step('it works with no folder', async () => {
  await page.goto(
    workbenchUrl(server.port, { payload: [['openFile', remoteUri(server.port, inFolder('hasty.rig'))]] }),
  );
  await workbenchReady(page);
  await page.locator('.tab.active', { hasText: 'hasty.rig' }).waitFor({ timeout: 20_000 });
  await until('a squiggle', () => user.squiggles());
  await user.picture('no-folder');
});

await server.close();
const careful = await startServer({ vsix, trust: true });
await step('it works in restricted mode', async () => {
  await page.goto(
    workbenchUrl(careful.port, { folder, payload: [['openFile', remoteUri(careful.port, inFolder('hasty.rig'))]] }),
  );
  await workbenchReady(page);
  const refuse = page.locator('.monaco-dialog-box .monaco-button', { hasText: /No, I don't trust/ });
  await refuse.click({ timeout: 15_000 });
  await page.locator('.statusbar-item', { hasText: 'Restricted Mode' }).waitFor({ timeout: 10_000 });
  await page.locator('.tab.active', { hasText: 'hasty.rig' }).waitFor({ timeout: 20_000 });
  await until('a squiggle', () => user.squiggles());
  await user.picture('restricted');
});
await careful.close();

const plain = await startServer();
const site = publishToWeb(plain.port);
await step('it works as a web extension, with the server in a worker', async () => {
  await loadFromWeb(page, site.address);
  await page.goto(
    workbenchUrl(plain.port, { folder, payload: [['openFile', remoteUri(plain.port, inFolder('hasty.rig'))]] }),
  );
  await workbenchReady(page);
  await page.locator('.tab.active', { hasText: 'hasty.rig' }).waitFor({ timeout: 20_000 });
  await until('a squiggle', () => user.squiggles(), 40_000);
  await user.command('Caisson: Copy Diagnostics Information');
  await until('the information', async () => {
    const text = await page.evaluate(() => window.navigator.clipboard.readText());
    return text.includes('(browser)') && text.includes('Server: running');
  });
  await user.press('Control+1');
  await user.command('Caisson: Open Preview to the Side');
  await user.preview('[data-lane]');
  await user.picture('web-extension');
});
site.remove();
await plain.close();
await browser.close();
await removeFolder(folder);
close();

/** Line and column of the first underlined place, from the problems list of the command line. */
async function firstMarkedLine() {
  let output;
  try {
    output = execFileSync('node', [join(ROOT, 'dist/caisson.js'), 'check', inFolder('typed.rig')], {
      stdio: 'pipe',
      encoding: 'utf8',
    });
  } catch (error) {
    output = String(error.stdout);
  }
  const [, line, column] = /:(\d+):(\d+): /.exec(output) ?? [];
  return { line: Number(line), column: Number(column) };
}

/** The frame of the Markdown preview that shows a drawn rig, or null. */
async function figureIn(page) {
  for (const frame of page.frames()) {
    const found = await frame
      .locator('figure.caisson-rig svg')
      .count()
      .catch(() => 0);
    if (found > 0) return frame;
  }
  return null;
}

/** Places the files of the package where the editor's server gives them out, as a site for extensions in the browser does. */
function publishToWeb(port) {
  const { commit, quality } = JSON.parse(readFileSync(join(SERVER_FOLDER, 'product.json'), 'utf8'));
  const place = join(SERVER_FOLDER, 'out/caisson-web');
  for (const file of CONTENT) cpSync(join(ROOT, file), join(place, file));
  return {
    address: { scheme: 'http', authority: `localhost:${port}`, path: `/${quality}-${commit}/static/out/caisson-web` },
    remove: () => rmSync(place, { recursive: true, force: true }),
  };
}

/** Adds an extension to those that the workbench itself brings, which run in the browser. */
async function loadFromWeb(page, address) {
  await page.addInitScript((extension) => {
    const original = window.Element.prototype.getAttribute;
    window.Element.prototype.getAttribute = function (name) {
      const value = original.call(this, name);
      if (name !== 'data-settings' || this.id !== 'vscode-workbench-web-configuration') return value;
      return JSON.stringify({ ...JSON.parse(value), additionalBuiltinExtensions: [extension] });
    };
  }, address);
}

/** What the ruler of the timing panel shows: its labels. */
async function viewOf(frame) {
  return frame.locator('svg.ruler').first().textContent();
}
