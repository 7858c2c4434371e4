/** The preview for every reader: axe-core finds nothing in any panel in any theme, and nothing is cut at the widths of an editor. */
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { textHost } from './by-hand-host';
import {
  browserMissing,
  modelMessage,
  settled,
  startHarness,
  THEME_NAMES,
  violations,
  type Harness,
  type PreviewPage,
  type Theme,
} from './harness';

const ARTEFACTS = join(__dirname, 'artefacts');
const TABS = ['timing', 'section', 'store', 'wiring'] as const;
const SAMPLE = readFileSync(join(__dirname, '../../samples/digester_bank.rig'), 'utf8').replace(
  'settle = 1.8 s',
  'settle = 1.8 s in 1 s .. 2 s',
);

describe.skipIf(browserMissing)('the preview for every reader', { retry: 1 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  beforeAll(async () => {
    harness = await startHarness();
    mkdirSync(ARTEFACTS, { recursive: true });
  });
  afterAll(async () => harness?.close());
  afterEach(async () => preview?.close());

  async function open(theme: Theme, width: number): Promise<void> {
    const text = textHost(SAMPLE);
    preview = await harness.open({ theme, width, height: 760, host: (message) => text.answer(message) });
    await text.draw(preview, 'shown');
  }
  async function show(tab: (typeof TABS)[number]): Promise<void> {
    await preview.page.locator(`#tab-${tab}`).click();
    await settled(preview.page);
  }

  it.each(THEME_NAMES)('axe-core finds nothing in any panel: %s', { timeout: 120_000 }, async (theme) => {
    await open(theme, 1000);
    for (const tab of TABS) {
      await show(tab);
      await preview.page.screenshot({ path: join(ARTEFACTS, `readers-${tab}-${theme}.png`) });
      expect.soft(await violations(preview), tab).toEqual([]);
    }
    await show('store');
    const curves = await preview.page.locator('select:visible option').allTextContents();
    expect(curves.length, 'stroke, pressure against volume, mass per stroke beside the run').toBeGreaterThan(3);
    for (const curve of curves) {
      await preview.page.locator('select:visible').first().selectOption({ label: curve });
      await settled(preview.page);
      await preview.page.screenshot({ path: join(ARTEFACTS, `readers-${curve.replace(/\W+/g, '-')}-${theme}.png`) });
      expect.soft(await violations(preview), curve).toEqual([]);
    }
    await show('timing');
    for (const name of ['Table', 'Values']) await preview.page.locator('.right > button', { hasText: name }).click();
    await preview.page.locator('[data-edge]').first().focus();
    await preview.page.keyboard.press('ArrowRight');
    await settled(preview.page);
    await preview.page.screenshot({ path: join(ARTEFACTS, `readers-all-${theme}.png`) });
    expect(await violations(preview), 'with table, values and cursor').toEqual([]);
  });

  it.each(THEME_NAMES)(
    'axe-core finds nothing where there is little or nothing to draw, nor in a scenario: %s',
    { timeout: 120_000 },
    async (theme) => {
      await open(theme, 1000);
      const text = textHost(SAMPLE);
      const select = preview.page.locator('select[aria-label="Trigger"]');
      const scenario = (await select.locator('option').allTextContents()).findIndex((t) => t.includes('morning'));
      expect(scenario).toBeGreaterThan(0);
      await select.selectOption({ index: scenario });
      for (const tab of ['timing', 'section'] as const) {
        await show(tab);
        for (let k = 0; k < 4; k++) await preview.page.locator('.transport button').nth(2).click();
        await settled(preview.page);
        await preview.page.screenshot({ path: join(ARTEFACTS, `scenario-${tab}-${theme}.png`) });
        expect.soft(await violations(preview), `scenario, ${tab}`).toEqual([]);
      }
      const still = textHost('rig still {\n  chamber a { volume 1 m3 }\n}\n');
      await still.draw(preview, 'shown', text.document.version + 1);
      for (const tab of TABS) {
        await show(tab);
        expect.soft(await violations(preview), `a rig that does nothing, ${tab}`).toEqual([]);
      }
      await preview.send(modelMessage([], { version: text.document.version + 2 }));
      await preview.page.screenshot({ path: join(ARTEFACTS, `empty-${theme}.png`) });
      expect(await violations(preview), 'no rig').toEqual([]);
    },
  );

  it.each([520, 900, 1400])(
    'one row of controls, nothing beyond the page: %i px',
    { timeout: 120_000 },
    async (width) => {
      await open('light', width);
      for (const tab of TABS) {
        await show(tab);
        await preview.page.screenshot({ path: join(ARTEFACTS, `width-${tab}-${width}.png`) });
        const bar = (await preview.page.locator('.bar').boundingBox())!;
        expect(bar.height, tab).toBeLessThan(46);
        const beyond = await preview.page.evaluate(() =>
          [...document.querySelectorAll<HTMLElement>('.bar button, .bar select, .bar summary, .transport button')]
            .filter((e) => e.offsetParent !== null)
            .filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5 || e.getBoundingClientRect().left < 0)
            .map((e) => e.textContent),
        );
        expect(beyond, tab).toEqual([]);
      }
    },
  );
});
