/**
 * What Caisson answers in the real editor with its default settings: the tuner's suggestion written and undone, readings laid over the
 * preview, explained and removed, the build sheet beside the text. Pictures in `tests/editor/artefacts`.
 */
import { cpSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT } from './setup.mjs';
import { close, ok, picturesOfFailures, step, until } from './steps.mjs';
import { createUser, workbenchReady } from './user.mjs';
import { removeFolder, startBrowser, startServer, workbenchUrl } from './workbench.mjs';

const vsix = process.env.CAISSON_VSIX;
if (!vsix) throw new Error('CAISSON_VSIX names the packaged extension; run tests/editor/run.mjs answers');
const folder = mkdtempSync(join(tmpdir(), 'caisson-answers-'));
const LIFT = 'harbour_lift.rig';
const LOG = 'tuesday.csv';
const BANK = 'digester_bank.rig';
cpSync(join(ROOT, 'samples/poor', LIFT), join(folder, LIFT));
cpSync(join(ROOT, 'samples', BANK), join(folder, BANK));
const read = () => readFileSync(join(folder, LIFT), 'utf8');
const WRITTEN = read();

/** Doors of the lift as a logger sees them, ms after the trigger: from, open, closing, shut. The bottom door stays open 300 ms too long. */
const DOORS = { top: [60, 300, 1050, 1290], middle: [60, 300, 2350, 2590], bottom: [1720, 1960, 3310, 3550] };
const opening = ([opens, open, closes, shut], t) =>
  Math.max(0, Math.min(1, (t - opens) / (open - opens), (shut - t) / (shut - closes)));
const rows = Array.from({ length: 250 }, (_, k) => 20 * k - 1000).map((t) =>
  [(t + 1000) / 1000, ...Object.values(DOORS).map((d) => opening(d, t).toFixed(3))].join(','),
);
writeFileSync(join(folder, LOG), `time [s],${Object.keys(DOORS).join(',')}\n${rows.join('\n')}\n`);

const server = await startServer({ vsix });
const browser = await startBrowser();
const page = browser.context.pages()[0] ?? (await browser.context.newPage());
const user = createUser(page);
picturesOfFailures((name) => user.picture(`failed ${name.replace(/\W+/g, ' ').trim()}`));
const words = (frame, selector) => frame.locator(selector).first().innerText();

async function toText() {
  await user.press('Control+1');
  await user.openFile(LIFT);
}

async function savedAs(what, probe) {
  await toText();
  return until(what, async () => {
    await user.press('Control+s');
    await page.waitForTimeout(200);
    return probe(read());
  });
}

await page.goto(workbenchUrl(server.port, { folder }));
await workbenchReady(page);
await toText();

let frame;
await step('the lens above the rig asks the tuner; the suggestion stands over the preview', async () => {
  const lens = page.locator('.codelens-decoration a', { hasText: /^tune$/ }).first();
  await lens.click({ timeout: 30_000 });
  frame = await user.preview('.suggestion:not([hidden])', 60_000);
  ok(/values? change/.test(await words(frame, '.suggestion')), await words(frame, '.suggestion'));
  ok(read() === WRITTEN, 'the file is as it was');
  await user.picture('tune');
});

await step('Leave takes the suggestion away', async () => {
  await frame.locator('.suggestion button', { hasText: 'Leave' }).click();
  await until('no suggestion', async () => !(await frame.locator('.suggestion').isVisible()));
});

await step('the command asks again; the values are written, and one undo takes them all back', async () => {
  await toText();
  await user.goTo(6);
  await user.command('Caisson: Tune the Rig at the Cursor');
  frame = await user.preview('.suggestion:not([hidden])', 60_000);
  await frame.locator('.suggestion button', { hasText: 'Write into the text' }).click();
  const now = await savedAs('the written values', (text) => text !== WRITTEN && text);
  ok(/let pause {2}= 3 s in/.test(now), now.split('\n').slice(6, 11).join(' | '));
  await toText();
  await user.press('Control+z');
  await savedAs('the text as it was', (text) => text === WRITTEN);
});

await step('readings are picked and lie over the timing diagram', async () => {
  await toText();
  await user.command('Caisson: Compare with Readings…');
  await page.locator('.quick-input-list .monaco-list-row', { hasText: LOG }).first().click({ timeout: 10_000 });
  frame = await user.preview('.strip.readings:not([hidden])', 30_000);
  ok((await words(frame, '.readings')).includes('bottom shuts'), await words(frame, '.readings'));
  ok((await frame.locator('[data-reading="off"]').count()) === 1, 'one edge deviates');
  await user.picture('readings');
});

await step('they are explained, and stay while the text is edited', async () => {
  await frame.locator('.readings button', { hasText: 'Diagnose' }).click();
  await until('an explanation', async () => /explained best/i.test(await words(frame, '.readings')), 60_000);
  await user.picture('readings-explained');
  await toText();
  await user.goTo(1);
  await user.type('# a remark\n');
  await page.waitForTimeout(1_500);
  ok((await frame.locator('[data-reading]').count()) > 0, 'the readings are still there');
  await user.press('Control+z');
});

await step('they are removed by command', async () => {
  await user.command('Caisson: Remove the Readings');
  await until('no readings', async () => (await frame.locator('[data-reading]').count()) === 0);
});

await step('the build sheet stands beside the text', async () => {
  await toText();
  await user.command('Caisson: Open the Build Sheet to the Side');
  await page.locator('.tab', { hasText: 'harbour_lift-build-sheet.md' }).first().waitFor({ timeout: 30_000 });
  await until('the sheet', async () => {
    for (const f of page.frames())
      if (
        await f
          .locator('h1', { hasText: 'Build sheet' })
          .count()
          .catch(() => 0)
      )
        return true;
    return false;
  });
  await user.picture('build-sheet');
});

await step(
  'the store draws the stroke of a trigger that nothing starts, and is read in the editor, at 900 px too',
  async () => {
    await page.setViewportSize({ width: 900, height: 860 });
    await toText();
    await user.command('Caisson: Open Preview to the Side');
    frame = await user.preview('#tab-store');
    await frame.locator('#tab-store').click();
    await until('the stroke', async () => (await frame.locator('#panel-store path').count()) > 0, 30_000);
    await user.picture('store-one-stroke');
    await user.press('Control+1');
    await user.openFile(BANK);
    // A document that is shown for the first time begins with its timing.
    await frame.locator('[data-lane*="upper"]').first().waitFor({ timeout: 20_000 });
    await frame.locator('#tab-store').click();
    await until('curves', async () => (await frame.locator('.curves path').count()) > 0, 30_000);
    await frame.locator('.curves').focus();
    await user.press('End');
    await until('what is read', async () => /store/.test(await words(frame, '.readout')));
    await user.picture('store-900');
  },
);

await server.close();
await browser.close();
await removeFolder(folder);
close();
