import { describe, expect, it } from 'vitest';
import { logicText, readNets } from '../../server/core/diagram/kit/logic-text';
import { timingModels } from '../../server/core/diagram/timing/model';
import {
  arrangeWiring,
  placeWiring,
  READABLE_SCALE,
  type Direction,
  type PlacedWiring,
} from '../../server/core/diagram/wiring/layout';
import { wiringModel } from '../../server/core/diagram/wiring/model';
import { drawWiring, roundedPath } from '../../server/core/diagram/wiring/svg';
import type { Shape } from '../../server/core/diagram/kit/shape';
import type { Logic } from '../../server/core/model/rig';
import { rigFrom } from '../support/rig';
import { sampleRigs } from '../support/samples';
import { biogas, ms, rig } from './rigs';

const wiring = (direction: Direction = 'right'): PlacedWiring => placeWiring(wiringModel(biogas().rig), direction);
const node = (of: PlacedWiring, id: string) => of.nodes.find((n) => n.id === id)!;

describe('logic as words', () => {
  const net = (k: number): Logic => ({ op: 'net', net: k });
  const name = (k: number) => 'abcd'[k]!;
  const and = (a: Logic, b: Logic): Logic => ({ op: 'and', a, b });
  const or = (a: Logic, b: Logic): Logic => ({ op: 'or', a, b });
  const not = (a: Logic): Logic => ({ op: 'not', a });

  it.each<[Logic, string]>([
    [and(and(net(0), net(1)), not(net(2))), 'a and b and not c'],
    [and(or(net(0), net(1)), net(2)), '(a or b) and c'],
    [not(or(net(0), net(1))), 'not (a or b)'],
    [{ op: 'xor', a: net(0), b: not(net(1)) }, 'a xor not b'],
  ])('%j', (logic, text) => expect(logicText(logic, name)).toBe(text));

  it('finds what is read in the negative', () => {
    expect(readNets(and(net(0), not(or(net(1), not(net(2))))))).toEqual([
      { net: 0, inverted: false },
      { net: 1, inverted: true },
      { net: 2, inverted: false },
    ]);
    // Read both ways, or into an exclusive-or: no sign of its own.
    expect(readNets(or(net(0), not(net(0))))).toEqual([{ net: 0, inverted: false }]);
    expect(readNets({ op: 'xor', a: not(net(0)), b: net(1) }).map((n) => n.inverted)).toEqual([false, false]);
  });
});

describe('wiring', () => {
  it('stands left to right: every wire but feedback leads to the right', () => {
    const of = wiring();
    const forward = of.edges.filter((edge) => !edge.feedback);
    expect(forward.length).toBeGreaterThan(of.edges.length / 2);
    for (const edge of forward) {
      const [from, to] = [node(of, edge.from), node(of, edge.to)];
      expect(from.x + from.width / 2, edge.id).toBeLessThanOrEqual(to.x - to.width / 2);
    }
  });

  it('stands top to bottom as the same in a mirror', () => {
    const of = wiring('down');
    for (const edge of of.edges) {
      const [from, to] = [node(of, edge.from), node(of, edge.to)];
      const below = edge.feedback ? Infinity : to.y - to.height / 2;
      expect(from.y + from.height / 2, edge.id).toBeLessThanOrEqual(below);
      const [start, end] = [edge.points[0]!, edge.points.at(-1)!];
      expect(start, edge.id).toEqual({ x: from.x, y: from.y + from.height / 2 });
      expect(end.y, edge.id).toBe(to.y - to.height / 2);
      expect(Math.abs(end.x - to.x), edge.id).toBeLessThan(to.width / 2);
    }
    expect(new Set(of.nodes.map((n) => n.height))).toEqual(new Set([42]));
  });

  it('runs downwards where it would have to be drawn too small to read', () => {
    for (const rig of sampleRigs()) {
      const model = wiringModel(rig);
      const right = placeWiring(model, 'right');
      const fits = Math.ceil(right.width * READABLE_SCALE);
      expect(arrangeWiring(model, fits).direction, rig.name).toBe('right');
      expect(arrangeWiring(model, fits - 10).direction, rig.name).toBe('down');
      expect(placeWiring(model, 'down').width, rig.name).toBeLessThan(right.width);
    }
  });

  it.each(['right', 'down'] as const)(
    'keeps doors and inputs of one rank in the order of the text, %s',
    (direction) => {
      const across = direction === 'right' ? 'y' : 'x';
      const along = direction === 'right' ? 'x' : 'y';
      let pairs = 0;
      for (const rig of sampleRigs()) {
        const of = placeWiring(wiringModel(rig), direction);
        const rows = [
          of.nodes.filter((n) => n.kind === 'door'),
          of.nodes.filter((n) => n.kind === 'sensor' || n.kind === 'switch'),
        ];
        for (const row of rows)
          row.forEach((a, k) => {
            for (const b of row.slice(k + 1)) {
              if (Math.abs(a[along] - b[along]) > 30) continue;
              pairs += 1;
              expect(a[across], `${rig.name}: ${a.name} before ${b.name}`).toBeLessThan(b[across]);
            }
          });
      }
      expect(pairs).toBeGreaterThan(15);
    },
  );

  it('finds the loop over the hold-off and leads it back underneath', () => {
    const of = wiring();
    const back = of.edges.filter((e) => e.feedback);
    expect(back.map((e) => e.id)).toEqual(['wire:net:hold>net:start/']);
    expect(back[0]!.inverted).toBe(true);
    const lowest = Math.max(...of.nodes.map((n) => n.y + n.height / 2));
    expect(Math.max(...back[0]!.points.map((p) => p.y))).toBeGreaterThan(lowest);
  });

  it.each(['right', 'down'] as const)('lays no node over another, %s', (direction) => {
    const of = wiring(direction);
    for (const a of of.nodes) {
      for (const b of of.nodes) {
        if (a === b) continue;
        const apart =
          Math.abs(a.x - b.x) >= (a.width + b.width) / 2 || Math.abs(a.y - b.y) >= (a.height + b.height) / 2;
        expect(apart, `${a.id} / ${b.id}`).toBe(true);
      }
    }
  });

  it('names blocks with presets and pins, logic by its expression', () => {
    const of = wiring();
    expect(node(of, 'net:start').detail).toBe('run and ready and not hold');
    expect(node(of, 'net:upper_on').detail).toBe('TOF 1.5 s');
    expect(of.edges.find((e) => e.to === 'net:upper_on')!.pin).toBe('IN');
  });

  it('shows what is on at a moment', () => {
    const timing = timingModels(biogas())[0]!;
    const lamps = (time: number) => {
      const words: string[] = [];
      const visit = (s: Shape) => {
        if (s.attributes['aria-label']) words.push(String(s.attributes['aria-label']));
        s.children.forEach(visit);
      };
      drawWiring(wiring(), { look: 'light', time, timing, purpose: 'page' }).shapes.forEach(visit);
      return words.filter((w) => w.endsWith(': on')).map((w) => w.split(/[ ,]/)[0]);
    };
    expect(lamps(-1)).toEqual(['run']);
    // At 2.16 s: ready, middle still on, the on-delay has run out at 2.15 s, hold until 11.8 s; lower follows 50 ms later.
    expect(lamps(ms(2_160))).toEqual(['run', 'ready', 'middle_on', 'lower_on/TON', 'hold', 'middle']);
  });

  it('takes a self-loop, an empty rig and a latch', () => {
    expect(wiringModel(rig('empty', {})).nodes).toEqual([]);
    const latched = rigFrom(
      `rig r {\n chamber a { volume 1 m3 }\n sensor s on a { pressure above 2 bar }\n signal keep = SR(s, keep)\n}`,
      { allow: ['wire/unread-signal', 'name/unused'] },
    ).rig;
    const of = wiringModel(latched);
    expect(of.edges.map((e) => [e.pin, e.feedback])).toEqual([
      ['S1', false],
      ['R', true],
    ]);
  });

  it('lists who reads what', () => {
    expect(wiringModel(biogas().rig).tables[0]!.rows.find((r) => r.cells[0] === 'start')!.cells[2]).toBe(
      'run, ready, not hold',
    );
  });
});

describe('lines with rounded corners', () => {
  it('keep their ends and never overshoot short legs', () => {
    const d = roundedPath([
      { x: 0, y: 0 },
      { x: 4, y: 0 },
      { x: 4, y: 100 },
    ]);
    // The leg of 4 px is rounded from its middle on: 2 px, the long one from 7 px.
    expect(d).toBe('M0 0L2 0Q4 0 4 7L4 100');
    expect(roundedPath([])).toBe('');
  });
});
