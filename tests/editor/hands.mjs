/**
 * Values set by hand in the real editor with its default settings: edges dragged by mouse and keyboard, sliders, a counter-example
 * played, two previews side by side. What the text says afterwards is read from the saved file. Pictures in `tests/editor/artefacts`.
 */
import { cpSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT } from './setup.mjs';
import { close, equal, ok, picturesOfFailures, step, until } from './steps.mjs';
import { createUser, workbenchReady } from './user.mjs';
import { removeFolder, startBrowser, startServer, workbenchUrl } from './workbench.mjs';

const vsix = process.env.CAISSON_VSIX;
if (!vsix) throw new Error('CAISSON_VSIX names the packaged extension; run tests/editor/run.mjs hands');
const folder = mkdtempSync(join(tmpdir(), 'caisson-hands-'));
const LIFT = 'harbour_lift.rig';
const LOCK = 'dropped_sensor.rig';
cpSync(join(ROOT, 'samples/poor', LIFT), join(folder, LIFT));
cpSync(join(ROOT, 'samples/refuted', LOCK), join(folder, LOCK));
cpSync(join(ROOT, 'samples/quay_lock.rig'), join(folder, 'quay_lock.rig'));
const read = (name) => readFileSync(join(folder, name), 'utf8');
const WRITTEN = read(LIFT);

const server = await startServer({ vsix, settings: { 'editor.acceptSuggestionOnEnter': 'on' } });
const browser = await startBrowser();
const page = browser.context.pages()[0] ?? (await browser.context.newPage());
const user = createUser(page);
picturesOfFailures((name) => user.picture(`failed ${name.replace(/\W+/g, ' ').trim()}`));
const settings = (given) => {
  const path = join(server.home, 'data/Machine/settings.json');
  writeFileSync(path, JSON.stringify({ ...JSON.parse(readFileSync(path, 'utf8')), ...given }));
};

/** The text of a file in the first column, where it stays beside the preview. */
async function toText(name) {
  await user.press('Control+1');
  await user.openFile(name);
}

/** Puts the focus on the text and saves it until the file is as wanted. */
async function savedAs(what, name, probe) {
  await toText(name);
  return until(what, async () => {
    await user.press('Control+s');
    await page.waitForTimeout(200);
    return probe(read(name));
  });
}

/** Lines that differ between two texts, as `before -> now`. */
function changedLines(before, now) {
  const [old, fresh] = [before.split('\n'), now.split('\n')];
  return fresh.flatMap((line, k) => (line === old[k] ? [] : [`${old[k]?.trim()} -> ${line.trim()}`]));
}

const middleOf = async (locator) => {
  const box = await locator.boundingBox();
  ok(box, 'a place on the screen');
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
};
const words = (frame, selector) => frame.locator(selector).first().innerText();

/** Words of a place once they no longer change. */
async function calm(frame, selector) {
  let before = null;
  return until('words that stay', async () => {
    const now = await words(frame, selector);
    await page.waitForTimeout(300);
    if (now === before) return now;
    before = now;
    return null;
  });
}

/** The text as it was, by undo in the editor. */
async function undone(name) {
  await toText(name);
  await user.press('Control+z');
  await savedAs('the text as it was', name, (text) => text === WRITTEN);
}

await page.goto(workbenchUrl(server.port, { folder }));
await workbenchReady(page);

let frame;
await step('the preview stands beside the lift', async () => {
  await toText(LIFT);
  await user.press('Control+k');
  await user.press('v');
  frame = await user.preview('[data-lane*="bottom"]');
});

/** First time that a door does something in the picture that is shown. */
const edgeOf = (door, what) => frame.locator(`[data-edge*="${door}"][aria-label*="${what}"]`).first();

await step('a door is dragged by its edge with the mouse; one undo takes it back', async () => {
  const edge = edgeOf('top', 'closes');
  await edge.waitFor({ timeout: 10_000 });
  const from = await middleOf(edge);
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  for (let k = 1; k <= 12; k++) await page.mouse.move(from.x + 4 * k, from.y, { steps: 1 });
  await until('the value in the hand', async () => /fill .*→/.test(await words(frame, '.hand-strip')));
  await until('what follows', async () => (await words(frame, '.comparison')).includes('Compared with the text'));
  const strip = await calm(frame, '.hand-strip');
  await user.picture('hand-mouse');
  ok(read(LIFT) === WRITTEN, 'the file is as it was while the edge is held');
  await page.mouse.up();
  const now = await savedAs('the written value', LIFT, (text) => text !== WRITTEN && text);
  const [only, ...others] = changedLines(WRITTEN, now);
  equal(others.length, 0, 'other lines changed');
  const value = /let fill\s+= (\S+ \S+) in/.exec(only.split('->')[1])?.[1];
  ok(value && strip.includes(`→ ${value}`), `${only}, while the strip said: ${strip}`);
  await undone(LIFT);
});

await step('Escape while dragging leaves the text as it was', async () => {
  const from = await middleOf(edgeOf('top', 'closes'));
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  for (let k = 1; k <= 6; k++) await page.mouse.move(from.x - 4 * k, from.y);
  await until('the value in the hand', async () => /→/.test(await words(frame, '.hand-strip')));
  await user.press('Escape');
  await until('nothing in the hand', async () => !(await frame.locator('.hand-strip').isVisible()));
  await page.mouse.up();
  await toText(LIFT);
  await user.press('Control+s');
  ok(read(LIFT) === WRITTEN, 'the text is as it was');
});

await step('a door is moved by the keyboard, announced, written and undone', async () => {
  await edgeOf('bottom', 'closes').focus();
  await user.press('Space');
  await until('the choices', async () => /held by|empty/.test(await words(frame, '.hand-strip')));
  await until('words for readers', async () => /Left and right move it/.test(await words(frame, '.line')));
  await user.press('Shift+ArrowRight');
  await user.press('ArrowRight');
  await until('110 ms more', async () => /600 ms → 710 ms/.test(await words(frame, '.hand-strip')));
  await until('the move in words', async () => /empty 710 ms/.test(await words(frame, '.line')));
  await user.picture('hand-keys');
  await user.press('Enter');
  const now = await savedAs('the written value', LIFT, (text) => text.includes('= 710 ms in') && text);
  equal(changedLines(WRITTEN, now).length, 1, 'lines changed');
  await undone(LIFT);
});

/** Turns the slider of a constant with the keyboard, by 10 of its steps. */
async function slide(name) {
  const slider = frame.locator(`.what-if input[aria-label="${name}"]`);
  await slider.focus();
  await user.press('Shift+ArrowRight');
  await until('the mark', async () => /not in the text/.test(await words(frame, '.what-if .actions')));
  return slider.getAttribute('aria-valuetext');
}

await step('a slider tries a value over the whole preview; Forget takes it away', async () => {
  await openValues();
  await slide('carry');
  await until('what follows', async () => (await words(frame, '.comparison')).includes('Compared with the text'));
  await user.picture('slider');
  await frame.locator('.what-if button', { hasText: 'Forget' }).click();
  await until('the text as written', async () => !(await frame.locator('.what-if .actions').isVisible()));
  await toText(LIFT);
  await user.press('Control+s');
  ok(read(LIFT) === WRITTEN, 'the text is as it was');
});

await step('what a slider tries is written into the text, and undone', async () => {
  const value = await slide('carry');
  await frame.locator('.what-if button', { hasText: 'Write into the text' }).click();
  const now = await savedAs('the written value', LIFT, (text) => text !== WRITTEN && text);
  ok(changedLines(WRITTEN, now).join().includes(`let carry  = ${value} in`), changedLines(WRITTEN, now).join());
  await undone(LIFT);
});

/** The sliders, by the button, or by the menu where the preview is narrow. */
async function openValues() {
  const values = frame.locator('.right button', { hasText: 'Values' });
  if (await values.isVisible()) return values.click();
  await frame.locator('.everything summary').click();
  return frame.locator('.everything button', { hasText: 'Values' }).click();
}

await step('a counter-example is offered by the proof and played', async () => {
  await toText(LOCK);
  frame = await user.preview('[data-lane*="outer"]');
  await until('the other rig', async () => (await frame.locator('[data-lane*="outer"]').count()) > 0);
  await user.goTo(6);
  await user.command('Caisson: Prove the Rig at the Cursor');
  const show = page.locator('.notification-list-item .monaco-button', { hasText: 'Show the counter-example' }).first();
  await show.click({ timeout: 60_000 });
  frame = await user.preview('.player:not([hidden])');
  equal(await frame.locator('.proof').getAttribute('data-state'), 'refuted', 'the badge');
  const steps = await frame.locator('.player .steps li').count();
  ok(steps >= 2, `${steps} steps`);
  const moments = [];
  for (let k = 0; k < steps; k++) {
    const next = frame.locator('.player button', { hasText: 'Next step' });
    if (!(await next.isEnabled())) break;
    await next.click();
    await page.waitForTimeout(100);
    moments.push(await words(frame, '.player [aria-current="step"]'));
  }
  equal(new Set(moments).size, moments.length, 'each step once');
  ok(moments.length >= steps - 1, `${moments.length} of ${steps} steps played`);
  await user.picture('counter-example');
});

await step('two previews stand side by side, and the locked one stays', async () => {
  await toText(LIFT);
  await user.command('Caisson: Open Another Preview');
  await page.locator('.tab', { hasText: `[Preview] ${LIFT}` }).waitFor({ timeout: 10_000 });
  await toText(LOCK);
  const titles = await until('both titles', async () => {
    const all = (await page.locator('.tab .label-name').allTextContents()).filter((t) => t.includes('Preview'));
    return all.length >= 2 && all.some((t) => t === `Preview ${LOCK}`) && all;
  });
  ok(titles.includes(`[Preview] ${LIFT}`), titles.join(' | '));
  await user.picture('two-previews');
});

for (const width of [1400, 900])
  for (const [name, theme] of [
    ['light', 'Default Light Modern'],
    ['dark', 'Default Dark Modern'],
    ['contrast-dark', 'Default High Contrast'],
    ['contrast-light', 'Default High Contrast Light'],
  ])
    await step(`the hand is drawn in ${theme} at ${width} px`, async () => {
      await page.setViewportSize({ width, height: 860 });
      settings({ 'workbench.colorTheme': theme });
      await toText(LIFT);
      frame = await user.preview('[data-lane*="bottom"]');
      await page.waitForTimeout(700);
      await edgeOf('bottom', 'closes').focus();
      await user.press('Space');
      await until('the choices', async () => /empty/.test(await words(frame, '.hand-strip')));
      await user.press('Shift+ArrowRight');
      await until('the move', async () => /→/.test(await words(frame, '.hand-strip')));
      await page.waitForTimeout(200);
      await user.picture(`hand-${name}-${width}`);
      await user.press('Escape');
    });

await server.close();
await browser.close();
await removeFolder(folder);
close();
