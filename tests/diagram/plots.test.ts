/** Pictures of one stroke: what they show is what flow knows, with units, a sentence and a reason where they are empty. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { renderShape } from '../../server/core/diagram/kit/shape';
import { pictureOf } from '../../server/core/diagram/pictures';
import { readOff } from '../../server/core/diagram/store/cursor';
import { plotModels } from '../../server/core/diagram/store/plot-model';
import { drawPlot, layoutPlot, nearestPlace, placeText } from '../../server/core/diagram/store/plot-svg';
import { strokeStores } from '../../server/core/diagram/store/stroke-curves';
import { timingModels } from '../../server/core/diagram/timing/model';
import { analyseRig } from '../../server/core/run/analyse';
import { plainText } from '../support/plain-rig';
import { rigFrom } from '../support/rig';

const of = (...words: Parameters<typeof plainText>) =>
  analyseRig(rigFrom(plainText(...words), { allow: ['name/unused'] }).rig);
const air = of('air');
const drawn = (model: ReturnType<typeof plotModels>[number], width = 900) =>
  drawPlot(model, { look: 'light', width, idPrefix: '' })
    .shapes.map((s) => renderShape(s))
    .join('\n');

describe('pressures over one stroke', () => {
  const [store] = strokeStores(air);
  it('count from the trigger, as the timing picture with the same id', () => {
    const [timing] = timingModels(air);
    expect(store!.id).toBe(timing!.id);
    const opens = timing!.lanes.find((l) => l.id === 'door:up')!.edges.find((e) => e.kind === 'opens')!;
    expect(store!.moments![0]).toBe(opens.t);
  });
  it('have the chambers and every pocket, in bar, and what flow has at its moments', () => {
    expect(store!.series.map((s) => `${s.name}, ${s.unit}`)).toEqual([
      'a, bar',
      'b, bar',
      'pocket of up, bar',
      'pocket of low, bar',
    ]);
    const { points, from } = air.flow!.strokes[0]!.course!;
    const last = points.at(-1)!;
    store!.series.forEach((s, cell) => expect(readOff(s, from + last.t)).toBeCloseTo(last.pressure[cell]! / 1e5, 9));
  });
});

describe('plots of one stroke', () => {
  const [gain, volume] = plotModels(air);
  it('have units on both axes, and a sentence with numbers as their accessible name', () => {
    for (const [plot, x, y] of [
      [gain, 'pressure of b, bar', 'mass per stroke, kg'],
      [volume, 'volume of the pocket, L', 'pressure, bar'],
    ] as const) {
      expect(drawn(plot!)).toContain(`>${x}<`);
      expect(drawn(plot!)).toContain(`>${y}<`);
      expect(plot!.sentence).toMatch(/\d.*(kg|bar)/);
    }
    const svg = pictureOf(air, 'store', { look: 'dark', width: 900, stroke: air.timing.strokes[0]!, curves: 'gain' });
    expect(svg).toContain(`<title>plain: ${gain!.sentence}</title>`);
  });

  it('read out the point that is nearest to the pointer', () => {
    const layout = layoutPlot(volume!, { look: 'light', width: 900, idPrefix: '' });
    // A point of the second curve that the first does not come near.
    const [first, second] = volume!.curves;
    const apart = (p: { x: number; y: number }): number =>
      Math.min(...first!.points.map((q) => Math.hypot(layout.x(q.x) - layout.x(p.x), layout.y(q.y) - layout.y(p.y))));
    const point = second!.points.reduce((a, b) => (apart(b) > apart(a) ? b : a));
    expect(apart(point)).toBeGreaterThan(5);
    const place = nearestPlace(volume!, layout, { x: layout.x(point.x) + 0.1, y: layout.y(point.y) })!;
    const found = volume!.curves[place.curve]!.points[place.point]!;
    expect(found.x).toBeCloseTo(point.x, 9);
    expect(found.y).toBeCloseTo(point.y, 9);
    expect(placeText(volume!, place)).toMatch(/^low: [\d.]+ bar at [\d.]+ L$/);
    expect(drawn({ ...volume! })).not.toContain('NaN');
  });

  it('mark the limit where it stands on the axis', () => {
    expect(gain!.marks.map((m) => m.label)).toContain('b: limit 8 bar');
    expect(drawn(gain!)).toContain('b: limit 8 bar');
    expect(drawn(gain!, 420)).toContain('b: limit 8 bar');
  });

  it.each([
    ['a packed medium', of('grain packed { }'), 1, 'a packed medium has no pressure'],
    ['a measured stack', of('air', 'a > up > low > b { moves 20 % }'), 0, 'a measured fraction'],
  ] as const)('say why they are empty: %s', (_, facts, which, why) => {
    const plot = plotModels(facts)[which]!;
    expect(plot.curves).toEqual([]);
    expect(plot.sentence).toContain(why);
    expect(drawn(plot)).toContain('Nothing to draw');
  });

  it.each(['digester_bank', 'brine_lift', 'blast_air_scanned', 'grain_blower', 'twin_presses'])(
    'are numbers throughout for %s',
    (name) => {
      const text = readFileSync(`samples/${name}.rig`, 'utf8');
      const plots = plotModels(analyseRig(rigFrom(text, { allow: ['name/unused'] }).rig));
      expect(plots.length).toBeGreaterThan(1);
      for (const plot of plots) expect(drawn(plot)).not.toMatch(/NaN|Infinity|undefined/);
    },
  );
});
