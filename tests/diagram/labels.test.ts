import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { levelLabels, type PlacedLabel } from '../../server/core/diagram/kit/labels';
import { timingModels } from '../../server/core/diagram/timing/model';
import { paletteOf } from '../../server/core/diagram/kit/palette';
import { layoutTiming } from '../../server/core/diagram/timing/layout';
import { placedLabels, rulerLabels } from '../../server/core/diagram/timing/draw-ruler';
import { createDocument } from '../../server/core/document/document';
import { biogas } from './rigs';

const FRAME = { left: 0, right: 800, levels: 3, space: 6 };

/** Pairs that collide: text over text on one level, or a leader through a text below. Written apart from the code under test. */
function collisions(labels: readonly PlacedLabel[]): string[] {
  const found: string[] = [];
  for (const a of labels) {
    for (const b of labels) {
      if (a === b) continue;
      const texts = a.level === b.level && a.left < b.left + b.width && b.left < a.left + a.width;
      const leader = a.level > b.level && a.leaders.some((x) => x > b.left && x < b.left + b.width);
      if (texts || leader) found.push(`${a.text} / ${b.text}`);
    }
  }
  return found;
}

const label = fc.record({
  x: fc.integer({ min: 0, max: 800 }),
  width: fc.integer({ min: 5, max: 120 }),
  weight: fc.integer({ min: 1, max: 5 }),
  text: fc.string(),
});

describe('labels of a ruler', () => {
  it('never collide and stay in the frame', () => {
    fc.assert(
      fc.property(fc.array(label, { maxLength: 60 }), (labels) => {
        const placed = levelLabels(labels, FRAME);
        expect(collisions(placed)).toEqual([]);
        expect(placed.every((p) => p.left >= 0 && p.left + p.width <= 800)).toBe(true);
      }),
      { seed: 7, numRuns: 500 },
    );
  });

  it('places the heaviest of two that have room for one', () => {
    const labels = [
      { x: 100, width: 40, weight: 1, text: 'light' },
      { x: 101, width: 40, weight: 5, text: 'heavy' },
    ];
    expect(levelLabels(labels, { ...FRAME, levels: 1 }).map((p) => p.text)).toEqual(['heavy']);
  });

  it('never collide in a picture at any zoom', () => {
    const model = timingModels(biogas())[0]!;
    for (let to = 20_000; to < 17_000_000; to = Math.round(to * 1.37)) {
      const view = { width: 700, from: -10_000, to, look: 'light', purpose: 'page', idPrefix: '' } as const;
      const pen = { layout: layoutTiming(model, view), view, palette: paletteOf('light') };
      expect(collisions(placedLabels(model, pen)), `up to ${to}`).toEqual([]);
    }
  });

  it('drop none of those that are kept: where two stand too close they share a text', () => {
    const at = fc.integer({ min: 0, max: 800 });
    const kept = fc.record({ x: at, weight: fc.constantFrom(1, 5, 5), width: fc.integer({ min: 20, max: 60 }) });
    const frame = { ...FRAME, kept: 5, widthOf: (text: string) => 6 * text.length };
    fc.assert(
      fc.property(fc.uniqueArray(kept, { maxLength: 40, selector: (l) => l.x }), (found) => {
        const labels = found.map((l) => ({ ...l, text: `${l.x} s` }));
        const placed = levelLabels(labels, frame);
        expect(collisions(placed)).toEqual([]);
        const heavy = labels.filter((l) => l.weight === 5);
        for (const l of heavy)
          expect(
            placed.filter((p) => p.leaders.includes(l.x)),
            `${l.x}`,
          ).toHaveLength(1);
      }),
      { seed: 11, numRuns: 500 },
    );
  });

  it.each([
    ['side by side', 12, ['2.55 s', '2.6 s'], [0, 0]],
    ['in one text', 5, ['2.55 s, 2.6 s'], [0]],
  ])('name a moment next to another: %s', (_, apart, texts, levels) => {
    const widthOf = (text: string): number => 6 * text.length;
    const close = ['2.55 s', '2.6 s'].map((text, k) => ({ x: 200 + k * apart, width: widthOf(text), weight: 5, text }));
    const placed = levelLabels(close, { ...FRAME, space: 6, kept: 5, widthOf });
    expect(placed.map((p) => p.text)).toEqual(texts);
    expect(placed.map((p) => p.level)).toEqual(levels);
  });

  it('name every moment at which a door leaves its seat or is shut, in every sample', () => {
    for (const name of ['digester_bank', 'brine_lift', 'quay_lock', 'twin_presses']) {
      const document = createDocument(
        { uri: 'file:///x.rig', version: 1, text: readFileSync(`samples/${name}.rig`, 'utf8') },
        () => undefined,
      );
      for (const model of timingModels(document.analysed()[0]!)) {
        for (const width of [520, 900, 1400]) {
          const view = { width, ...model.home, look: 'light', purpose: 'page', idPrefix: '' } as const;
          if (view.to <= view.from) continue;
          const pen = { layout: layoutTiming(model, view), view, palette: paletteOf('light') };
          // More moments than can be told apart are left to the scale beneath.
          if (rulerLabels(model, pen).length === 0 && model.scenario !== undefined) continue;
          const leaders = placedLabels(model, pen).flatMap((l) => l.leaders);
          const edges = model.lanes.filter((l) => l.kind === 'door').flatMap((l) => l.edges);
          for (const { t, kind } of edges) {
            if ((kind !== 'opens' && kind !== 'shuts') || t < view.from || t > view.to) continue;
            expect(leaders, `${name} ${model.id} ${width} px ${t}`).toContain(pen.layout.x(t));
          }
        }
      }
    }
  });

  it('has room for every door edge of the worked example at its natural size', () => {
    const model = timingModels(biogas())[0]!;
    const view = { width: 1_000, ...model.home, look: 'light', purpose: 'page', idPrefix: '' } as const;
    const pen = { layout: layoutTiming(model, view), view, palette: paletteOf('light') };
    const texts = placedLabels(model, pen).map((l) => l.text);
    for (const t of ['100 ms', '400 ms', '1.75 s', '2.05 s', '2.2 s', '2.5 s', '2.75 s', '3.05 s', '3.85 s', '4.15 s'])
      expect(texts).toContain(t);
  });
});
