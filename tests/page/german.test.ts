/** The page in German: no text that has a translation is seen or read out in English, in any panel or strip. */
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { speak } from '../../server/core/words/say';
import { textHost } from './by-hand-host';
import { browserMissing, bundleOf, settled, startHarness, violations, type Harness, type PreviewPage } from './harness';

const ARTEFACTS = join(__dirname, 'artefacts');
const SAMPLE = readFileSync(join(__dirname, '../../samples/digester_bank.rig'), 'utf8').replace(
  'settle = 1.8 s',
  'settle = 1.8 s in 1 s .. 2 s',
);
const german = bundleOf('de');
/** English texts that stand alone and are written otherwise in German. */
const english = Object.keys(german).filter((key) => german[key] !== key && !/\{\d/.test(key) && /^\p{Lu}/u.test(key));

/** Every text of the page, and every name that is read out. */
const textsOf = ({ page }: PreviewPage): Promise<string[]> =>
  page.evaluate(() => {
    const texts: string[] = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) texts.push(walker.currentNode.textContent ?? '');
    for (const element of document.querySelectorAll('*'))
      for (const name of ['aria-label', 'aria-description', 'aria-roledescription', 'title'])
        texts.push(element.getAttribute(name) ?? '');
    return [...new Set(texts.map((t) => t.trim()).filter((t) => t !== ''))];
  });

describe.skipIf(browserMissing)('the page in German', { retry: 1, timeout: 120_000 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  beforeAll(async () => {
    mkdirSync(ARTEFACTS, { recursive: true });
    // The host of the page stands for the server, which speaks the editor's language.
    speak(german);
    harness = await startHarness();
  });
  afterAll(async () => {
    speak();
    await harness?.close();
  });

  it('shows and reads out what the bundle has', async () => {
    const text = textHost(SAMPLE);
    preview = await harness.open({ language: 'de', width: 1000, height: 760, host: (message) => text.answer(message) });
    await text.draw(preview, 'shown');
    const seen = new Set<string>();
    const look = async (): Promise<void> => (await textsOf(preview)).forEach((t) => void seen.add(t));
    for (const tab of ['section', 'store', 'wiring', 'timing']) {
      await preview.page.locator(`#tab-${tab}`).click();
      await settled(preview.page);
      await look();
    }
    for (const name of ['Tabelle', 'Werte']) await preview.page.locator('.right > button', { hasText: name }).click();
    await preview.page.locator('[data-edge]').first().focus();
    await preview.page.keyboard.press('ArrowRight');
    await settled(preview.page);
    await look();
    await preview.page.screenshot({ path: join(ARTEFACTS, 'german.png') });
    expect(english.length).toBeGreaterThan(100);
    expect([...seen].filter((t) => english.includes(t))).toEqual([]);
    for (const shown of ['Zeiten', 'Verdrahtung', 'Vergrößern (+)', 'Zeitdiagramm', 'An der Zeitmarke', 'Spur'])
      expect([...seen]).toContain(shown);
    expect(await preview.page.getAttribute('html', 'lang')).toBe('de');
    expect(await violations(preview)).toEqual([]);
    expect(preview.faults).toEqual([]);
    await preview.close();
  });
});
