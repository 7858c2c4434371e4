/** Hands on the picture, in a real browser over the real engine: what is dragged is what the text says afterwards. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../server/core/timing/tolerance';
import { textHost, type TextHost } from './by-hand-host';
import { browserMissing, settled, startHarness, type Harness, type OpenOptions, type PreviewPage } from './harness';

const BANK = `rig bank "Bank" {
  medium air
  let settle = 1.8 s in 500 ms .. 3 s
  chamber a { volume 6 m3  pressure 1.6 bar }
  chamber b { volume 2 m3  pressure 1 bar }
  door upper { pocket 250 L  travel 300 ms +- 30 ms  bore 200 mm }
  door lower { pocket 250 L  travel 300 ms +- 30 ms  bore 200 mm }
  stack a > upper > lower > b
  feed line into a { rate 0.02 kg/s }
  controller { response 50 ms +- 5 ms  timer_accuracy 1 % }
  sensor ready on a { pressure above 1.5 bar  clears below 1.3 bar }
  signal start = ready and not hold
  signal upper_on = TOF(start, settle)
  signal held = TOF(start, 3.2 s)
  signal lower_on = TOF(TON(held, 2.4 s), 900 ms)
  signal hold = TOF(start, 9 s)
  drive upper = upper_on
  drive lower = lower_on
  require gap(upper, lower) >= 100 ms
  require window(upper) >= 1.2 s
}
`;
/** What takes many runs of the engine comes a moment later. */
const SOON = { timeout: 20_000 };
const ARTEFACTS = join(__dirname, 'artefacts');

/** Elements of the timing picture, one a line, with their attributes in order of their names and their texts. */
async function drawing({ page }: PreviewPage): Promise<string> {
  await settled(page);
  return page.evaluate(() =>
    [...document.querySelectorAll('.timing svg *')]
      .map((e) => {
        const attributes = [...e.attributes].map((a) => `${a.name}=${a.value}`).sort();
        return `${e.tagName} ${attributes.join(' ')} ${e.childElementCount === 0 ? e.textContent : ''}`;
      })
      .join('\n'),
  );
}

describe.skipIf(browserMissing)('hands on the picture', { retry: 2 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  let text: TextHost;
  beforeAll(async () => {
    harness = await startHarness();
    mkdirSync(ARTEFACTS, { recursive: true });
  });
  afterAll(async () => harness?.close());
  afterEach(async () => {
    expect(preview.faults).toEqual([]);
    await preview.close();
  });

  async function open(options: OpenOptions = {}): Promise<void> {
    text = textHost(BANK);
    preview = await harness.open({ ...options, host: (message) => text.answer(message) });
    await text.draw(preview);
  }
  const line = () => preview.page.locator('.line').textContent();
  const strip = () => preview.page.locator('.hand-strip').textContent();
  const written = () =>
    text.document.text
      .split('\n')
      .find((l) => l.includes('let settle'))!
      .trim();
  const middleOf = async (id: string): Promise<{ x: number; y: number }> => {
    const box = (await preview.page.locator(`[data-edge="${id}"]`).boundingBox())!;
    return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  };
  const heldPart = (part: string) =>
    preview.page.waitForFunction((p) => document.querySelector('.hand-strip')?.textContent?.includes(p), part);

  async function drag(id: string, px: number): Promise<{ x: number; y: number }> {
    const from = await middleOf(id);
    await preview.page.mouse.move(from.x, from.y);
    await preview.page.mouse.down();
    await preview.page.mouse.move(from.x + px / 2, from.y, { steps: 3 });
    await preview.page.mouse.move(from.x + px, from.y, { steps: 3 });
    await heldPart('settle');
    await settled(preview.page);
    return from;
  }

  it('drags an edge, shows what follows and writes one literal', async () => {
    await open({ width: 1400 });
    await drag('door:upper/closes/0', 60);
    await preview.page.waitForFunction(() => document.querySelector('.hand-strip')?.textContent?.includes('Breaks'));
    expect(await strip()).toMatch(
      /^upper closes 2 s → 2\.\d+ s.*settle 1\.8 s → 2\.\d+ s \(1 of 2\).*Breaks gap\(upper, lower\) >= 100 ms/,
    );
    await preview.page.waitForSelector('[data-stop="broken"]');
    await preview.page.screenshot({ path: join(ARTEFACTS, 'hand-drag.png') });
    expect(text.undo).toEqual([]);
    const compared = await preview.page.locator('.comparison tbody tr').allTextContents();
    expect(compared[0]).toMatch(/^upper starts to close after ready goes on2 s2\.\d+ s\+\d+ ms$/);
    expect(compared.some((row) => /^gap of upper and lower after ready goes on300 ms/.test(row))).toBe(true);
    await preview.page.mouse.up();
    await expect.poll(() => text.undo.length).toBe(1);
    await text.draw(preview);
    expect(await preview.page.locator('.comparison').isVisible()).toBe(false);
    expect(written()).toMatch(/^let settle = 2\.\d+ s in 500 ms \.\. 3 s$/);
    expect(text.document.text.length - BANK.length).toBeLessThan(4);
    expect(await line()).toMatch(/^Written: settle 2\.\d+ s\. Undo takes it back\.$/);
    expect(await preview.page.locator('.hand-strip').isVisible()).toBe(false);
  });

  it('rests where a requirement ends', async () => {
    await open({ width: 1400 });
    const from = await drag('door:upper/closes/0', 20);
    await preview.page.waitForSelector('[data-stop="broken"]');
    const ends = (await preview.page.locator('[data-stop="broken"] line').last().boundingBox())!;
    await preview.page.mouse.move(ends.x + 3, from.y);
    await settled(preview.page);
    await preview.page.mouse.up();
    await expect.poll(() => text.undo.length).toBe(1);
    // The lower door leaves its seat at 2.6 s; a gap of 100 ms and 300 ms of travel before it.
    expect(written()).toBe('let settle = 2 s in 500 ms .. 3 s');
  });

  it('is left by Escape, with nothing written', async () => {
    await open();
    await drag('door:upper/closes/0', 40);
    await preview.page.keyboard.press('Escape');
    await preview.page.mouse.up();
    await settled(preview.page);
    expect(text.undo).toEqual([]);
    expect(await line()).toBe('Left as it was.');
    expect(await preview.take('reveal')).toEqual([]);
  });

  it('is moved by keys: 10 ms, 100 ms with Shift, to ends of requirements, with the next value, and told', async () => {
    await open();
    await preview.page.locator('.right > button', { hasText: 'Table' }).click();
    await preview.page.locator('[data-edge="door:upper/shuts/0"]').focus();
    await preview.page.keyboard.press(' ');
    await heldPart('1 of 3');
    expect(await line()).toBe(
      'upper shut, 2.3 s, held by settle, 1.8 s (1 of 3). Left and right move it, n takes the next value, Enter writes, Escape leaves.',
    );
    await preview.page.keyboard.press('ArrowLeft');
    await preview.page.keyboard.press('Shift+ArrowLeft');
    await heldPart('1.69 s');
    await expect.poll(() => preview.page.locator('.tables .fixed tbody tr').first().textContent()).toContain('2.19 s');
    await expect.poll(line).toBe('upper shut 2.19 s: settle 1.69 s.');
    await preview.page.keyboard.press('n');
    await heldPart('travel of upper');
    await preview.page.keyboard.press('N');
    await heldPart('settle');
    await preview.page.waitForSelector('[data-stop="broken"]');
    await preview.page.keyboard.press('End');
    await heldPart('2 s');
    await preview.page.keyboard.press('Enter');
    await expect.poll(() => text.undo.length).toBe(1);
    expect(written()).toBe('let settle = 2 s in 500 ms .. 3 s');
    await text.draw(preview);
    const focused = await preview.page.evaluate(() => document.activeElement?.getAttribute('data-edge'));
    expect(focused).toBe('door:upper/shuts/0');
  });

  it(
    'says a moment later what holds within tolerance, and where that ends; softly edged, and dropped when it moves on',
    { timeout: 120_000 },
    async () => {
      await open({ width: 1400 });
      const worst = () => preview.page.locator('.hand-strip .worst').textContent();
      const soft = () => preview.page.locator('.timing [fill-opacity="0.75"]').count();
      await preview.page.locator('[data-edge="door:upper/closes/0"]').focus();
      await preview.page.keyboard.press(' ');
      await heldPart('settle');
      expect(await worst()).toBe('Within tolerance: being computed…');
      await expect.poll(worst, SOON).toBe('Within tolerance: 2 of 2 hold.');
      await expect.poll(soft, SOON).toBeGreaterThan(0);
      await preview.page.waitForSelector('[data-stop="worst"]');
      await preview.page.keyboard.press('End');
      await expect.poll(worst, SOON).toBe('Within tolerance: 2 of 2 hold.');
      await preview.page.screenshot({ path: join(ARTEFACTS, 'hand-worst-kept.png') });
      await preview.page.keyboard.press('ArrowRight');
      await heldPart('being computed');
      await expect
        .poll(worst, SOON)
        .toMatch(
          /^Within tolerance: 1 of 2 hold\. No longer within tolerance: gap\(upper, lower\) >= 100 ms \(at worst missed by [\d.]+ m?s\)\.$/,
        );
      await expect.poll(line).toMatch(/^Within tolerance: 1 of 2 hold/);
      await preview.page.screenshot({ path: join(ARTEFACTS, 'hand-worst-lost.png') });
      await preview.page.keyboard.press('Escape');
      expect(text.undo).toEqual([]);
    },
  );

  it(
    'leaves a drawing, after many drags, that a page which saw none of them draws too',
    { timeout: 180_000 },
    async () => {
      await open({ width: 1100 });
      const random = seededRandom(20);
      const pick = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)]!;
      const { keyboard } = preview.page;
      const last = 'door:upper/closes/0';
      for (let drag = 0; drag < 6; drag++) {
        const edges = await preview.page.locator('[data-edge^="door:"], [data-edge^="net:upper_on"]').all();
        await pick(edges).focus();
        await keyboard.press(' ');
        await heldPart(' of ');
        for (let step = 0; step < 4; step++)
          await keyboard.press(pick(['ArrowLeft', 'ArrowRight', 'Shift+ArrowLeft', 'Shift+ArrowRight', 'n']));
        await settled(preview.page);
        const before = text.undo.length;
        await keyboard.press(drag % 2 === 0 ? 'Enter' : 'Escape');
        if (drag % 2 === 0) await expect.poll(line).toMatch(/^(Written|Nothing to write|Left)/);
        if (text.undo.length > before) await text.draw(preview);
        await preview.page.waitForSelector('.hand-strip', { state: 'hidden' });
      }
      expect(text.undo.length).toBeGreaterThan(1);
      await preview.page.locator(`[data-edge="${last}"]`).focus();
      const after = await drawing(preview);
      const other = textHost(text.document.text);
      const fresh = await harness.open({ width: 1100, host: (message) => other.answer(message) });
      await other.draw(fresh);
      await fresh.page.locator(`[data-edge="${last}"]`).focus();
      expect((await drawing(fresh)).split('\n').length).toBeGreaterThan(100);
      expect(after).toBe(await drawing(fresh));
      await fresh.close();
    },
  );

  it('says where nothing in the text moves an edge', async () => {
    await open();
    await preview.page.locator('[data-edge="net:ready/on/0"]').focus();
    await preview.page.keyboard.press(' ');
    await expect.poll(line).toBe('No time in the text moves ready on.');
  });

  it('lets go where the text changes under the hand', async () => {
    await open();
    await drag('door:upper/closes/0', 30);
    const other = textHost(BANK.replace('900 ms', '950 ms'));
    await text.draw(preview);
    expect(await preview.page.locator('.hand-strip').isVisible()).toBe(true);
    await other.draw(preview);
    await preview.send({ type: 'stale', uri: 'file:///test.rig', version: 2, message: 'x', line: 1, source: null });
    expect(await preview.page.locator('.hand-strip').isVisible()).toBe(false);
    await preview.page.mouse.up();
    expect(text.undo).toEqual([]);
  });

  describe('values that are tried', () => {
    it('show the whole preview as it would be, marked, until they are written or forgotten', async () => {
      await open({ width: 1000 });
      await preview.page.locator('.right > button', { hasText: 'Values' }).click();
      const slider = preview.page.locator('input[type=range]');
      expect(await slider.getAttribute('aria-valuetext')).toBe('1.8 s');
      await slider.focus();
      await preview.page.keyboard.press('Shift+ArrowRight');
      await expect.poll(() => preview.page.locator('.what-if output').textContent()).toBe('2 s (1.8 s in the text)');
      await preview.page.waitForSelector('.what-if .actions:not([hidden])');
      expect(await preview.page.locator('.what-if .actions strong').textContent()).toBe(
        'Tried values, not in the text',
      );
      expect(await preview.page.locator('.comparison caption').textContent()).toMatch(
        /^Compared with the text: \d+ differ$/,
      );
      const rows = await preview.page.locator('.comparison tbody tr').allTextContents();
      expect(rows).toContain('upper is shut after ready goes on2.3 s2.5 s+200 ms');
      expect(rows.some((row) => row.startsWith('gap(upper, lower) >= 100 ms'))).toBe(true);
      await preview.page.screenshot({ path: join(ARTEFACTS, 'what-if.png') });
      await preview.page.locator('button', { hasText: 'Forget' }).click();
      await settled(preview.page);
      expect(await preview.page.locator('.what-if output').textContent()).toBe('1.8 s');
      await slider.focus();
      await preview.page.keyboard.press('ArrowLeft');
      await preview.page.waitForSelector('.what-if .actions:not([hidden])');
      await preview.page.locator('.what-if button', { hasText: 'Write into the text' }).click();
      await expect.poll(() => text.undo.length).toBe(1);
      expect(written()).toBe('let settle = 1.78 s in 500 ms .. 3 s');
    });
  });

  describe('cursors', () => {
    it('read off every door and chamber, and differences from a second one', async () => {
      await open({ width: 1200 });
      await preview.page.locator('[data-edge="door:upper/opened/0"]').focus();
      await preview.page.keyboard.press('ArrowRight');
      await settled(preview.page);
      const readout = () => preview.page.locator('.readout').textContent();
      expect(await readout()).toMatch(/at\d.*upper.*lower.*a1\.\d+ bar.*b1 bar/);
      await preview.page.keyboard.press('m');
      await preview.page.keyboard.press('ArrowRight');
      await settled(preview.page);
      expect(await readout()).toMatch(/at[\d.]+ m?s, \+[\d.]+ m?s from [\d.]+ m?s/);
      await preview.page.screenshot({ path: join(ARTEFACTS, 'cursors.png') });
    });

    it('snap to a change, unless Alt is held', async () => {
      await open({ width: 1200 });
      const { x } = await middleOf('door:upper/closes/0');
      const ruler = (await preview.page.locator('.ruler').boundingBox())!;
      const clock = () => preview.page.locator('.clock').textContent();
      await preview.page.mouse.click(x + 4, ruler.y + ruler.height - 4);
      await settled(preview.page);
      expect(await clock()).toBe('2 s');
      await preview.page.keyboard.down('Alt');
      await preview.page.mouse.click(x + 4, ruler.y + ruler.height - 4);
      await preview.page.keyboard.up('Alt');
      await settled(preview.page);
      expect(await clock()).not.toBe('2 s');
    });
  });
});
