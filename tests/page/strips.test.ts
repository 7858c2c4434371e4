/** Everything that appears only while something is held, tried, suggested, read, refuted or broken: axe-core finds nothing in it, in any theme. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { previewModel } from '../../server/core/diagram/preview-model';
import { createDocument } from '../../server/core/document/document';
import { analyseRig } from '../../server/core/run/analyse';
import { finish } from '../../server/core/work/work';
import { readingsWork } from '../../server/lsp/readings';
import type { ReadingsData } from '../../server/protocol/readings';
import type { SuggestionData } from '../../server/protocol/suggestion';
import { measuredStroke } from '../support/measured';
import { rigFrom } from '../support/rig';
import { suggestionFor, textHost, type TextHost } from './by-hand-host';
import {
  browserMissing,
  modelMessage,
  settled,
  startHarness,
  THEME_NAMES,
  URI,
  violations,
  type Harness,
  type PreviewPage,
} from './harness';

const ARTEFACTS = join(__dirname, 'artefacts');
const BANK = `rig bank "Bank" {
  medium air
  let settle = 2.2 s in 500 ms .. 3 s
  chamber a { volume 6 m3  pressure 1.6 bar }
  chamber b { volume 2 m3  pressure 1 bar }
  door upper { pocket 250 L  travel 300 ms }
  door lower { pocket 250 L  travel 300 ms }
  stack a > upper > lower > b
  controller { response 50 ms }
  sensor ready on a { pressure above 1.4 bar  clears below 1.3 bar }
  signal start = ready and not hold
  signal upper_on = TOF(start, settle)
  signal lower_on = TOF(TON(TOF(start, 3.2 s), 2.4 s), 900 ms)
  signal hold = TOF(start, 9 s)
  drive upper = upper_on
  drive lower = lower_on
  require gap(upper, lower) >= 100 ms
}
`;
describe.skipIf(browserMissing)('strips for every reader', { retry: 1, timeout: 180_000 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  let text: TextHost;
  let readings: ReadingsData;
  let suggestion: SuggestionData;
  beforeAll(async () => {
    mkdirSync(ARTEFACTS, { recursive: true });
    harness = await startHarness();
    const document = createDocument({ uri: URI, version: 1, text: BANK }, () => undefined);
    const log = measuredStroke(analyseRig(rigFrom(BANK.replace('900 ms', '1.3 s')).rig));
    const compared = finish(readingsWork(document, { uri: URI, text: log, scenario: null, about: 'diagnose' }));
    if (compared.kind !== 'compared') throw new Error(compared.message);
    readings = compared.readings;
    suggestion = await suggestionFor(BANK);
  }, 120_000);
  afterAll(async () => harness?.close());
  afterEach(async () => {
    expect(preview.faults).toEqual([]);
    await preview.close();
  });

  const models = (of: string) =>
    createDocument({ uri: URI, version: 1, text: of }, () => undefined)
      .analysed()
      .map((facts) => previewModel(facts, { caution: 'Stored pressure can kill.' }));
  const press = (key: string) => preview.page.keyboard.press(key);

  /** What brings each of them up, and the strip that must then be there. */
  const STATES: Readonly<Record<string, { readonly strip: string; readonly show: () => Promise<unknown> }>> = {
    'an edge in the hand, with what differs': {
      strip: '.hand-strip .changes',
      async show() {
        await preview.page.locator('[data-edge="door:upper/closes/0"]').focus();
        await press(' ');
        await preview.page.waitForSelector('.hand-strip:has-text("1 of")');
        await press('Shift+ArrowLeft');
        await press('Shift+ArrowLeft');
        await press('Shift+ArrowLeft');
        await preview.page.waitForSelector('.comparison tbody tr');
      },
    },
    'values that are tried': {
      strip: '.what-if .actions',
      async show() {
        await press('Escape');
        await preview.page.locator('.right > button', { hasText: 'Values' }).click();
        await preview.page.locator('input[type=range]').focus();
        await press('Shift+ArrowLeft');
        await preview.page.waitForSelector('.what-if .actions:not([hidden])');
        await preview.page.waitForSelector('.comparison tbody tr');
      },
    },
    suggested: {
      strip: '.suggestion table',
      async show() {
        await preview.page.locator('button', { hasText: 'Forget' }).click();
        await preview.send({ type: 'suggestion', uri: URI, version: 1, suggestion });
      },
    },
    'readings, explained for the text before': {
      strip: '.readings .of-before',
      async show() {
        await preview.send({ type: 'suggestion', uri: URI, version: 1, suggestion: null });
        const explained = { version: 0, diagnosis: readings.diagnosis! };
        await preview.send({ type: 'readings', uri: URI, version: 1, file: 'run 3.csv', readings, explained });
      },
    },
    'a second variant': {
      strip: '.comparison tbody tr',
      async show() {
        await preview.send({ type: 'readings', uri: URI, version: 1, file: '', readings: null, explained: null });
        await preview.send({
          type: 'overlay',
          uri: 'file:///other.rig',
          label: 'other.rig',
          rigs: models(BANK.replace('2.2 s', '1.9 s')),
          differences: {
            bank: [{ group: 'times', what: 'upper is shut', old: '2.5 s', now: '2.2 s', change: '−300 ms' }],
          },
        });
      },
    },
    'a counter-example': {
      strip: '.player .steps li',
      async show() {
        const [rig] = models(BANK);
        const example = { ...rig!.timing[0]!, id: 'bank/counter-example 1' };
        const steps = [
          { t: 0, text: 'ready goes on' },
          { t: 2_600_000, text: 'both doors stand open' },
        ];
        const at = { uri: URI, start: 0, end: 3 };
        const examples = [{ picture: example.id, property: 'never both open', at, steps }];
        const proof = { text: 'Proved for this text: 4 of 5, 1 refuted', state: 'refuted' as const, examples };
        const shown = { ...rig!, proof, timing: [...rig!.timing, example], contents: [...rig!.contents, []] };
        await preview.send(modelMessage([shown]));
        await preview.page.click('.proof button');
        await press('Tab');
      },
    },
    'a broken text, an open menu': {
      strip: '.banner:not([hidden])',
      async show() {
        const source = { uri: URI, start: 0, end: 3 };
        await preview.send({ type: 'stale', uri: URI, version: 2, message: 'A name is missing.', line: 4, source });
        await preview.page.click('summary:has-text("View")');
      },
    },
  };

  it.each(THEME_NAMES)('axe-core finds nothing: %s', async (theme) => {
    text = textHost(BANK);
    preview = await harness.open({ theme, width: 1200, height: 900, host: (message) => text.answer(message) });
    await text.draw(preview);
    let number = 0;
    for (const [name, { strip, show }] of Object.entries(STATES)) {
      await show();
      await settled(preview.page);
      await preview.page.screenshot({ path: join(ARTEFACTS, `strip-${++number}-${theme}.png`) });
      expect.soft(await preview.page.locator(strip).first().isVisible(), name).toBe(true);
      expect.soft(await violations(preview), name).toEqual([]);
    }
  });
});
