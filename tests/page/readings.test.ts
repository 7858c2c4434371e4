/** Readings on the page: ticks, bars with their length, the table, the explanation; over the real comparison. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { previewModel } from '../../server/core/diagram/preview-model';
import { createDocument } from '../../server/core/document/document';
import { analyseRig } from '../../server/core/run/analyse';
import { finish } from '../../server/core/work/work';
import { readingsWork } from '../../server/lsp/readings';
import type { Explained, ReadingsData } from '../../server/protocol/readings';
import { measuredStroke } from '../support/measured';
import { rigFrom } from '../support/rig';
import { textHost } from './by-hand-host';
import { browserMissing, modelMessage, settled, startHarness, URI, type Harness, type PreviewPage } from './harness';

const ARTEFACTS = join(__dirname, 'artefacts');
const BANK = `rig bank "Bank" {
  medium air
  chamber a { volume 6 m3  pressure 1.6 bar }
  chamber b { volume 2 m3  pressure 1 bar }
  door upper { pocket 250 L  travel 300 ms }
  door lower { pocket 250 L  travel 300 ms }
  stack a > upper > lower > b
  controller { response 50 ms }
  sensor ready on a { pressure above 1.4 bar  clears below 1.3 bar }
  signal start = ready and not hold
  signal upper_on = TOF(start, 1.8 s)
  signal lower_on = TOF(TON(TOF(start, 3.2 s), 2.4 s), 900 ms)
  signal hold = TOF(start, 9 s)
  drive upper = upper_on
  drive lower = lower_on
}
`;

/** Of a rig whose first timer is too long, with pressures of chamber b that fall. */
function log(): string {
  const rows = measuredStroke(analyseRig(rigFrom(BANK.replace('1.8 s', '2.2 s')).rig))
    .trimEnd()
    .split('\n');
  return rows.map((r, k) => (k === 0 ? `${r},b pressure [bar]` : `${r},${(1 - k / 4000).toFixed(4)}`)).join('\n');
}

describe.skipIf(browserMissing)('readings', { retry: 2, timeout: 90_000 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  let readings: ReadingsData;
  beforeAll(async () => {
    mkdirSync(ARTEFACTS, { recursive: true });
    harness = await startHarness();
    const document = createDocument({ uri: URI, version: 1, text: BANK }, () => undefined);
    const found = finish(readingsWork(document, { uri: URI, text: log(), scenario: null, about: 'diagnose' }));
    if (found.kind !== 'compared') throw new Error(found.message);
    readings = found.readings;
  }, 90_000);
  afterAll(async () => harness?.close());
  afterEach(async () => {
    expect(preview.faults).toEqual([]);
    await preview.close();
  });

  const message = (data: ReadingsData | null, explained: Explained | null = null, version = 1) =>
    ({ type: 'readings', uri: URI, version, file: 'run 3.csv', readings: data, explained }) as const;
  async function open(width = 1400): Promise<void> {
    const text = textHost(BANK);
    preview = await harness.open({ width, height: 820, host: (m) => text.answer(m) });
    await text.draw(preview, 'shown');
    await preview.send(message(readings));
  }
  const strip = () => preview.page.locator('.strip.readings');

  it('lie over the lanes: a tick each, a bar with its length where one deviates', async () => {
    await open();
    expect(await preview.page.locator('[data-reading="within"]').count()).toBe(3);
    const off = preview.page.locator('[data-reading="off"]');
    expect(await off.count()).toBe(1);
    expect(await off.textContent()).toContain('400 ms late');
    expect(await strip().textContent()).toMatch(/run 3\.csv: 1 of 4 edges deviate.*upper shuts/);
    for (const width of [1400, 900, 520]) {
      await preview.page.setViewportSize({ width, height: 820 });
      await settled(preview.page);
      await preview.page.screenshot({ path: join(ARTEFACTS, `readings-${width}.png`) });
    }
  });

  it('lie over the curves of what the rig would have held', async () => {
    await open();
    await preview.page.click('#tab-store');
    await preview.page.locator('select[aria-label="Run"]').selectOption({ label: 'readings' });
    await settled(preview.page);
    expect(await preview.page.locator('.curves').textContent()).toContain('b');
    await preview.page.screenshot({ path: join(ARTEFACTS, 'readings-store.png') });
  });

  it('are explained when asked, and stay explained, marked, when the text changes', async () => {
    await open();
    const diagnose = strip().locator('button', { hasText: 'Diagnose' });
    await diagnose.click();
    expect(await preview.take('readings')).toEqual([{ type: 'readings', action: 'diagnose' }]);
    const explained = { version: 1, diagnosis: readings.diagnosis! };
    await preview.send(message(readings, explained));
    expect(await strip().textContent()).toContain('2.2 s');
    expect(await strip().locator('.of-before').count()).toBe(0);
    expect(await diagnose.isHidden()).toBe(true);
    await preview.page.screenshot({ path: join(ARTEFACTS, 'readings-explained.png') });
    const edited = textHost(BANK.replace('9 s', '9.1 s'));
    const rigs = edited.document.analysed().map((f) => previewModel(f, { caution: '' }));
    await preview.send(modelMessage(rigs, { version: 2 }));
    await preview.send(message(readings, explained, 2));
    expect(await strip().textContent()).toContain('The text has changed since. What it explained then:');
    expect(await strip().textContent()).toContain('2.2 s');
    expect(await diagnose.isVisible()).toBe(true);
    await preview.page.screenshot({ path: join(ARTEFACTS, 'readings-explained-before.png') });
  });

  it('stay until they are removed', async () => {
    await open();
    await strip().locator('button', { hasText: 'Remove' }).click();
    expect(await preview.take('readings')).toEqual([{ type: 'readings', action: 'remove' }]);
    await preview.send(message(null));
    expect(await strip().isHidden()).toBe(true);
    expect(await preview.page.locator('[data-reading]').count()).toBe(0);
  });
});
