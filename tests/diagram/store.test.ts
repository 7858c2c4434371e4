import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { previewModel } from '../../server/core/diagram/preview-model';
import { contentsOfRun, readingText, readOff } from '../../server/core/diagram/store/cursor';
import { storeModels, type StoreModel } from '../../server/core/diagram/store/model';
import { drawStore, roundValue, storeRange } from '../../server/core/diagram/store/svg';
import { renderShape } from '../../server/core/diagram/kit/shape';
import { strokeContents } from '../../server/core/diagram/section/stroke-contents';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';
import { bare, ms } from './rigs';

const sample = (name: string) => {
  const text = readFileSync(join(__dirname, '../../samples', `${name}.rig`), 'utf8');
  return analyseRig(rigFrom(text, { allow: ['name/unused'] }).rig);
};
const view = (model: StoreModel) => ({ look: 'light', width: 900, ...storeRange(model), idPrefix: 's-' }) as const;
const text = (model: StoreModel, change = {}) =>
  drawStore(model, { ...view(model), ...change })
    .shapes.map((s) => renderShape(s))
    .join('\n');

describe('curves', () => {
  const models = storeModels(sample('digester_bank'));

  it('come for the rig by itself and for each scenario', () =>
    expect(models.map((m) => m.name)).toEqual(['By itself', 'scenario morning']));

  it('start at what the text says and agree in mass and pressure', () => {
    // Receiver and store at 1.02 bar; limit of the store 10 bar.
    for (const model of models) {
      const first = (id: string) => model.series.find((s) => s.id === id)!.points[0]!.value;
      expect(first('pressure:receiver')).toBeCloseTo(1.02, 6);
      expect(first('pressure:store')).toBeCloseTo(1.02, 6);
      // The same gas at the same state: masses are as volumes, 6 m3 to 1.5 m3.
      expect(first('mass:receiver') / first('mass:store')).toBeCloseTo(4, 6);
      expect(model.marks.find((m) => m.kind === 'limit')).toMatchObject({ unit: 'bar', value: 10 });
    }
  });

  it('rise in time and number of strokes', () => {
    for (const model of models) {
      const times = model.series[0]!.points.map((p) => p.t);
      expect(times).toEqual([...times].sort((a, b) => a - b));
      const numbers = model.strokes.map((s) => s.number);
      expect(numbers).toEqual([...numbers].sort((a, b) => a - b));
    }
  });

  it('have one chart for each unit, and the table the same first row', () => {
    const svg = text(models[0]!);
    expect(svg.match(/>bar</g)).toHaveLength(1);
    expect(svg.match(/>kg</g)).toHaveLength(1);
    expect(models[0]!.tables[0]!.rows[0]!.cells.slice(0, 4)).toEqual(['0 s', '0', '1.02', '1.02']);
  });

  it('name a mark far above the curves at the top instead of flattening them', () => {
    const flat: StoreModel = {
      ...models[0]!,
      series: [
        {
          id: 'x',
          name: 'x',
          unit: 'bar',
          points: [
            { t: 0, value: 1 },
            { t: ms(10), value: 2 },
          ],
        },
      ],
      marks: [{ id: 'm', kind: 'ceiling', unit: 'bar', value: 400, label: 'ceiling 400 bar', chamber: 'x' }],
    };
    expect(text(flat)).toContain('ceiling 400 bar ↑');
  });

  it('draw what is odd without nonsense: one point, nothing at all, zero everywhere', () => {
    for (const points of [
      [],
      [{ t: 0, value: 0 }],
      [
        { t: 0, value: 0 },
        { t: ms(5), value: 0 },
      ],
    ]) {
      const odd: StoreModel = { ...models[0]!, series: [{ id: 'x', name: 'x', unit: 'bar', points }] };
      expect(text(odd)).not.toMatch(/NaN|Infinity|undefined/);
    }
  });

  it('take nothing from the file as markup', () => {
    const evil: StoreModel = { ...models[0]!, series: [{ ...models[0]!.series[0]!, name: '<script>' }] };
    expect(text(evil)).toContain('&lt;script&gt;');
  });

  it.each([
    [0.13, 0.2],
    [0.2, 0.2],
    [3, 5],
    [51, 100],
  ])('the round step of at least %d is %d', (least, step) => expect(roundValue(least)).toBeCloseTo(step, 12));

  it('are worked out only when they are shown', () => {
    const facts = sample('digester_bank');
    expect(previewModel(facts, { caution: '' })).toMatchObject({ stores: null, storesWhy: null });
    expect(previewModel(facts, { caution: '', stores: 'shown' }).stores!.map((m) => m.name)).toEqual([
      'By itself',
      'scenario morning',
      'one stroke, ready on',
    ]);
    expect(previewModel(facts, { caution: '', stores: 'shown' }).storesWhy).toBeNull();
  });
});

describe('without curves', () => {
  const RIG = (parts: string) =>
    `rig r { chamber a { volume 1 m3 pressure 2 bar } chamber b { volume 1 m3 pressure 1 bar } door up { pocket 9 L travel 200 ms } door low { pocket 9 L travel 200 ms } ${parts} }`;
  const why = (parts: string) => {
    const facts = analyseRig(rigFrom(RIG(parts)).rig);
    return previewModel(facts, { caution: '', stores: 'shown' }).storesWhy;
  };
  it.each([
    ['', 'names no medium'],
    ['medium air', 'no stack says'],
    ['medium air\nstack a > up > low > b', 'no change of a sensor or switch moves a door'],
    ['medium air\nchamber c { pressure 1 bar }\nstack a > up > low > c', 'volume'],
  ])('it is said why: %s', (parts, words) => expect(why(parts)).toContain(words));

  it('a rig in which no stroke ever starts by itself shows the stroke that the trigger would start', () => {
    const text = `medium air
stack a > up > low > b
sensor s on a { pressure above 3 bar  clears below 2 bar }
drive up = s
drive low = TON(s, 1 s)`;
    const { stores, storesWhy } = previewModel(analyseRig(rigFrom(RIG(text)).rig), { caution: '', stores: 'shown' });
    expect(storesWhy).toBeNull();
    expect(stores!.map((m) => m.name)).toEqual(['one stroke, s on']);
  });
});

describe('reading off a curve', () => {
  const model = storeModels(sample('digester_bank'))[0]!;
  const store = model.series.find((s) => s.id === 'pressure:store')!;
  const [first, next] = store.points;
  it('is straight between its points, and nothing beyond them', () => {
    expect(readOff(store, (first!.t + next!.t) / 2)).toBeCloseTo((first!.value + next!.value) / 2, 9);
    expect(readOff(store, -1)).toBeNull();
    expect(readOff(store, store.points.at(-1)!.t)).toBe(store.points.at(-1)!.value);
    expect(readOff(store, store.points.at(-1)!.t + 1)).toBeNull();
  });
  it('gives the difference from another moment', () => {
    const away = store.points.at(-1)!.value - first!.value;
    expect(readingText(store, store.points.at(-1)!.t, first!.t)).toContain(`(+${Number(away.toPrecision(3))})`);
  });
  it('gives the contents of the section, counted from a stroke', () => {
    const zero = model.strokes.at(-1)!.t;
    const contents = contentsOfRun(model, zero).find((c) => c.chamber === 'chamber:store')!;
    expect(contents).toMatchObject({ kind: 'pressure', unit: 'bar', full: 10 });
    expect(contents.points.at(-1)).toEqual({ t: 0, value: store.points.at(-1)!.value });
  });
});

describe('what chambers hold during a stroke', () => {
  it('is at the threshold when the trigger comes, and falls as the first pocket opens', () => {
    const facts = sample('digester_bank');
    const receiver = strokeContents(facts, facts.timing.strokes[0]!)[0]!;
    expect(receiver).toMatchObject({ chamber: 'chamber:receiver', kind: 'pressure', unit: 'bar' });
    const at = (t: number) => receiver.points.filter((p) => p.t <= t).at(-1)!.value;
    // Sensor: above 1.5 bar. Two pockets of 250 L less 10 L each open onto 6 m3 with the two upper doors:
    // 1.5 bar * 6.01 / 6.49 m3 or thereabouts, less than 1.41 and more than 1.35 bar.
    expect(at(0)).toBeCloseTo(1.5, 3);
    expect(at(ms(430))).toBeLessThan(1.41);
    expect(at(ms(430))).toBeGreaterThan(1.35);
  });

  it('is a level for a liquid over a known floor', () => {
    const facts = sample('brine_lift');
    const [sump] = strokeContents(facts, facts.timing.strokes[0]!);
    // 8 m3 on 4 m2: full at 2 m; the sensor trips at 1.2 m.
    expect(sump).toMatchObject({ kind: 'level', unit: 'm', full: 2 });
    expect(sump!.points[1]!.value).toBeCloseTo(1.2, 3);
  });

  it('is empty where nothing flows', () => {
    const facts = bare('dry', [['a', [[0, ms(50)]]]], ms(5));
    expect(strokeContents(facts, facts.timing.strokes[0]!)).toEqual([]);
  });
});

describe('caution', () => {
  it('goes with rigs that could hold pressure, not with granular ones', () => {
    const packed = analyseRig(
      rigFrom('rig g {\n medium grain packed { }\n chamber a { volume 1 m3  density 2 kg/m3 }\n}', {
        allow: ['name/unused'],
      }).rig,
    );
    expect(previewModel(sample('digester_bank'), { caution: 'c' }).caution).toBe('c');
    expect(previewModel(packed, { caution: 'c' }).caution).toBeNull();
  });
});
