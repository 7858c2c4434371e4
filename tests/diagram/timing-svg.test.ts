import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { timingModel, timingModels, type TimingModel } from '../../server/core/diagram/timing/model';
import { drawTiming, renderTimingSvg } from '../../server/core/diagram/timing/svg';
import { textWidth } from '../../server/core/diagram/kit/text-width';
import type { Shape } from '../../server/core/diagram/kit/shape';
import { expectGolden } from '../support/golden';
import { bare, biogas, facts, ms } from './rigs';

const golden = (name: string) => join(__dirname, 'goldens', `${name}.svg`);
const biogasModel = (): TimingModel => timingModels(biogas())[0]!;

/** Two doors that open 1 s apart, many times. */
function manyStrokes(count: number): TimingModel {
  const windows = (offset: number) =>
    Array.from({ length: count }, (_, k): [number, number] => [ms(k * 1_000 + offset), ms(k * 1_000 + offset + 400)]);
  // Both off their seats from 300 to 450 ms of each second.
  const bothNotShut = windows(300).map(([from]) => ({ from, to: from + ms(150) }));
  const pair = { doors: [0, 1] as const, bothNotShut, bothFullyOpen: [], overlap: null, leastOverlap: null, gap: null };
  return timingModels(
    bare(
      'many',
      [
        ['a', windows(0)],
        ['b', windows(300)],
      ],
      ms(50),
      {},
      { pairs: [pair] },
    ),
  )[0]!;
}

function countShapes(shape: Shape): number {
  return 1 + shape.children.reduce((sum, c) => sum + countShapes(c), 0);
}

describe('pictures', () => {
  it('of the worked example', () => expectGolden(golden('gas-bank-light'), renderTimingSvg(biogasModel())));
  it('for paper', () => expectGolden(golden('gas-bank-print'), renderTimingSvg(biogasModel(), { look: 'print' })));

  it('of doors open together with nobody having said so, and of a path straight through', () => {
    // The upper door closes only at 2.10 s: all three are off their seats from 2.20 to 2.40 s.
    const windows = [
      [100, 2_100],
      [100, 2_750],
      [2_200, 3_850],
    ].map(([from, to]): [number, number] => [ms(from!), ms(to!)]);
    const lanes = ['upper', 'middle', 'lower'].map((name, k): [string, [number, number][]] => [name, [windows[k]!]]);
    expectGolden(
      golden('faults-dark'),
      renderTimingSvg(timingModels(bare('faulty', lanes, ms(300)))[0]!, { look: 'dark' }),
    );
  });

  it('with tolerances as soft edges', () => {
    const spread = biogasModel()
      .lanes.flatMap((l) => l.edges)
      .map((e) => [e.id, { min: e.t - ms(20), max: e.t + ms(60) }] as const);
    expectGolden(
      golden('gas-bank-soft'),
      renderTimingSvg(timingModel(biogas(), biogas().timing.strokes[0]!, new Map(spread))),
    );
  });

  it('with a soft edge where only one of the edges has a tolerance', () => {
    const edges = biogasModel().lanes.flatMap((l) => l.edges);
    const drawn = (loose: (id: string) => boolean): number => {
      const ranges = edges.map((e) => [e.id, { min: e.t, max: e.t + (loose(e.id) ? ms(60) : 0) }] as const);
      const svg = renderTimingSvg(timingModel(biogas(), biogas().timing.strokes[0]!, new Map(ranges)));
      return svg.split('stroke-dasharray="2 2"').length - 1;
    };
    expect(drawn(() => false)).toBe(0);
    expect(drawn((id) => id.includes('/shuts/'))).toBe(drawn(() => true));
    expect(drawn(() => true)).toBeGreaterThan(0);
  });

  it('of many strokes at once, drawn as blocks', () =>
    expectGolden(golden('many-strokes'), renderTimingSvg(manyStrokes(400))));
});

describe('what a picture may contain', () => {
  const evil = "\"><script>alert(1)</script><g onload='x'>&amp; \u0000\ud800";
  const svg = () => renderTimingSvg(timingModels(bare('evil', [[evil, [[0, ms(500)]]]], ms(50), { title: evil }))[0]!);

  it('takes nothing from the file as markup', () => {
    expect(svg()).not.toMatch(/<script|<g onload/);
    expect(svg()).toContain('&lt;script&gt;');
  });

  it('has no character that XML forbids', () => {
    // eslint-disable-next-line no-control-regex -- control characters are what is looked for
    expect(svg()).not.toMatch(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/);
    expect(svg()).not.toMatch(/[\ud800-\udbff](?![\udc00-\udfff])/);
  });

  it('has no inline style, script or link: it works under a strict content policy', () => {
    expect(renderTimingSvg(biogasModel(), { look: 'theme' })).not.toMatch(/\sstyle=|<style|<script|\shref=|\son\w+=/);
  });

  it('has literal colours in looks for files and variables in looks for the editor', () => {
    for (const look of ['light', 'dark', 'print'] as const)
      expect(renderTimingSvg(biogasModel(), { look })).not.toContain('var(');
    expect(renderTimingSvg(biogasModel(), { look: 'theme-dark' })).toContain('var(--vscode-editor-foreground');
  });

  it('says in words what it shows', () => {
    const svg = renderTimingSvg(biogasModel());
    expect(svg).toContain('role="img"');
    expect(svg).toMatch(/<title id="caisson-title">Digester gas bank: timing diagram<\/title>/);
    expect(svg).toMatch(
      /<desc [^>]*>One stroke from ready on · repeats every 11.8 s\. upper, opens 100 ms, fully open 400 ms/,
    );
  });

  it('can stand twice in a document', () => {
    const ids = (prefix: string) =>
      [...renderTimingSvg(biogasModel(), { idPrefix: prefix }).matchAll(/ id="([^"]+)"/g)].map((m) => m[1]);
    expect(ids('a-').filter((id) => ids('b-').includes(id))).toEqual([]);
  });

  it('draws a range of no length, and doors that never move', () => {
    const still = timingModels(
      bare(
        'still',
        [
          ['a', []],
          ['b', [[0, ms(100)]]],
        ],
        ms(10),
      ),
    )[0]!;
    expect(renderTimingSvg({ ...still, home: { from: 0, to: 0 } })).not.toMatch(/NaN|Infinity/);
    expect(renderTimingSvg(still, { width: 200 })).not.toMatch(/NaN|Infinity/);
  });
});

describe('level of detail', () => {
  const view = { width: 900, look: 'light', purpose: 'page', idPrefix: 'x-' } as const;

  it('keeps a picture of 10,000 strokes small', () => {
    const model = manyStrokes(10_000);
    const { body } = drawTiming(model, { ...view, from: model.start, to: model.end });
    // The targets for pointing are the bound: 600 of them.
    expect(countShapes(body)).toBeLessThan(1_000);
  });

  it('draws no timer that would be nothing but the head of its arrow', () => {
    const model = biogasModel();
    const runs = (to: number): number =>
      JSON.stringify(drawTiming(model, { ...view, from: 0, to }).body).split('"run:').length - 1;
    expect(runs(model.end)).toBeGreaterThan(2);
    expect(runs(model.end * 1000)).toBe(0);
  });

  it('draws only what is in sight', () => {
    const model = manyStrokes(10_000);
    const { body } = drawTiming(model, { ...view, from: ms(5_000_000), to: ms(5_004_000) });
    expect(countShapes(body)).toBeLessThan(250);
  });

  it('shows nothing wrong at the edges of the sight: a door that is open all through it', () => {
    const model = timingModels(bare('long', [['a', [[0, ms(60_000)]]]], ms(50)))[0]!;
    const { body } = drawTiming(model, { ...view, from: ms(20_000), to: ms(21_000) });
    expect(JSON.stringify(body)).toContain('opening/');
  });

  it('shows a door that is open before the trigger as open', () => {
    const of = bare('open', [['drain', []]], ms(100));
    const stroke = of.timing.strokes[0]!;
    const doors = [{ initial: 1, moves: [{ t: ms(50), from: 1, to: 0 as const, arrives: ms(150), cause: 0 }] }];
    const model = timingModels(facts(of.rig, [{ ...stroke, trace: { ...stroke.trace, end: ms(500), doors } }]))[0]!;
    const shape = JSON.stringify(drawTiming(model, { ...view, from: ms(-100), to: ms(-50) }).body);
    expect(shape).toContain('"opening/');
  });

  it('leaves out lanes that are scrolled away', () => {
    const lanes = Array.from({ length: 200 }, (_, k): [string, [number, number][]] => [
      `d${k}`,
      [[ms(10 * k), ms(10 * k + 500)]],
    ]);
    const model = timingModels(bare('tall', lanes, ms(50)))[0]!;
    const whole = { ...view, ...model.home };
    const all = countShapes(drawTiming({ ...model, marks: [] }, whole).body);
    const some = countShapes(drawTiming({ ...model, marks: [] }, { ...whole, sight: { top: 0, bottom: 800 } }).body);
    expect(some).toBeLessThan(all / 5);
  });
});

describe('measured edges', () => {
  /** Texts of the lengths with the places they take. */
  function lengths(
    measured: readonly number[],
    width: number,
  ): { text: string; left: number; right: number; y: number }[] {
    const model = biogasModel();
    const { id } = model.lanes[0]!;
    const readings = measured.map((late, k) => ({
      lane: id,
      expected: ms(500 + 300 * k),
      measured: ms(500 + 300 * k + late),
      within: false,
      length: `${late} ms late`,
      text: `edge ${k}: ${late} ms late`,
    }));
    const { body } = drawTiming(model, {
      width,
      from: model.start,
      to: model.end,
      look: 'light',
      purpose: 'page',
      idPrefix: 'x-',
      readings,
    });
    const found: { text: string; left: number; right: number; y: number }[] = [];
    const walk = (shape: Shape): void => {
      if (shape.key === 'length' && shape.tag === 'text') {
        const left = Number(shape.attributes.x);
        const text = String(shape.text);
        found.push({ text, left, right: left + textWidth(text, 10), y: Number(shape.attributes.y) });
      }
      shape.children.forEach(walk);
    };
    [body].flat().forEach(walk);
    return found;
  }

  it('write their lengths over one another nowhere, however close they are', () => {
    for (const width of [320, 520, 900, 1400]) {
      const all = lengths([120, 140, 90, 70, 110], width);
      expect(all.length, `${width} px`).toBeGreaterThan(0);
      for (const [i, a] of all.entries())
        for (const b of all.slice(i + 1))
          expect(a.right < b.left || b.right < a.left || Math.abs(a.y - b.y) >= 10, `${a.text}, ${b.text}`).toBe(true);
    }
    // With room enough every one is written.
    expect(lengths([120, 140], 1400)).toHaveLength(2);
  });
});
