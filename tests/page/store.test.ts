/** The curves of the store panel, read by pointer and by keys, in a real browser over the real engine; one time cursor for all pictures. */
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { textHost } from './by-hand-host';
import { browserMissing, settled, startHarness, type Harness, type PreviewPage } from './harness';

const ARTEFACTS = join(__dirname, 'artefacts');
const SAMPLE = readFileSync(join(__dirname, '../../samples/digester_bank.rig'), 'utf8');

describe.skipIf(browserMissing)('store panel', { retry: 2 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  beforeAll(async () => {
    harness = await startHarness();
    mkdirSync(ARTEFACTS, { recursive: true });
  });
  afterAll(async () => harness?.close());
  afterEach(async () => {
    expect(preview.faults).toEqual([]);
    await preview.close();
  });

  async function open(width = 1100): Promise<void> {
    const text = textHost(SAMPLE);
    preview = await harness.open({ width, height: 760, host: (message) => text.answer(message) });
    await text.draw(preview, 'shown');
    await show('store');
  }
  async function show(tab: string): Promise<void> {
    await preview.page.click(`#tab-${tab}`);
    await settled(preview.page);
  }
  async function press(...keys: string[]): Promise<void> {
    for (const key of keys) await preview.page.keyboard.press(key);
    await settled(preview.page);
  }
  const text = (selector: string) => preview.page.locator(selector).first().textContent();
  const number = (words: string | null, of: RegExp) => Number(of.exec(words ?? '')?.[1]);

  it('is read by pointing, chart by chart', async () => {
    await open();
    const box = (await preview.page.locator('.curves svg').boundingBox())!;
    await preview.page.mouse.move(box.x + 400, box.y + 140);
    await settled(preview.page);
    const tip = await text('.curves .tip');
    expect(tip).toMatch(/strokes? done; receiver [\d.]+ bar; store [\d.]+ bar$/);
    await preview.page.screenshot({ path: join(ARTEFACTS, 'store-pointed.png') });
    await preview.page.mouse.move(box.x + 400, box.y + 5);
    await settled(preview.page);
    expect(await preview.page.locator('.curves .tip').isHidden()).toBe(true);
  });

  it('shows one stroke over time, at the cursor of the timing diagram', async () => {
    await open();
    await preview.page.selectOption('select[aria-label="Run"]', { label: 'one stroke, ready on' });
    await settled(preview.page);
    await preview.page.locator('.curves').focus();
    await press('Home', 'ArrowRight');
    expect(await text('.readout')).toMatch(/receiver[\d.]+ bar.*pocket of upper[\d.]+ bar/);
    await preview.page.screenshot({ path: join(ARTEFACTS, 'store-stroke.png') });
    const at = await text('.readout dd');
    await show('timing');
    expect(await text('.readout dd')).toBe(at);
  });

  it.each(['mass per stroke, ready on', 'pressure against volume, ready on'])(
    'shows %s, read by pointing and by keys, with its sentence as name',
    async (name) => {
      await open();
      await preview.page.selectOption('select[aria-label="Run"]', { label: name });
      await settled(preview.page);
      const plot = preview.page.locator('.plot');
      expect(await plot.getAttribute('aria-label')).toMatch(/^Digester gas bank: .*\d.* (kg|bar)/);
      const box = (await plot.locator('svg').boundingBox())!;
      await preview.page.mouse.move(box.x + 500, box.y + 200);
      await settled(preview.page);
      expect(await plot.locator('.tip').textContent()).toMatch(/^\w+: [\d.e-]+ (kg|bar) at [\d.]+ (bar|L)$/);
      await preview.page.screenshot({ path: join(ARTEFACTS, `store-${name.slice(0, 4)}.png`) });
      await plot.focus();
      await press('ArrowRight', 'ArrowRight');
      expect(await text('.line')).toMatch(/^\w+: [\d.e-]+ (kg|bar) at [\d.]+ (bar|L)$/);
    },
  );

  it('is read by keys, every chamber, with differences from a second cursor', async () => {
    await open();
    await preview.page.locator('.curves').focus();
    await press('Home', 'ArrowRight', 'ArrowRight');
    const before = number(await text('.readout'), /store([\d.]+) bar/);
    await press('m', 'End');
    const readout = await text('.readout');
    expect(readout).toMatch(/at.* strokes done, counted from /);
    const after = number(readout, /store([\d.]+) bar/);
    expect(after).toBeGreaterThan(before);
    expect(number(readout, /store[\d.]+ bar \(\+([\d.]+)\)/)).toBeCloseTo(after - before, 1);
    expect(await text('.line')).toContain('store');
    expect(await preview.page.locator('[data-cursor]').count()).toBeGreaterThanOrEqual(2);
    await preview.page.screenshot({ path: join(ARTEFACTS, 'store-cursors.png') });
    await press('Escape');
    expect(await preview.page.locator('.readout').isHidden()).toBe(true);
  });

  it('shares its moment with section and timing: the stroke that goes on there, with what the chambers hold then', async () => {
    await open();
    await preview.page.locator('.curves').focus();
    await press('End', 'ArrowLeft');
    const held = number(await text('.readout'), /store([\d.]+) bar/);
    await show('section');
    expect(await text('#panel-section svg')).toContain(`${held} bar`);
    await preview.page.screenshot({ path: join(ARTEFACTS, 'store-section.png') });
    await show('timing');
    expect(await text('.clock')).toBe('0 s');
    expect(number(await text('.readout'), /store([\d.]+) bar/)).toBe(held);
    // A later moment of the same stroke is a later moment of the run.
    await preview.page.locator('.timing').focus();
    await press('ArrowRight', 'ArrowRight', 'ArrowRight');
    const later = await text('.clock');
    await show('store');
    expect(await text('.clock')).not.toBe(later);
  });

  it('is played moment by moment to its end, and again from its beginning', async () => {
    await open();
    await preview.page.click('[aria-label="Play"]');
    await preview.page.waitForFunction(() => document.querySelector('.clock')!.textContent !== '0 s');
    const early = await text('.clock');
    await preview.page.waitForFunction((t) => document.querySelector('.clock')!.textContent !== t, early);
    await preview.page.click('[aria-label="Pause"]');
    await settled(preview.page);
    const stopped = await text('.clock');
    await preview.page.waitForTimeout(600);
    expect(await text('.clock')).toBe(stopped);
    await preview.page.locator('.curves').focus();
    await press('End');
    const end = await text('.clock');
    expect(end).not.toBe(stopped);
    await preview.page.click('[aria-label="Play"]');
    await preview.page.waitForFunction((t) => document.querySelector('.clock')!.textContent !== t, end);
    await preview.page.waitForSelector('[aria-label="Pause"]');
    expect(await text('.readout')).toMatch(/strokes? done/);
  });

  it('counts as the timing diagram does where both show one scenario', async () => {
    await open();
    await preview.page.locator('select[aria-label="Run"]').selectOption({ label: 'scenario morning' });
    await preview.page.locator('.curves').focus();
    await press('Home', 'ArrowRight', 'ArrowRight', 'ArrowRight');
    const at = await text('.clock');
    await show('timing');
    expect(await text('.clock')).toBe(at);
    expect(await text('.readout')).toMatch(/store[\d.]+ bar/);
  });

  it('is dragged along on the numbers of strokes, and moved where it is dragged elsewhere', async () => {
    await open(900);
    const box = (await preview.page.locator('.curves svg').boundingBox())!;
    await preview.page.mouse.move(box.x + 200, box.y + 30);
    await preview.page.mouse.down();
    await preview.page.mouse.move(box.x + 300, box.y + 30, { steps: 4 });
    await settled(preview.page);
    const first = await text('.clock');
    await preview.page.mouse.move(box.x + 400, box.y + 30, { steps: 4 });
    await preview.page.mouse.up();
    await settled(preview.page);
    expect(await text('.clock')).not.toBe(first);
    const before = await text('.clock');
    await preview.page.mouse.move(box.x + 400, box.y + 150);
    await preview.page.mouse.down();
    await preview.page.mouse.move(box.x + 300, box.y + 150, { steps: 4 });
    await preview.page.mouse.up();
    await settled(preview.page);
    expect(await text('.clock')).toBe(before);
  });
});
