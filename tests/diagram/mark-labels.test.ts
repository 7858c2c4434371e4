import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Shape } from '../../server/core/diagram/kit/shape';
import { textWidth } from '../../server/core/diagram/kit/text-width';
import { placeMarkLabels, type Point } from '../../server/core/diagram/store/mark-labels';
import { storeModels, type StoreModel } from '../../server/core/diagram/store/model';
import { drawStore, storeRange } from '../../server/core/diagram/store/svg';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';

const FRAME = { x0: 0, x1: 400, height: 200 };
/** Letters of a label: a little less than what is kept clear. */
const covers = (at: Point, width: number, curve: readonly Point[]): boolean =>
  curve.slice(1).some((b, k) => {
    const a = curve[k]!;
    for (let part = 0; part <= 1; part += 0.01) {
      const [x, y] = [a.x + part * (b.x - a.x), a.y + part * (b.y - a.y)];
      if (x >= at.x && x <= at.x + width && y >= at.y - 8 && y <= at.y + 2) return true;
    }
    return false;
  });

describe('words of a mark', () => {
  const label = { y: 100, x: 20, width: 80 };
  const place = (curve: readonly Point[]): Point => placeMarkLabels([label], [curve], FRAME)[0]!;

  it('stand where they are wanted where nothing is in their way', () =>
    expect(
      place([
        { x: 0, y: 150 },
        { x: 400, y: 150 },
      ]),
    ).toEqual({ x: 20, y: 96 }));

  it('go under their line, along it, or above the chart where a curve is in their way', () => {
    const over = [
      { x: 0, y: 92 },
      { x: 400, y: 92 },
    ];
    expect(place(over)).toEqual({ x: 20, y: 112 });
    const steep = [
      { x: 40, y: 0 },
      { x: 60, y: 200 },
    ];
    const at = place(steep);
    expect(covers(at, 80, steep)).toBe(false);
    expect(at.y).toBe(96);
    const everywhere = Array.from({ length: 401 }, (_, x) => ({ x, y: x % 2 === 0 ? 60 : 140 }));
    expect(place(everywhere)).toEqual({ x: 20, y: -4 });
  });

  it('do not cover each other, nor another line', () => {
    const labels = [label, { ...label, y: 106 }, { ...label, y: null }, { ...label, y: null }];
    const places = placeMarkLabels(labels, [], FRAME);
    expect(new Set(places.map((p) => `${p.x} ${p.y}`)).size).toBe(4);
    // The first may not go under its line, where the second one runs, nor the second over its own.
    expect(places.slice(0, 2).map((p) => p.y)).toEqual([96, 118]);
  });
});

const points = (d: string): Point[] =>
  [...d.matchAll(/[ML]([-\d.]+) ([-\d.]+)/g)].map(([, x, y]) => ({ x: Number(x), y: Number(y) }));

/** Labels of marks that lie over a curve of their chart. */
function covered(model: StoreModel, width: number): string[] {
  const all = (shape: Shape): Shape[] => [shape, ...shape.children.flatMap(all)];
  const view = { look: 'light', width, ...storeRange(model), idPrefix: '' } as const;
  const charts = drawStore(model, view)
    .shapes.flatMap(all)
    .filter((s) => s.key.startsWith('chart:'));
  return charts.flatMap((chart) => {
    const inside = all(chart);
    const curves = inside.filter((s) => s.tag === 'path').map((s) => points(String(s.attributes['d'])));
    const labels = inside.filter((s) => s.key === 'label');
    return labels.flatMap((l) => {
      const at = { x: Number(l.attributes['x']), y: Number(l.attributes['y']) };
      return curves.some((curve) => covers(at, textWidth(l.text, 10) * 0.9, curve)) ? [l.text] : [];
    });
  });
}

describe('limits, targets and ceilings', () => {
  it.each(['digester_bank', 'brine_lift', 'blast_air_scanned', 'grain_blower', 'twin_presses'])(
    'of %s lie over no curve',
    (name) => {
      const { rig } = rigFrom(readFileSync(`samples/${name}.rig`, 'utf8'), { allow: ['name/unused'] });
      const models = storeModels(analyseRig(rig));
      expect(models.length).toBeGreaterThan(0);
      for (const model of models)
        for (const width of [420, 900, 1400]) expect(covered(model, width), `${model.id} ${width} px`).toEqual([]);
    },
  );
});
