/** What a user does with the preview page, in a real browser under its real content policy. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { previewModel, type PreviewModel } from '../../server/core/diagram/preview-model';
import { analyseRig } from '../../server/core/run/analyse';
import type { RigFacts } from '../../server/core/run/facts';
import type { SavedState } from '../../server/protocol/preview';
import { bare, biogas, ms } from '../diagram/rigs';
import { sampleRigs } from '../support/samples';
import {
  browserMissing,
  modelMessage,
  SETTINGS,
  settled,
  startHarness,
  URI,
  type Harness,
  type OpenOptions,
  type PreviewPage,
} from './harness';

const CAUTION = 'Stored pressure can injure.';
const model = (facts: RigFacts = biogas()): PreviewModel => previewModel(facts, { caution: CAUTION });
const ARTEFACTS = join(__dirname, 'artefacts');

// Frames of a browser come late on a busy machine: a test that fails once is tried again.
describe.skipIf(browserMissing)('preview page', { retry: 2 }, () => {
  let harness: Harness;
  let preview: PreviewPage;
  beforeAll(async () => {
    harness = await startHarness();
  });
  afterAll(async () => harness?.close());
  afterEach(async () => {
    expect(preview.faults).toEqual([]);
    await preview.close();
  });

  async function open(options?: OpenOptions, rig: PreviewModel = model()): Promise<PreviewPage> {
    preview = await harness.open(options);
    await preview.send(modelMessage([rig]));
    return preview;
  }
  const view = async () => ((await preview.kept()) as SavedState).views[URI]!;
  const edge = (id: string) => preview.page.locator(`[data-edge="${id}"]`);
  const line = () => preview.page.locator('.line').textContent();
  const lit = () => preview.page.evaluate(() => document.querySelectorAll('.body > g circle').length);

  it('says that it listens, draws, and keeps its state at once', async () => {
    await open();
    expect((await preview.take('ready'))[0]).toEqual({ type: 'ready', state: null });
    expect(await edge('door:upper/opens/0').count()).toBe(1);
    expect(await preview.kept()).toMatchObject({ uri: URI, locked: false });
  });

  it('waits in words before there is anything to draw', async () => {
    preview = await harness.open();
    expect(await preview.page.locator('.empty').textContent()).toBe('Waiting for the rig…');
    await preview.send(modelMessage([]));
    expect(await preview.page.locator('.empty').textContent()).toBe('This file has no rig to draw yet.');
  });

  describe('pointing', () => {
    it('lights the chain of causes and says it', async () => {
      await open();
      await edge('door:upper/closes/0').hover();
      await settled(preview.page);
      // ready, start on, upper_on on, hold, start off, upper_on off, the door: seven changes.
      expect(await lit()).toBe(7);
      expect(await preview.page.locator('.tip:not([hidden])').textContent()).toContain(
        '1.75 s: ready on → start on (+50 ms)',
      );
    });

    it('goes to the source on a click, with the keyboard', async () => {
      const rig = model();
      await open({}, rig);
      await edge('door:lower/opens/0').click();
      const source = rig.timing[0]!.lanes.flatMap((l) => l.edges).find((e) => e.id === 'door:lower/opens/0')!.source!;
      expect(await preview.take('reveal')).toEqual([{ type: 'reveal', ...source, focus: true }]);
      expect((await view()).time).toBe(ms(2_200));
    });

    it('goes to the requirement that a mark belongs to', async () => {
      const rig = model();
      await open({}, rig);
      await preview.page.locator('[data-mark="pair:upper+lower/gap/0"] rect').first().click();
      expect((await preview.take('reveal'))[0]).toMatchObject(rig.timing[0]!.marks[1]!.source!);
    });

    it('does not take a drag for a click', async () => {
      await open();
      const box = (await preview.page.locator('.body').boundingBox())!;
      // Between the lanes: a change would be taken in hand.
      await preview.page.mouse.move(box.x + 500, box.y + 2);
      await preview.page.mouse.down();
      await preview.page.mouse.move(box.x + 400, box.y + 2, { steps: 5 });
      await preview.page.mouse.up();
      expect(await preview.take('reveal')).toEqual([]);
      // The hundred pixels were dragged to the left: later times came in.
      expect((await view()).from).toBeGreaterThan(0);
    });

    it('moves the time cursor by dragging on the ruler', async () => {
      await open();
      const box = (await preview.page.locator('.ruler').boundingBox())!;
      await preview.page.mouse.move(box.x + 400, box.y + box.height - 4);
      await preview.page.mouse.down();
      await preview.page.mouse.move(box.x + 500, box.y + box.height - 4, { steps: 4 });
      const first = (await view()).time!;
      await preview.page.mouse.move(box.x + 600, box.y + box.height - 4, { steps: 4 });
      await preview.page.mouse.up();
      expect((await view()).time!).toBeGreaterThan(first);
      expect(await preview.page.locator('[data-cursor="flag"] text').textContent()).toBe(
        await preview.page.locator('.clock').textContent(),
      );
    });
  });

  describe('keyboard', () => {
    it('goes from change to change, tells each one and keeps the focus on it', async () => {
      await open();
      await preview.page.locator('.timing').focus();
      await preview.page.keyboard.press('ArrowRight');
      await settled(preview.page);
      expect(await line()).toBe('0 s: ready on');
      for (let k = 0; k < 2; k++) await preview.page.keyboard.press('ArrowRight');
      await settled(preview.page);
      expect(await line()).toContain('100 ms: ready on → start on (+50 ms)');
      await preview.page.keyboard.press('End');
      await settled(preview.page);
      const focused = await preview.page.evaluate(() => document.activeElement?.getAttribute('data-edge'));
      const last = model().timing[0]!.tables.at(-1)!.rows.at(-1)!.id;
      expect(focused).toBe(last);
    });

    it('goes to the cause, to other lanes, and to the source', async () => {
      await open();
      await preview.page.locator('.timing').focus();
      await preview.page.keyboard.press('ArrowDown');
      await preview.page.keyboard.press('c');
      await settled(preview.page);
      const focused = () => preview.page.evaluate(() => document.activeElement?.getAttribute('data-edge'));
      expect(await focused()).toBe('net:upper_on/on/0');
      await preview.page.keyboard.press('Enter');
      expect((await preview.take('reveal')).length).toBe(1);
      await preview.page.keyboard.press('ArrowDown');
      await settled(preview.page);
      expect(await focused()).toBe('net:middle_on/on/0');
    });

    it('zooms, fits and clears', async () => {
      await open();
      await preview.page.locator('.timing').focus();
      await preview.page.keyboard.press('+');
      const near = await view();
      await preview.page.keyboard.press('-');
      const far = await view();
      expect(far.to! - far.from!).toBeGreaterThan(near.to! - near.from!);
      await preview.page.keyboard.press('f');
      expect((await view()).from).toBeUndefined();
      await preview.page.keyboard.press('a');
      // The whole record: 17 s and a little.
      const all = await view();
      expect(all.to! - all.from!).toBeGreaterThan(ms(17_000));
      await preview.page.keyboard.press('1');
      const real = await view();
      const plot = await preview.page.evaluate(() =>
        Number(document.querySelector('.body clipPath rect')!.getAttribute('width')),
      );
      expect((real.to! - real.from!) / 1_000_000).toBeCloseTo(plot / 100, 1);
    });

    it('reaches every control by Tab, each with a name', async () => {
      await open();
      const unnamed = await preview.page.evaluate(
        () =>
          [...document.querySelectorAll('button, select, summary')].filter(
            (e) => !(e.getAttribute('aria-label') || e.textContent?.trim()),
          ).length,
      );
      expect(unnamed).toBe(0);
      const seen = new Set<string>();
      for (let k = 0; k < 30; k++) {
        await preview.page.keyboard.press('Tab');
        seen.add(
          await preview.page.evaluate(
            () =>
              document.activeElement?.className ||
              document.activeElement?.getAttribute('aria-label') ||
              document.activeElement?.tagName ||
              '',
          ),
        );
      }
      expect([...seen].join(' ')).toContain('timing');
    });
  });

  describe('wheel', () => {
    it('zooms at the pointer with Ctrl, and pans with Shift', async () => {
      await open();
      const box = (await preview.page.locator('.body').boundingBox())!;
      await preview.page.mouse.move(box.x + 500, box.y + 60);
      await preview.page.keyboard.down('Control');
      await preview.page.mouse.wheel(0, -300);
      await preview.page.keyboard.up('Control');
      const near = await view();
      expect(near.to! - near.from!).toBeLessThan(ms(2_500));
      await preview.page.keyboard.down('Shift');
      await preview.page.mouse.wheel(0, 200);
      await preview.page.keyboard.up('Shift');
      expect((await view()).from!).toBeGreaterThan(near.from!);
    });
  });

  describe('edits', () => {
    it('keep the view and touch only what changed', async () => {
      await open();
      await preview.page.locator('.timing').focus();
      await preview.page.keyboard.press('+');
      const before = await view();
      await preview.page.evaluate(() =>
        Object.assign(document.querySelector('.body [data-lane="door:middle"]')!, { marked: true }),
      );
      const facts = biogas();
      await preview.send(modelMessage([model({ ...facts, rig: { ...facts.rig, requirements: [] } })], { version: 2 }));
      expect(await view()).toEqual(before);
      expect(
        await preview.page.evaluate(() => 'marked' in document.querySelector('.body [data-lane="door:middle"]')!),
      ).toBe(true);
      expect(await preview.page.locator('.body').textContent()).toContain('open together');
    });

    it('leave nothing behind of what was drawn before', async () => {
      await open();
      await edge('door:upper/closes/0').hover();
      await preview.send(modelMessage([model(bare('other', [['a', [[0, ms(500)]]]], ms(50)))], { version: 2 }));
      const texts = await preview.page.locator('.body').textContent();
      expect(texts).not.toContain('overlap');
      expect(await lit()).toBe(0);
    });

    it('that arrive late are ignored', async () => {
      await open();
      await preview.send(modelMessage([model(bare('newer', [['fresh', [[0, ms(500)]]]], ms(50)))], { version: 5 }));
      await preview.send(modelMessage([model()], { version: 4 }));
      await preview.send({ type: 'stale', uri: URI, version: 3, message: 'old', line: 1, source: null });
      expect(await preview.page.locator('.body').textContent()).toContain('fresh');
      expect(await preview.page.locator('.banner').isVisible()).toBe(false);
    });
  });

  describe('broken text', () => {
    it('keeps the last drawing, dimmed, and names line and error; recovers', async () => {
      await open();
      const source = { uri: URI, start: 7, end: 9 };
      await preview.send({ type: 'stale', uri: URI, version: 2, message: 'A door needs a name.', line: 12, source });
      expect(await preview.page.locator('.banner span').textContent()).toBe('Line 12: A door needs a name.');
      expect(await edge('door:upper/opens/0').count()).toBe(1);
      expect(
        await preview.page.evaluate(() => getComputedStyle(document.querySelector('.timing .body')!).opacity),
      ).toBe('0.45');
      await preview.page.click('.banner button');
      expect((await preview.take('reveal'))[0]).toMatchObject(source);
      await preview.send(modelMessage([model()], { version: 3 }));
      expect(await preview.page.locator('.banner').isVisible()).toBe(false);
      expect(
        await preview.page.evaluate(() => getComputedStyle(document.querySelector('.timing .body')!).opacity),
      ).toBe('1');
    });
  });

  describe('reload', () => {
    it('finds the view as it was', async () => {
      await open();
      await preview.page.locator('.timing').focus();
      for (const key of ['ArrowRight', 'ArrowRight', '+', '+']) await preview.page.keyboard.press(key);
      await preview.page.click('text=Table');
      const state = (await preview.kept()) as SavedState;
      await preview.close();
      await open({ state });
      expect((await preview.take('ready'))[0]).toEqual({ type: 'ready', state });
      expect(await view()).toEqual(state.views[URI]);
      expect(await preview.page.locator('.tables').isVisible()).toBe(true);
    });

    it.each([
      null,
      7,
      'x',
      {},
      { uri: 3 },
      { uri: URI, views: { [URI]: { from: 'a', to: null, tab: 'nonsense', time: Infinity, section: { zoom: -1 } } } },
    ])('takes a broken kept state as far as it fits: %j', async (state) => {
      await open({ state });
      expect(await edge('door:upper/opens/0').count()).toBe(1);
    });
  });

  describe('text cursor', () => {
    it('lights the lane of the statement it stands in', async () => {
      const rig = model();
      await open({}, rig);
      const lane = rig.timing[0]!.lanes.find((l) => l.id === 'door:lower')!;
      await preview.send({
        type: 'cursor',
        uri: URI,
        start: lane.places[0]!.start + 1,
        end: lane.places[0]!.start + 1,
        by: 'keyboard',
      });
      // Lanes of the hand-made rig lie outside the rig's own place: the page then says nothing.
      const inside = { ...rig, source: { uri: URI, start: 0, end: 1e9 } };
      await preview.send(modelMessage([inside], { version: 2 }));
      await preview.send({
        type: 'cursor',
        uri: URI,
        start: lane.places[0]!.start + 1,
        end: lane.places[0]!.start + 1,
        by: 'keyboard',
      });
      expect((await view()).lane).toBe('door:lower');
      await preview.send({ type: 'settings', settings: { ...SETTINGS, follow: 'off' } });
      await preview.send({ type: 'cursor', uri: URI, start: 1e9 - 1, end: 1e9 - 1, by: 'mouse' });
      expect((await view()).lane).toBe('door:lower');
    });
  });

  describe('tables', () => {
    it('show the facts, and the states at the time cursor', async () => {
      await open();
      await preview.page.click('text=Table');
      await preview.page.locator('.timing').focus();
      for (let k = 0; k < 4; k++) await preview.page.keyboard.press('ArrowRight');
      await settled(preview.page);
      const rows = await preview.page.evaluate(() =>
        [...document.querySelectorAll('.state tbody tr')].map((r) => [...r.children].map((c) => c.textContent)),
      );
      expect(rows).toContainEqual(['upper_on', 'on']);
      expect(rows).toContainEqual(['upper', 'shut']);
      expect(await preview.page.locator('.fixed').textContent()).toContain('gap 150 ms');
    });

    it('are copied as tab-separated text', async () => {
      await open();
      await preview.page.click('text=Export');
      await preview.page.click('text=Copy tables');
      const [copy] = await preview.take('copy');
      expect(copy!.text).toContain('upper\t100 ms\t400 ms\t1.75 s\t2.05 s\t1.35 s');
    });
  });

  describe('export', () => {
    it('gives SVG in the look for exports, not that of the editor', async () => {
      await open({ theme: 'dark' });
      await preview.send({ type: 'command', command: 'exportSvg' });
      const [message] = await preview.take('export');
      expect(message).toMatchObject({ format: 'svg', name: 'test-timing' });
      expect(message!.data).toMatch(/^<svg xmlns=/);
      expect(message!.data).toContain('#ffffff');
      expect(message!.data).not.toContain('var(');
    });

    it.each(['timing', 'section', 'wiring'])('gives PNG of %s', async (tab) => {
      await open();
      await preview.page.click(`#tab-${tab}`);
      await preview.send({ type: 'command', command: 'exportPng' });
      await preview.page.waitForFunction(() =>
        (window as unknown as { record: { posted: { type: string }[] } }).record.posted.some(
          (m) => m.type === 'export',
        ),
      );
      const [message] = await preview.take('export');
      const bytes = Buffer.from(message!.data, 'base64');
      // PNG signature, then width and height in the header (ISO/IEC 15948, 5.2 and 11.2.2).
      expect(bytes.subarray(1, 4).toString()).toBe('PNG');
      expect(bytes.readUInt32BE(16)).toBeGreaterThan(400);
      expect(bytes.length).toBeGreaterThan(3_000);
    });
  });

  describe('second variant', () => {
    it('is laid over, named, and taken away', async () => {
      await open();
      const row = { group: 'times' as const, what: 'upper is shut', old: '2 s', now: '2.2 s', change: '+200 ms' };
      const differences = { biogas_bank: [row] };
      const other = model(bare('biogas_bank', [['upper', [[ms(300), ms(900)]]]], ms(50)));
      await preview.send({ type: 'overlay', uri: 'file:///other.rig', label: 'other.rig', rigs: [other], differences });
      const dashed = () => preview.page.locator('.body path[stroke-dasharray="5 3"]').count();
      expect(await dashed()).toBe(1);
      expect(await preview.page.locator('.second').textContent()).toBe('dashed: other.rig');
      expect(await preview.page.locator('.comparison').textContent()).toContain('Compared with other.rig: 1 differ');
      expect(await preview.page.locator('.comparison td').allTextContents()).toEqual(['2 s', '2.2 s', '+200 ms']);
      await preview.send({ type: 'overlay', uri: '', label: '', rigs: null, differences: {} });
      expect(await dashed()).toBe(0);
      expect(await preview.page.locator('.comparison').isVisible()).toBe(false);
    });
  });

  describe('proof', () => {
    it('stands above the picture; its counter-example is played step by step', async () => {
      const rig = model();
      const example = { ...rig.timing[0]!, id: 'biogas_bank/Counter-example: x', subtitle: 'Counter-example: x' };
      const steps = [
        { t: 0, text: 'ready goes on' },
        { t: ms(400), text: 'run goes off' },
        { t: ms(1_750), text: 'x is broken' },
      ];
      const examples = [{ picture: example.id, property: 'x', at: { uri: '', start: 0, end: 0 }, steps }];
      const proof = { text: 'Proved for this text: 4 of 5, 1 refuted', state: 'refuted' as const, examples };
      await open({}, { ...rig, proof, timing: [...rig.timing, example], contents: [...rig.contents, []] });
      expect(await preview.page.locator('.proof').textContent()).toContain(
        '✗ Proved for this text: 4 of 5, 1 refuted.',
      );
      expect(await preview.page.locator('.player').isVisible()).toBe(false);
      await preview.page.click('.proof button');
      await settled(preview.page);
      expect(await preview.page.locator('.player strong').textContent()).toBe('Counter-example to x');
      for (const _ of steps) await preview.page.click('.player > button:has-text("Next step")');
      await settled(preview.page);
      expect(await preview.page.locator('.player [aria-current]').textContent()).toBe('1.75 s: x is broken');
      expect(await preview.page.locator('.clock').textContent()).toBe('1.75 s');
      await preview.page.screenshot({ path: join(ARTEFACTS, 'player.png') });
      await preview.send({ type: 'picture', uri: URI, rig: rig.id, picture: rig.timing[0]!.id });
      expect(await preview.page.locator('.player').isVisible()).toBe(false);
    });
  });

  it('shows the caution until it is understood, once per file', async () => {
    await open();
    expect(await preview.page.locator('.caution span').textContent()).toBe(CAUTION);
    await preview.page.click('text=Understood');
    await preview.send(modelMessage([model()], { version: 2 }));
    expect(await preview.page.locator('.caution').isVisible()).toBe(false);
    expect(await preview.kept()).toMatchObject({ cautioned: [URI] });
  });

  it('takes nothing from the file as markup', async () => {
    const evil = '<img src=x onerror="document.title=1"><script>document.title=2</script>';
    const facts = bare(evil, [[evil, [[0, ms(500)]]]], ms(50), { title: evil });
    await open({}, model(facts));
    await preview.page.click('text=Table');
    for (const tab of ['section', 'wiring', 'timing']) await preview.page.click(`#tab-${tab}`);
    await preview.send({ type: 'stale', uri: URI, version: 2, message: evil, line: 1, source: null });
    expect(await preview.page.title()).toBe('Caisson preview');
    expect(await preview.page.locator('#caisson-preview img, #caisson-preview script').count()).toBe(0);
    await expect.poll(() => preview.page.locator('.banner span').textContent()).toContain(evil);
  });

  describe('store', () => {
    it('asks for the curves when it is shown, draws them, and says so when it is left', async () => {
      await open();
      expect(await preview.take('want')).toEqual([]);
      await preview.page.click('#tab-store');
      await settled(preview.page);
      expect((await preview.take('want')).at(-1)).toEqual({ type: 'want', stores: true });
      expect(await preview.page.locator('#panel-store .notes').textContent()).toBe('Computing the curves…');
      const points = [0, 1, 2, 3].map((k) => ({ t: k * 60_000_000, value: k }));
      const store = {
        id: 'r/own',
        name: 'By itself',
        title: 'r',
        subtitle: 'three strokes',
        notes: [],
        tables: [],
        series: [{ id: 'pressure:store', name: 'store', unit: 'bar', points }],
        marks: [
          {
            id: 'limit:store',
            kind: 'limit' as const,
            unit: 'bar',
            value: 2.5,
            label: 'store: limit 2.5 bar',
            chamber: 'store',
          },
        ],
        strokes: points.map((p, k) => ({ t: p.t, number: k })),
      };
      await preview.send(modelMessage([{ ...model(), stores: [store] }], { version: 2 }));
      expect(await preview.page.locator('.curves').textContent()).toContain('store: limit 2.5 bar');
      await preview.page.locator('.curves').focus();
      await preview.page.keyboard.press('+');
      const { from, to } = (await view()).store!;
      // Three minutes, a quarter larger: 144 s.
      expect(to - from).toBeCloseTo(144_000_000, -3);
      await preview.page.click('#tab-timing');
      await settled(preview.page);
      expect((await preview.take('want')).at(-1)).toEqual({ type: 'want', stores: false });
    });

    it('says why it is empty', async () => {
      await open({}, { ...model(), stores: [], storesWhy: 'No curves: no medium.' });
      await preview.page.click('#tab-store');
      await settled(preview.page);
      expect(await preview.page.locator('#panel-store .notes').textContent()).toBe('No curves: no medium.');
    });
  });

  describe('section and wiring', () => {
    it('show doors and nets at the time cursor', async () => {
      await open();
      await preview.page.click('#tab-section');
      const label = (id: string) => preview.page.locator(`[data-id="${id}"][role="button"]`).getAttribute('aria-label');
      await settled(preview.page);
      expect(await label('door:upper')).toBe('upper: shut');
      // Moments: 0, 50, 100, 150, 200, 400 ms; at 400 ms the upper door has opened.
      for (let k = 0; k < 6; k++) await preview.page.click('[aria-label="Next change"]');
      await settled(preview.page);
      expect(await label('door:upper')).toBe('upper: fully open');
      await preview.page.click('#tab-wiring');
      await settled(preview.page);
      expect(await label('net:hold')).toBe('hold TOF 10 s: on');
      await preview.page.locator('[data-id="net:hold"]').first().click();
      expect((await preview.take('reveal')).length).toBe(1);
    });

    it('are walked through by keyboard, each thing telling its state, and lead to the source', async () => {
      await open();
      await preview.page.click('#tab-wiring');
      await settled(preview.page);
      await preview.page.locator('.stage-wiring').focus();
      await preview.page.keyboard.press('Enter');
      const label = () => preview.page.evaluate(() => document.activeElement?.getAttribute('aria-label'));
      expect(await label()).toBe('run switch: on');
      await preview.page.keyboard.press('ArrowRight');
      await preview.page.keyboard.press('ArrowRight');
      expect(await label()).toBe('start run and ready and not hold: off');
      await preview.page.keyboard.press('Enter');
      expect((await preview.take('reveal')).length).toBe(1);
      await preview.page.keyboard.press('Escape');
      expect(await preview.page.evaluate(() => document.activeElement?.className)).toContain('stage-wiring');
    });

    it('can be read at 900 px, the text of every sample 10 px high or more', async () => {
      preview = await harness.open({ width: 900 });
      const smallest = (tab: string) =>
        preview.page.evaluate(
          (stage) =>
            Math.min(
              ...[...document.querySelectorAll<SVGTextElement>(`.stage-${stage} text`)].map(
                (text) => parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM()!.a,
              ),
            ),
          tab,
        );
      let version = 0;
      for (const rig of sampleRigs()) {
        await preview.send(modelMessage([model(analyseRig(rig))], { version: ++version }));
        for (const tab of ['wiring', 'section']) {
          await preview.page.click(`#tab-${tab}`);
          await settled(preview.page);
          expect(await smallest(tab), `${rig.name}: ${tab}`).toBeGreaterThanOrEqual(9.99);
        }
      }
      expect(version).toBeGreaterThan(5);
    }, 60_000);

    it('are gone along by the wheel, which zooms with Ctrl', async () => {
      await open({ width: 400, height: 400 });
      await preview.page.click('#tab-wiring');
      await settled(preview.page);
      await preview.page.locator('.stage-wiring').hover();
      await preview.page.mouse.wheel(0, 120);
      await settled(preview.page);
      const before = (await view()).wiring!;
      expect(before.y).toBeLessThan(0);
      await preview.page.mouse.wheel(0, 100_000);
      const low = await preview.page.locator('.stage-wiring .legend, .stage-wiring text').last().boundingBox();
      expect(low!.y).toBeGreaterThan(0);
      await preview.page.keyboard.down('Control');
      await preview.page.mouse.wheel(0, -200);
      await preview.page.keyboard.up('Control');
      expect((await view()).wiring!.zoom).toBeGreaterThan(before.zoom);
    });

    it('zoom and pan on their own, and keep it', async () => {
      await open();
      await preview.page.click('#tab-wiring');
      await settled(preview.page);
      await preview.page.locator('.stage-wiring').focus();
      await preview.page.keyboard.press('+');
      const kept = (await view()).wiring!;
      await preview.page.keyboard.press('ArrowRight');
      expect((await view()).wiring!.x).toBe(kept.x - 60);
      await preview.page.keyboard.press('f');
      expect((await view()).wiring).toBeUndefined();
    });
  });

  describe('play', () => {
    it('runs the time cursor and stops', async () => {
      await open();
      await preview.page.click('[aria-label="Play"]');
      await preview.page.waitForFunction(() => document.querySelector('.clock')!.textContent !== '0 s');
      await preview.page.click('[aria-label="Pause"]');
      await settled(preview.page);
      const stopped = await preview.page.locator('.clock').textContent();
      await preview.page.waitForTimeout(120);
      expect(await preview.page.locator('.clock').textContent()).toBe(stopped);
    });

    it('goes from change to change where less motion is asked for', async () => {
      await open({ reducedMotion: true });
      const seen = preview.page.evaluate(
        () =>
          new Promise<(string | null)[]>((resolve) => {
            const clock = document.querySelector('.clock')!;
            const texts: (string | null)[] = [];
            new MutationObserver(() => {
              if (texts.push(clock.textContent) === 3) resolve(texts);
            }).observe(clock, { childList: true, characterData: true, subtree: true });
          }),
      );
      await preview.page.click('[aria-label="Play"]');
      expect(await seen).toEqual(['0 s', '50 ms', '100 ms']);
    });
  });

  describe('themes', () => {
    it.each(['light', 'dark', 'hc-dark', 'hc-light'] as const)(
      '%s: its own colours; pictures kept for looking at',
      async (theme) => {
        await open({ theme, width: 960, height: 780 });
        mkdirSync(ARTEFACTS, { recursive: true });
        await preview.page.click('text=Understood');
        await edge('door:upper/closes/0').hover();
        await settled(preview.page);
        await preview.page.screenshot({ path: join(ARTEFACTS, `timing-${theme}.png`) });
        for (const tab of ['section', 'wiring']) {
          await preview.page.click(`#tab-${tab}`);
          await settled(preview.page);
          await preview.page.screenshot({ path: join(ARTEFACTS, `${tab}-${theme}.png`) });
        }
        const looks = {
          light: 'theme-light',
          dark: 'theme-dark',
          'hc-dark': 'contrast-dark',
          'hc-light': 'contrast-light',
        };
        expect(await preview.page.evaluate(() => document.body.dataset.look)).toBe(looks[theme]);
      },
    );

    it('keeps its own colours, of high contrast, where the system forces colours', async () => {
      await open({ forcedColors: true });
      await settled(preview.page);
      await preview.page.screenshot({ path: join(ARTEFACTS, 'timing-forced-colors.png') });
      expect(await preview.page.evaluate(() => document.body.dataset.look)).toMatch(/^contrast-/);
    });

    it('follows a change of theme, unless a look is chosen', async () => {
      await open({ theme: 'light' });
      await preview.setTheme('hc-dark');
      expect(await preview.page.evaluate(() => document.body.dataset.look)).toBe('contrast-dark');
      await preview.page.click('summary:has-text("View")');
      await preview.page.click('text=Light look');
      await settled(preview.page);
      expect(await preview.page.evaluate(() => document.body.dataset.look)).toBe('light');
      expect((await view()).look).toBe('light');
    });
  });

  it('draws a large rig with few elements and goes on working', async () => {
    const lanes = Array.from({ length: 120 }, (_, k): [string, [number, number][]] => [
      `d${k}`,
      Array.from({ length: 10 }, (_, n): [number, number] => [ms(n * 1_000 + k), ms(n * 1_000 + k + 300)]),
    ]);
    await open({}, model(bare('large', lanes, ms(50), {}, { pairs: [] })));
    const count = () => preview.page.evaluate(() => document.querySelectorAll('.timing *').length);
    expect(await count()).toBeLessThan(3_000);
    await preview.page.locator('.timing').evaluate((e) => (e.scrollTop = 5_000));
    await settled(preview.page);
    await settled(preview.page);
    expect(await preview.page.locator('.body [data-lane="door:d100"]').count()).toBeGreaterThan(0);
    expect(await preview.page.locator('.body [data-lane="door:d0"]').count()).toBe(0);
    expect(await count()).toBeLessThan(3_000);
  });
});
