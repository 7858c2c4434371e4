import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { levelLabels, type PlacedLabel } from '../../server/core/diagram/kit/labels';
import { timingModels } from '../../server/core/diagram/timing/model';
import { paletteOf } from '../../server/core/diagram/kit/palette';
import { layoutTiming } from '../../server/core/diagram/timing/layout';
import { placedLabels } from '../../server/core/diagram/timing/draw-ruler';
import { biogas } from './rigs';

const FRAME = { left: 0, right: 800, levels: 3, space: 6 };

/** Pairs that collide: text over text on one level, or a leader through a text below. Written apart from the code under test. */
function collisions(labels: readonly PlacedLabel[]): string[] {
  const found: string[] = [];
  for (const a of labels) {
    for (const b of labels) {
      if (a === b) continue;
      const texts = a.level === b.level && a.left < b.left + b.width && b.left < a.left + a.width;
      const leader = a.level > b.level && a.x > b.left && a.x < b.left + b.width;
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

  it('has room for every door edge of the worked example at its natural size', () => {
    const model = timingModels(biogas())[0]!;
    const view = { width: 1_000, ...model.home, look: 'light', purpose: 'page', idPrefix: '' } as const;
    const pen = { layout: layoutTiming(model, view), view, palette: paletteOf('light') };
    const texts = placedLabels(model, pen).map((l) => l.text);
    for (const t of ['100 ms', '400 ms', '1.75 s', '2.05 s', '2.2 s', '2.5 s', '2.75 s', '3.05 s', '3.85 s', '4.15 s'])
      expect(texts).toContain(t);
  });
});
