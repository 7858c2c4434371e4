/**
 * A user types whole rigs line by line with the editor's default settings, Enter pressed while suggestions may be showing, and takes every
 * snippet that completion offers and types over its places with Tab: the text is what was typed.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import * as esbuild from 'esbuild';
import { ROOT } from './setup.mjs';
import { close, equal, picturesOfFailures, step, until } from './steps.mjs';
import { createUser, workbenchReady } from './user.mjs';
import { removeFolder, startBrowser, startServer, workbenchUrl } from './workbench.mjs';

const vsix = process.env.CAISSON_VSIX;
if (!vsix) throw new Error('CAISSON_VSIX names the packaged extension; run tests/editor/run.mjs typing');
const folder = mkdtempSync(join(tmpdir(), 'caisson-typing-'));
const read = (name) => readFileSync(join(folder, name), 'utf8');
const RIGS = ['tests/editor/rigs/feeder.rig', 'samples/refuted/dropped_sensor.rig'];

const SNIPPETS = join(ROOT, '.cache/editor-tests/snippets.mjs');
await esbuild.build({
  entryPoints: [join(ROOT, 'server/core/features/snippets.ts')],
  outfile: SNIPPETS,
  bundle: true,
  format: 'esm',
  logLevel: 'error',
});
const { STATEMENT_SNIPPETS, MORE_SNIPPETS } = await import(pathToFileURL(SNIPPETS).href);
const snippets = [
  ...Object.entries(STATEMENT_SNIPPETS).map(([keyword, snippet]) => ({ keyword, label: keyword, snippet })),
  ...MORE_SNIPPETS,
].map((s, k) => ({ ...s, file: `s${k}.rig` }));

/** What stands around a statement, so that names that it wants are there; a text of its own where it stands outside a rig. */
const AROUND = `rig base {
  chamber tank { volume 1 m3  pressure 1 bar }
  chamber bin { volume 1 m3  pressure 1 bar }
  door gate { pocket 5 L  travel 200 ms }
  door flap { pocket 5 L  travel 200 ms }
  sensor full on tank { pressure above 1.5 bar  clears below 1.2 bar }

}
`;
const CURSOR_LINE = AROUND.split('\n').indexOf('') + 1;
const OUTSIDE = ['import', 'rig', 'part', 'medium'];
for (const name of RIGS.map((_, k) => `r${k}.rig`)) writeFileSync(join(folder, name), '');
for (const { keyword, file } of snippets) writeFileSync(join(folder, file), OUTSIDE.includes(keyword) ? '' : AROUND);

// What the other sessions set for their own sake is left as the extension and the editor have it.
const server = await startServer({ vsix, settings: { 'editor.acceptSuggestionOnEnter': undefined } });
const browser = await startBrowser();
const page = browser.context.pages()[0] ?? (await browser.context.newPage());
const user = createUser(page);
picturesOfFailures((name) => user.picture(`failed ${name.replace(/\W+/g, ' ').trim()}`));
const isSuggesting = () => page.locator('.suggest-widget.visible').isVisible();

async function saved(name) {
  const before = read(name);
  return until('the saved text', async () => {
    await user.press('Control+s');
    await page.waitForTimeout(300);
    return read(name) !== before && read(name);
  });
}

/** Lines without their indentation; what is blank is left out. */
const linesOf = (text) =>
  text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '');

/** Codes of the mistakes in how a text is written. */
function syntaxOf(name) {
  const arguments_ = [join(ROOT, 'dist/caisson.js'), 'check', '--format', 'json', join(folder, name)];
  let output;
  try {
    output = execFileSync('node', arguments_, { stdio: 'pipe' });
  } catch (error) {
    output = error.stdout;
  }
  return [...String(output).matchAll(/"code":\s*"(syntax[^"]*)"/g)].map((m) => m[1]).join();
}

await page.goto(workbenchUrl(server.port, { folder }));
await workbenchReady(page);

/** Pauses before Enter, ms: suggestions are not there yet, just coming, there. */
const PAUSES = [0, 150, 600];

for (const [k, path] of RIGS.entries())
  await step(`${path} is typed line by line, and stands there as typed`, async () => {
    const name = `r${k}.rig`;
    const text = readFileSync(join(ROOT, path), 'utf8');
    await user.openFile(name);
    await until('the editor of the file', async () => (await user.position()) === 'Ln 1, Col 1');
    for (const [n, line] of linesOf(text).entries()) {
      // The brace that closes was put in by the editor, on the next line.
      if (line === '}') {
        await user.press('ArrowDown');
        await user.press('End');
      } else await user.type(line, 15);
      await page.waitForTimeout(PAUSES[n % PAUSES.length]);
      await user.press('Enter');
    }
    equal(linesOf(await saved(name)).join('\n'), linesOf(text).join('\n'), 'the text');
  });

const PLACE = /\$\{(\d+)(?::([^}]*)|\|([^}]*)\|)\}|\$(\d+)/g;
/** What a user writes into a place: names that are there, other figures than the ones proposed. */
const WRITTEN = {
  chamber: 'bin',
  door: 'flap',
  signal: 'full',
  input: 'full',
  part: 'stage',
  parameters: 'above, below',
  'repeat()': 'window(gate)',
};
const written = (proposed) => WRITTEN[proposed] ?? proposed.replace(/^\d+(\.\d+)?/, (n) => `${Number(n) + 1}`);

/** Places in the order in which Tab goes to them: `proposed` is what stands there, `choices` whether it is chosen from a list. */
function placesOf(snippet) {
  const places = new Map();
  for (const [, number, proposed, choices, bare] of snippet.matchAll(PLACE)) {
    const at = Number(number ?? bare);
    if (!places.has(at))
      places.set(at, { at, proposed: proposed ?? choices?.split(',')[0] ?? '', choices: choices !== undefined });
  }
  return [...places.values()].sort((a, b) => (a.at || Infinity) - (b.at || Infinity));
}

for (const { keyword, label, snippet, file } of snippets)
  await step(`the snippet ${label} is taken and filled in`, async () => {
    await user.openFile(file);
    if (!OUTSIDE.includes(keyword)) await user.goTo(CURSOR_LINE);
    await user.type(keyword, 40);
    const row = page
      .locator('.suggest-widget.visible .monaco-list-row')
      .filter({ has: page.locator('.label-name').getByText(label, { exact: true }) })
      .first();
    await row.waitFor({ state: 'visible', timeout: 15_000 });
    await row.click();
    await page.waitForTimeout(200);
    const values = new Map();
    for (const { at, proposed, choices } of placesOf(snippet)) {
      const value = choices || proposed === '' ? proposed : written(proposed);
      values.set(at, value);
      // One that is chosen takes the user to the next place by itself.
      if (choices) {
        await until('the choices', isSuggesting, 10_000);
        await user.press('Enter');
        continue;
      }
      if (value !== '') await user.type(value, 30);
      // A user sees the list of units go once one is there in full; where it stays, it takes the Tab.
      await page.waitForTimeout(500);
      if (at === 0) continue;
      await until('no suggestions in the way', async () => !(await isSuggesting()), 5_000);
      await user.press('Tab');
    }
    const expected = snippet.replace(
      PLACE,
      (_, number, proposed, choices, bare) => values.get(Number(number ?? bare)) ?? '',
    );
    const around = OUTSIDE.includes(keyword) ? '' : AROUND;
    const before = linesOf(around);
    const all = around === '' ? linesOf(expected) : [...before.slice(0, -1), ...linesOf(expected), before.at(-1)];
    equal(linesOf(await saved(file)).join('\n'), all.join('\n'), 'the text');
    if (!/\$0/.test(snippet)) equal(syntaxOf(file), '', 'mistakes in how it is written');
  });

await server.close();
await browser.close();
await removeFolder(folder);
close();
