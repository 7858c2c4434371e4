/** A suggestion of the tuner on the page: laid over the drawing, as tables, written or left; over the real tuner. */
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { previewModel } from '../../server/core/diagram/preview-model';
import type { SuggestionData } from '../../server/protocol/suggestion';
import { suggestionFor, textHost } from './by-hand-host';
import { browserMissing, modelMessage, settled, startHarness, URI, type Harness, type PreviewPage } from './harness';

const POOR = readFileSync(join(__dirname, '../../samples/poor/harbour_lift.rig'), 'utf8');
const ARTEFACTS = join(__dirname, 'artefacts');

describe.skipIf(browserMissing)('suggested values', { retry: 2, timeout: 120_000 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  let suggestion: SuggestionData;
  beforeAll(async () => {
    mkdirSync(ARTEFACTS, { recursive: true });
    harness = await startHarness();
    suggestion = await suggestionFor(POOR);
  }, 120_000);
  afterAll(async () => harness?.close());
  afterEach(async () => {
    expect(preview.faults).toEqual([]);
    await preview.close();
  });

  async function open(width = 1400): Promise<void> {
    const text = textHost(POOR);
    preview = await harness.open({ width, height: 820, host: (message) => text.answer(message) });
    await text.draw(preview);
    await preview.send({ type: 'suggestion', uri: URI, version: 1, suggestion });
  }
  const strip = () => preview.page.locator('.suggestion');

  it('lie dashed over the present diagram, with a table of values and of requirements', async () => {
    await open();
    expect(await strip().textContent()).toMatch(/Constant.*Now.*Suggested.*Why.*Requirement.*Now.*Then/);
    expect(await preview.page.locator('.body path[stroke-dasharray]').count()).toBeGreaterThan(0);
    expect(await preview.page.locator('.comparison').isHidden()).toBe(true);
    for (const width of [1400, 900, 520]) {
      await preview.page.setViewportSize({ width, height: 820 });
      await settled(preview.page);
      await preview.page.screenshot({ path: join(ARTEFACTS, `tune-${width}.png`) });
    }
  });

  it.each([
    ['Write into the text', 'write'],
    ['Leave', 'leave'],
  ])('%s', async (name, action) => {
    await open();
    await strip().locator('button', { hasText: name }).click();
    await settled(preview.page);
    expect(await preview.take('suggestion')).toEqual([{ type: 'suggestion', action }]);
    expect(await strip().isHidden()).toBe(true);
  });

  it('go with the text that they were for', async () => {
    await open();
    const text = textHost(POOR.replace('fill   = 900 ms', 'fill   = 910 ms'));
    const rigs = text.document.analysed().map((f) => previewModel(f, { caution: '' }));
    await preview.send(modelMessage(rigs, { version: 2 }));
    expect(await strip().isHidden()).toBe(true);
    // A suggestion for the text before comes too late.
    await preview.send({ type: 'suggestion', uri: URI, version: 1, suggestion });
    expect(await strip().isHidden()).toBe(true);
  });
});
