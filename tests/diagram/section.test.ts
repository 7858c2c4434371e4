import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { layoutSection } from '../../server/core/diagram/section/layout';
import { sectionModel } from '../../server/core/diagram/section/model';
import { drawSection, valueOf } from '../../server/core/diagram/section/svg';
import { renderShape, type Shape } from '../../server/core/diagram/kit/shape';
import { flowAt, pocketAt, scenarioFlows, strokeFlows } from '../../server/core/diagram/section/stroke-flows';
import { textWidth } from '../../server/core/diagram/kit/text-width';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';
import { positionAt } from '../../server/core/diagram/kit/state';
import { scenarioRun } from '../../server/core/run/scenario-run';
import { scenarioModel, timingModels } from '../../server/core/diagram/timing/model';
import { biogas, chamber, door, facts, ms, rig, stack } from './rigs';

const model = sectionModel(biogas().rig);
const timing = timingModels(biogas())[0]!;
const box = (id: string, of = model) => layoutSection(of).boxes.find((b) => b.member.id === id)!;

function find(shapes: readonly Shape[], key: string): Shape | undefined {
  for (const s of shapes) {
    if (s.key === key) return s;
    const inner = find(s.children, key);
    if (inner) return inner;
  }
  return undefined;
}
const at = (time: number) => drawSection(model, { look: 'light', time, timing, purpose: 'page' }).shapes;

describe('section', () => {
  it('is to scale: volumes of boxes taken as cylinders are as the volumes in the text', () => {
    // Volume of a cylinder as tall as wide goes with the cube of its side: 6 m3 against 1.5 m3, and against a pocket of 0.25 m3.
    const volume = (id: string) => box(id).width ** 2 * box(id).height;
    expect(volume('chamber:receiver') / volume('chamber:store')).toBeCloseTo(4, 6);
    expect(volume('chamber:receiver') / volume('door:upper')).toBeCloseTo(24, 6);
    // A bore of 300 mm against a vessel of side (4 V / pi)^(1/3) = 1.9695 m.
    expect(box('chamber:receiver').width / box('door:upper').bore).toBeCloseTo(1.9695 / 0.3, 2);
  });

  it('draws a chamber on its floor area where one is given', () => {
    const sump = { ...chamber('sump', 8), floorArea: { nominal: 4, min: 4, max: 4, at: chamber('x', 1).at } };
    const of = sectionModel(
      rig('lift', { chambers: [sump, chamber('store', 1)], doors: [door('a')], stacks: [stack('c0 d0 c1')] }),
    );
    // 8 m3 on 4 m2 stand 2 m high; a round floor of 4 m2 is 2.2568 m wide.
    const { width, height } = box('chamber:sump', of);
    expect(width / height).toBeCloseTo(2.2568 / 2, 3);
  });

  it('goes down with the flow', () => {
    const tops = ['chamber:receiver', 'door:upper', 'door:middle', 'door:lower', 'chamber:store'].map(
      (id) => box(id).y,
    );
    expect(tops).toEqual([...tops].sort((a, b) => a - b));
  });

  it('draws a chamber that two stacks share once, below both', () => {
    const shared = rig('two', {
      chambers: [chamber('a', 1), chamber('b', 1), chamber('store', 2)],
      doors: [door('p'), door('q')],
      stacks: [stack('c0 d0 c2'), stack('c1 d1 c2')],
    });
    const layout = layoutSection(sectionModel(shared));
    expect(layout.boxes.filter((b) => b.member.id === 'chamber:store').length).toBe(1);
    const centre = (id: string) => {
      const found = layout.boxes.find((b) => b.member.id === id)!;
      return found.x + found.width / 2;
    };
    expect(centre('chamber:store')).toBeCloseTo((centre('door:p') + centre('door:q')) / 2, 6);
  });

  it('keeps a chamber in the middle of a stack in its line, whatever leads off it', () => {
    const vented = rig('hatch', {
      chambers: [chamber('box', 1), chamber('hatch', 0.05), chamber('room', 3), chamber('outside', 1)],
      doors: [door('inner'), door('outer'), door('vent')],
      stacks: [stack('c0 d0 c1 d1 c2'), stack('c1 d2 c3')],
    });
    const { boxes, necks } = layoutSection(sectionModel(vented));
    for (const { width, from, to } of necks)
      for (const end of [from, to].filter((b) => b.member.kind === 'chamber')) expect(width).toBeLessThan(end.width);
    const centres = ['chamber:box', 'door:inner', 'chamber:hatch', 'door:outer', 'chamber:room', 'door:vent'].map(
      (id) => {
        const found = boxes.find((b) => b.member.id === id)!;
        return found.x + found.width / 2;
      },
    );
    expect(new Set(centres.slice(0, 5).map(Math.round)).size).toBe(1);
    expect(centres[5]).toBeGreaterThan(centres[0]!);
  });

  it('gives every stack the room of its own members and labels: two stand in 900 px, no label under another', () => {
    const { rig: presses } = rigFrom(readFileSync('samples/twin_presses.rig', 'utf8'), { allow: ['name/unused'] });
    const { boxes, width } = layoutSection(sectionModel(presses));
    expect(width).toBeLessThan(880);
    const ends = boxes.map((b) => ({
      id: b.member.id,
      top: b.y,
      bottom: b.y + b.height,
      left: b.x - (b.member.kind === 'door' ? b.width / 2 : 0),
      right: b.labelX + textWidth(b.member.detail, 10.5),
    }));
    const across = ends.flatMap((a, k) =>
      ends.slice(k + 1).filter((b) => a.top < b.bottom && b.top < a.bottom && a.left < b.right && b.left < a.right),
    );
    expect(across).toEqual([]);
    expect(Math.min(...ends.map((e) => e.left))).toBeGreaterThan(0);
    expect(Math.max(...ends.map((e) => e.right))).toBeLessThan(width);
  });

  it('takes a ring of chambers and ends', () => {
    const ring = rig('ring', {
      chambers: [chamber('a', 1), chamber('b', 1)],
      doors: [door('p'), door('q')],
      stacks: [stack('c0 d0 c1'), stack('c1 d1 c0')],
    });
    expect(layoutSection(sectionModel(ring)).boxes.every((b) => Number.isFinite(b.y))).toBe(true);
  });

  it('draws what has no size dashed and says that it is not to scale', () => {
    const vague = rig('vague', {
      chambers: [{ ...chamber('a', 1), volume: null }, chamber('b', 1)],
      doors: [door('p')],
      stacks: [stack('c0 d0 c1')],
    });
    const of = sectionModel(vague);
    const still = timingModels(facts(vague, []))[0]!;
    const { shapes } = drawSection(of, { look: 'light', time: 0, timing: still, purpose: 'file' });
    expect(find([find(shapes, 'chamber:a')!], 'wall')!.attributes['stroke-dasharray']).toBe('5 3');
    expect(find(shapes, 'note')!.text).toBe('dashed: not to scale');
  });

  it('moves the leaves with the doors', () => {
    // Upper opens from 100 to 400 ms: shut at 100, half open at 250, open at 400 ms; a quarter shut 75 ms after 1.75 s.
    const words = (time: number) => find(at(time), 'door:upper')!.attributes['aria-label'];
    expect([0, 100, 250, 400, 1_825].map((t) => words(ms(t)))).toEqual(
      ['shut', 'shut', '50 % open', 'fully open', '75 % open'].map((s) => `upper: ${s}`),
    );
    const gap = (time: number) => Number(find([find(at(time), 'door:upper')!], 'open')?.attributes.width ?? 0);
    expect(gap(ms(250)) / gap(ms(400))).toBeCloseTo(0.5, 6);
    expect(gap(0)).toBe(0);
  });

  it('shades what chambers hold: gas by its darkness, liquid by its level', () => {
    const points = [
      { t: 0, value: 1 },
      { t: ms(100), value: 2 },
    ];
    const gas = { chamber: 'chamber:store', kind: 'pressure', unit: 'bar', full: 4, points } as const;
    expect(valueOf(gas, ms(50))).toBe(1.5);
    const shade = (kind: 'pressure' | 'level', key: string) =>
      find(
        [
          find(
            drawSection(model, { look: 'light', time: ms(100), timing, purpose: 'file', contents: [{ ...gas, kind }] })
              .shapes,
            'chamber:store',
          )!,
        ],
        key,
      )!;
    // Half full: 0.08 + 0.72 / 2.
    expect(shade('pressure', 'contents').attributes['fill-opacity']).toBeCloseTo(0.44, 6);
    expect(Number(shade('level', 'liquid').attributes.height) / box('chamber:store').height).toBeCloseTo(0.5, 6);
  });

  it('has a table upstream first', () => {
    expect(model.tables[0]!.rows.map((r) => r.cells.slice(0, 2).join(' '))).toEqual([
      'receiver chamber',
      'upper door',
      'middle door',
      'lower door',
      'store chamber',
    ]);
  });
});

describe('what flows', () => {
  const facts = analyseRig(rigFrom(readFileSync('samples/digester_bank.rig', 'utf8'), { allow: ['name/unused'] }).rig);
  const flow = strokeFlows(facts, 0)!;
  const { course } = facts.flow!.strokes[0]!;

  it('is what the stroke moves: all of it enters the store through the last door', () => {
    const moved = flow.links
      .at(-1)!
      .values.slice(1)
      .reduce<number>((sum, v, k) => sum + v! * ((flow.times[k + 1]! - flow.times[k]!) / 1e6), 0);
    expect(moved).toBeCloseTo(facts.flow!.strokes[0]!.gains[1]!, 3);
  });

  it('goes down into the open pockets, and nowhere through a shut door', () => {
    // Upper and middle open from 80 ms; lower stays shut until the upper one is.
    expect(flowAt(flow, 'chamber:receiver', 'door:upper', ms(200))).toBeGreaterThan(0);
    expect(flowAt(flow, 'door:lower', 'chamber:store', ms(200))).toBe(0);
    expect(flowAt(flow, 'chamber:receiver', 'door:upper', -1)).toBeNull();
  });

  it('is drawn with the pressures of the pockets', () => {
    const view = { look: 'light', time: ms(200), timing: timingModels(facts)[0]!, purpose: 'file', flow } as const;
    const text = drawSection(sectionModel(facts.rig), view)
      .shapes.map((s) => renderShape(s))
      .join('\n');
    expect(text.match(/data-flow="down"/g)).toHaveLength(2);
    expect(text).not.toContain('data-flow="up"');
    const pressure = pocketAt(flow, 'door:upper', ms(200))!;
    expect(text).toContain(`% open, ${Number(pressure.toPrecision(4))} bar`);
    expect(course!.from).toBeGreaterThan(0);
  });
});

describe('what flows in a scenario', () => {
  const facts = analyseRig(rigFrom(readFileSync('samples/digester_bank.rig', 'utf8'), { allow: ['name/unused'] }).rig);
  const { rig } = facts;
  const until = rig.scenarios[0]!.duration!.nominal;
  const run = scenarioRun(rig, 0, until)!;
  const flow = scenarioFlows(rig, 0, until)!;
  /** kg through a link from the beginning to a moment that was followed. */
  const passed = ({ values }: { readonly values: readonly (number | null)[] }, to = until): number =>
    values.reduce<number>((sum, v, k) => {
      const { [k]: t, [k - 1]: since } = flow.times;
      return k === 0 || t! > to ? sum : sum + (v ?? 0) * ((t! - since!) / 1e6);
    }, 0);

  it('is what leaves one chamber and enters the other, with what is fed and drawn', () => {
    // Up to the first period that is counted and not followed, where there is any.
    const to = run.closed[0] ? run.closed[0].from : until;
    const [first, last] = [flow.links[0]!, flow.links.at(-1)!];
    const [start, end] = [run.course[0]!, run.course.filter((m) => m.t <= to).at(-1)!];
    const brought = (cell: number): number =>
      run.course.filter((m) => m.t <= to).reduce((sum, m) => sum + (m.brought?.[cell] ?? 0), 0);
    const gained = (cell: number): number => end.mass[cell]! - start.mass[cell]! - brought(cell);
    expect(passed(last, to)).toBeGreaterThan(0.1);
    expect(passed(first, to) / -gained(0)).toBeCloseTo(1, 4);
    expect(passed(last, to) / gained(1)).toBeCloseTo(1, 4);
  });

  it('goes through open doors alone', () => {
    const { lanes } = scenarioModel(facts, rig.scenarios[0]!)!;
    const isOpen = (id: string, t: number): boolean =>
      lanes.some((lane) => lane.id === id && lane.kind === 'door' && positionAt(lane.points, t) > 0);
    const shut = lanes.flatMap((lane) => lane.edges.filter((e) => e.kind === 'shuts').map((e) => e.t));
    expect(shut.length).toBeGreaterThan(10);
    const moments = [...shut, ...Array.from({ length: 3_000 }, (_, k) => Math.round((until * k) / 3_000))];
    const flowing = flow.links.flatMap(({ from, to }) =>
      moments.filter((t) => (flowAt(flow, from, to, t) ?? 0) !== 0).map((t) => ({ from, to, t })),
    );
    expect(flowing.length).toBeGreaterThan(100);
    const gates = ({ from, to }: { from: string; to: string }) => [from, to].filter((id) => id.startsWith('door:'));
    expect(flowing.filter((f) => !gates(f).some((id) => isOpen(id, f.t)))).toEqual([]);
  });

  it('is said to be kept up to where it is, of a run with very many strokes', () => {
    const view = { look: 'light', timing: timingModels(facts)[0]!, purpose: 'file' } as const;
    const words = (time: number, ends: number | null) =>
      drawSection(sectionModel(rig), { ...view, time, flow: { ...flow, ends } })
        .shapes.map((s) => renderShape(s))
        .join('');
    expect(words(ms(2_000), ms(1_000))).toContain('what flows is kept up to 1 s');
    expect(words(ms(1_000), ms(1_000))).not.toContain('kept up to');
    expect(words(ms(2_000), null)).not.toContain('kept up to');
  });
});
