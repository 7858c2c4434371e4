import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { becauseText } from '../../server/core/diagram/timing/causes';
import { tableText } from '../../server/core/diagram/kit/table';
import { renderTimingSvg } from '../../server/core/diagram/timing/svg';
import { scenarioRun } from '../../server/core/run/scenario-run';
import { timingModel, timingModels, type TimingModel } from '../../server/core/diagram/timing/model';
import type { RigFacts } from '../../server/core/run/facts';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';
import { at, bare, biogas, facts, ms, requirement, rig, time } from './rigs';

const model = (of: RigFacts = biogas()): TimingModel => timingModels(of)[0]!;
const edges = (of: TimingModel) => of.lanes.flatMap((l) => l.edges);
const times = (of: TimingModel, lane: string) =>
  of.lanes.find((l) => l.id === lane)!.edges.map((e) => [e.kind, e.t / 1_000]);

describe('lanes', () => {
  it('has doors first, then inputs, then each signal after its inner elements', () => {
    expect(model().lanes.map((l) => l.id)).toEqual([
      'door:upper',
      'door:middle',
      'door:lower',
      'net:run',
      'net:ready',
      'net:start',
      'net:upper_on',
      'net:middle_on',
      'net:lower_on/TON',
      'net:lower_on',
      'net:hold',
    ]);
  });

  it('gives the door edges of the worked example', () => {
    // Commanded 0.10–1.75 s with 300 ms travel: fully open 0.40, shut 2.05; the next stroke 11.80 s later.
    expect(times(model(), 'door:upper')).toEqual([
      ['opens', 100],
      ['opened', 400],
      ['closes', 1750],
      ['shuts', 2050],
      ['opens', 11_900],
      ['opened', 12_200],
      ['closes', 13_550],
      ['shuts', 13_850],
    ]);
  });

  it('draws a reversal midway as a corner', () => {
    // Opens at 0 with 300 ms travel, turned round at 150 ms (half open), shut again 150 ms later.
    const of = bare('turn', [['a', [[0, 900]]]], ms(300));
    const stroke = of.timing.strokes[0]!;
    const moves = [
      { t: 0, from: 0, to: 1 as const, arrives: ms(300), cause: 0 },
      { t: ms(150), from: 0.5, to: 0 as const, arrives: ms(300), cause: 0 },
    ];
    const stopped = { reason: 'budget' as const };
    const trace = { ...stroke.trace, end: ms(500), stopped, doors: [{ initial: 0, moves }] };
    const lane = model(facts(of.rig, [{ ...stroke, trace }])).lanes[0]!;
    expect(lane.kind === 'door' && lane.points.map((p) => [p.t / 1_000, p.position])).toEqual([
      [0, 0],
      [0, 0],
      [150, 0.5],
      [300, 0],
      [500, 0],
    ]);
    expect(lane.edges.map((e) => e.kind)).toEqual(['opens', 'turns', 'shuts']);
  });

  it('stops a move at the end of the record where it has got to', () => {
    const of = bare('cut', [['a', [[ms(100), ms(900)]]]], ms(400));
    const stroke = of.timing.strokes[0]!;
    const lane = model(
      facts(of.rig, [{ ...stroke, trace: { ...stroke.trace, end: ms(1_000), stopped: { reason: 'budget' } } }]),
    ).lanes[0]!;
    // Starts to close at 900 ms; 100 ms of 400 ms later a quarter is closed.
    expect(lane.kind === 'door' && lane.points[lane.points.length - 1]).toEqual({ t: ms(1_000), position: 0.75 });
  });
});

describe('causes', () => {
  it('tells the whole chain with each contribution', () => {
    const closes = edges(model()).find((e) => e.id === 'door:upper/closes/0')!;
    expect(becauseText(model().lanes, closes.id)).toBe(
      'ready on → start on (+50 ms) → upper_on on (+50 ms) → hold on (+50 ms) → start off (+50 ms) → upper_on off (+1.5 s +50 ms) → upper closes',
    );
  });

  it('adds up to the time of the edge', () => {
    for (const edge of edges(model())) {
      let sum = 0;
      for (let e: typeof edge | undefined = edge; e; e = edges(model()).find((x) => x.id === e!.cause))
        sum += e.response + e.preset + e.travel;
      expect(sum, edge.id).toBe(edge.t);
    }
  });

  it('cuts a very long chain at its start', () => {
    const late = edges(model()).find((e) => e.id === 'door:lower/shuts/1')!;
    expect(becauseText(model().lanes, late.id).startsWith('… → ')).toBe(true);
  });
});

describe('ids', () => {
  it('are unique', () => {
    const ids = [...edges(model()), ...model().marks, ...model().lanes].map((x) => x.id);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('stay the same when other parts of the text change', () => {
    const before = model();
    const of = biogas();
    const doors = of.rig.doors.map((d) => ({ ...d, travel: 1 }));
    const after = model({
      ...of,
      rig: { ...of.rig, title: 'Another title', doors, requirements: of.rig.requirements.slice(1) },
    });
    expect(edges(after).map((e) => e.id)).toEqual(edges(before).map((e) => e.id));
    expect(after.id).toBe(before.id);
  });
});

describe('the end of the record', () => {
  it('goes on a little where all has fallen quiet, and not where the record was cut', () => {
    const quiet = bare('quiet', [['a', [[0, ms(500)]]]], ms(100));
    // The record ends 500 ms after the door is shut: 600 + 500 = 1100 ms, and a tenth of that.
    expect(model(quiet).end).toBe(ms(1_210));
    const stroke = quiet.timing.strokes[0]!;
    const cut = facts(quiet.rig, [{ ...stroke, trace: { ...stroke.trace, stopped: { reason: 'budget' } } }]);
    expect(model(cut)).toMatchObject({ end: ms(1_100), notes: ['Too many changes: drawn as far as 1.1 s only.'] });
  });
});

describe('marks', () => {
  it('classifies by what is stated', () => {
    expect(model().marks.map((m) => [m.id, m.verdict, m.label])).toEqual([
      ['pair:upper+middle/overlap/0', 'wanted', 'overlap 1.35 s'],
      ['pair:upper+lower/gap/0', 'apart', 'gap 150 ms'],
      ['pair:middle+lower/overlap/0', 'wanted', 'overlap 250 ms'],
    ]);
  });

  it('marks an overlap that nobody stated from leaving shut to shut again', () => {
    const of = biogas();
    const marks = model({ ...of, rig: { ...of.rig, requirements: [] } }).marks;
    // Middle is off its seat until 3.05 s, lower from 2.20 s on: 850 ms.
    expect(marks.find((m) => m.lanes[1] === 'door:lower')).toMatchObject({
      verdict: 'unstated',
      from: ms(2_200),
      to: ms(3_050),
      label: 'open together 850 ms',
    });
  });

  it('says that an overlap is shorter than asked for', () => {
    const of = bare(
      'short',
      [
        ['a', [[0, ms(500)]]],
        ['b', [[ms(300), ms(900)]]],
      ],
      ms(100),
    );
    // Both fully open from 400 to 500 ms.
    const asked = requirement(
      'overlap',
      [
        [0, 'a'],
        [1, 'b'],
      ],
      ms(200),
      ms(900),
      'overlap(a, b) >= 200 ms',
    );
    expect(model({ ...of, rig: { ...of.rig, requirements: [asked] } }).marks[0]).toMatchObject({
      verdict: 'short',
      label: 'overlap 100 ms',
    });
  });

  it('says what is to spare where little is, and gives it a look of its own', () => {
    const text = readFileSync('samples/digester_bank.rig', 'utf8');
    const drawn = (least: string) => {
      const { rig: read } = rigFrom(text.replace('gap(upper, lower) >= 100 ms', `gap(upper, lower) >= ${least}`), {
        allow: ['name/unused'],
      });
      const model = timingModels(analyseRig(read))[0]!;
      const gap = model.marks.find((m) => m.kind === 'gap')!;
      return { gap, length: gap.to! - gap.from, svg: renderTimingSvg(model) };
    };
    const roomy = drawn('100 ms');
    expect(roomy.gap.tight).toBeUndefined();
    expect(roomy.svg).not.toContain('to spare');
    const least = roomy.length / 1_000 - 7;
    const tight = drawn(`${least} ms`);
    expect(tight.gap).toMatchObject({ verdict: 'apart', tight: '7 ms to spare' });
    expect(tight.svg).toContain(`${tight.gap.label}, 7 ms to spare`);
    expect(tight.svg).toContain('kept, little to spare');
    expect(drawn(`${least + 7} ms`).gap).toMatchObject({ verdict: 'apart', tight: 'nothing to spare' });
    expect(drawn(`${least + 8} ms`).gap).toMatchObject({ verdict: 'short' });
    expect(drawn(`${least + 8} ms`).gap.tight).toBeUndefined();
  });

  it('says that a wanted gap is not kept', () => {
    const of = bare(
      'apart',
      [
        ['a', [[0, ms(500)]]],
        ['b', [[ms(550), ms(900)]]],
      ],
      ms(100),
    );
    const asked = requirement(
      'gap',
      [
        [1, 'b'],
        [0, 'a'],
      ],
      ms(10),
      ms(900),
      'gap(b, a) >= 10 ms',
    );
    // a is shut at 600 ms, b leaves shut at 550 ms.
    expect(model({ ...of, rig: { ...of.rig, requirements: [asked] } }).marks[0]).toMatchObject({
      verdict: 'short',
      label: 'open together 50 ms',
    });
  });

  it('takes an order that names both, or a sequence that opens both, for meant', () => {
    const of = bare(
      'meant',
      [
        ['a', [[0, ms(500)]]],
        ['b', [[ms(300), ms(900)]]],
        ['c', []],
      ],
      ms(100),
    );
    const event = (door: number, name: string) => ({
      kind: 'event' as const,
      door,
      event: 'opens' as const,
      name,
      at: at(),
    });
    const order = {
      ...requirement('gap', [], 0, 0, 'order(a opens, b opens)'),
      metric: 'order',
      args: [event(0, 'a'), event(1, 'b')],
    };
    expect(model({ ...of, rig: { ...of.rig, requirements: [order] } }).marks[0]).toMatchObject({
      verdict: 'wanted',
      label: 'open together 300 ms',
    });
    const step = (t: number, open: boolean, doors: number[]) => ({ at: time(t), open, doors, source: at() });
    const sequence = { name: 's', at: at(), whole: at(), doc: '', triggerNet: null, repeatAfter: null, drives: false };
    const written = (steps: ReturnType<typeof step>[]) =>
      model({ ...of, rig: { ...of.rig, sequences: [{ ...sequence, steps }] } }).marks[0]!.verdict;
    expect(written([step(0, true, [0, 1])])).toBe('wanted');
    // Handed over at one time: b opens as a closes, and nobody said more.
    expect(written([step(0, true, [0]), step(5, true, [1]), step(5, false, [0])])).toBe('unstated');
  });

  it('says that a never is broken', () => {
    const of = bare(
      'never',
      [
        ['a', [[0, ms(500)]]],
        ['b', [[ms(300), ms(900)]]],
        ['c', []],
      ],
      ms(100),
    );
    const condition = { op: 'and', a: { op: 'door', door: 0 }, b: { op: 'door', door: 1 } } as const;
    const never = {
      ...requirement('gap', [], 0, 0, 'never(a and b)'),
      metric: 'never',
      args: [{ kind: 'condition' as const, condition, at: at() }],
    };
    expect(model({ ...of, rig: { ...of.rig, requirements: [never] } }).marks[0]).toMatchObject({ verdict: 'short' });
  });

  it('draws a path straight through, unless every pair of it is wanted', () => {
    const of = bare(
      'path',
      [
        ['a', [[0, ms(500)]]],
        ['b', [[ms(300), ms(900)]]],
      ],
      ms(100),
    );
    // a is off its seat until 600 ms, b from 300 ms on; of two doors that is a path, not one more overlap.
    expect(model(of)).toMatchObject({
      marks: [],
      bands: [{ id: 'path:0/0', from: ms(300), to: ms(600), lanes: ['door:a', 'door:b'] }],
    });
    const asked = {
      ...requirement(
        'overlap',
        [
          [0, 'a'],
          [1, 'b'],
        ],
        ms(10),
        ms(900),
        'overlap(a, b) >= 10 ms',
      ),
    };
    expect(model({ ...of, rig: { ...of.rig, requirements: [asked] } }).bands).toEqual([]);
  });

  it('notes an overlap that never comes', () => {
    const of = bare(
      'never',
      [
        ['a', [[0, ms(200)]]],
        ['b', [[ms(550), ms(900)]]],
      ],
      ms(100),
    );
    const asked = requirement(
      'overlap',
      [
        [0, 'a'],
        [1, 'b'],
      ],
      ms(10),
      ms(900),
      'overlap(a, b) >= 10 ms',
    );
    expect(model({ ...of, rig: { ...of.rig, requirements: [asked] } }).notes).toEqual([
      'Never both fully open: overlap(a, b) >= 10 ms.',
    ]);
    const unwanted = requirement(
      'overlap',
      [
        [0, 'a'],
        [1, 'b'],
      ],
      0,
      0,
      'overlap(a, b) <= 0 s',
    );
    expect(model({ ...of, rig: { ...of.rig, requirements: [unwanted] } }).notes).toEqual([]);
  });
});

describe('without a stroke', () => {
  it('draws the rig at rest and says why', () => {
    const [only, ...rest] = timingModels(facts(rig('still', { doors: biogas().rig.doors }), []));
    expect(rest).toEqual([]);
    expect(only!.notes[0]).toBe('No sensor, so nothing triggers a stroke; the rig is drawn at rest.');
    expect(only!.home.to).toBeGreaterThan(only!.home.from);
  });

  it('says that the network never settles', () => {
    const of = facts(rig('chase', { doors: biogas().rig.doors }), []);
    const atRest = { ...of.timing.atRest, loop: { nets: [], t: 0 } };
    expect(timingModels({ ...of, timing: { ...of.timing, atRest } })[0]!.notes[0]).toBe(
      'The control network never settles, so there is no stroke to draw.',
    );
  });

  it('draws what a switch does where no sensor does anything', () => {
    const lock = rigFrom(
      `rig lock {
         door yard { travel 2 s }
         switch ask = off
         controller { response 40 ms }
         signal asked = TP(ask, 6 s)
         drive yard = asked
       }`,
      { allow: ['name/unused'] },
    ).rig;
    const [model] = timingModels(analyseRig(lock));
    expect(model).toMatchObject({
      id: 'lock/ask on',
      subtitle: 'One stroke from ask on · does not repeat while the trigger holds',
    });
    // One response after the switch; the pulse lasts 6 s; 2 s of travel each way.
    expect(times(model!, 'door:yard')).toEqual([
      ['opens', 40],
      ['opened', 2_040],
      ['closes', 6_040],
      ['shuts', 8_040],
    ]);
  });

  it('says that there is no door', () => {
    expect(timingModels(facts(rig('empty', {}), []))[0]!.notes[0]).toBe('This rig has no doors to draw.');
  });

  it('says that an analysis is not complete', () => {
    const of = biogas();
    const cut = { ...of, timing: { ...of.timing, incomplete: 'too many changes' } };
    expect(model(cut).notes).toContain('Not complete: too many changes');
  });
});

describe('tables', () => {
  it('equal the facts', () => {
    const of = biogas();
    const [doors, between, changes] = model(of).tables;
    const cell = (us: number) => (us < 1_000_000 ? `${us / 1_000} ms` : `${us / 1_000_000} s`);
    for (const door of of.timing.strokes[0]!.doors) {
      const { commanded, fullyOpen, notShut } = door.windows[0]!;
      const row = doors!.rows.find((r) => r.cells[0] === of.rig.doors[door.door]!.name)!;
      expect(row.cells.slice(1, 5)).toEqual([commanded!.from, fullyOpen!.from, commanded!.to!, notShut.to!].map(cell));
    }
    expect(between!.rows.map((r) => r.cells.slice(1, 4))).toEqual([
      ['overlap 1.35 s', '400 ms', '1.75 s'],
      ['gap 150 ms', '2.05 s', '2.2 s'],
      ['overlap 250 ms', '2.5 s', '2.75 s'],
    ]);
    expect(changes!.rows.length).toBe(edges(model(of)).length);
  });

  it('has all changes in order of time, causes before effects', () => {
    const rows = model().tables.find((t) => t.caption.startsWith('All changes'))!.rows;
    const at = (id: string) => rows.findIndex((r) => r.id === id);
    expect(at('net:upper_on/on/0')).toBeLessThan(at('door:upper/opens/0'));
    const byId = new Map(edges(model()).map((e) => [e.id, e.t]));
    const order = rows.map((r) => byId.get(r.id)!);
    expect(order).toEqual([...order].sort((a, b) => a - b));
  });

  it('gives ranges where tolerances are known', () => {
    const ranges = new Map([['door:upper/opens/0', { min: ms(90), max: ms(110) }]]);
    const of = biogas();
    const doors = timingModel(of, of.timing.strokes[0]!, ranges).tables[0]!;
    expect(doors.rows[0]!.cells[1]).toBe('100 ms (90 ms … 110 ms)');
  });

  it('become tab-separated text', () => {
    const text = tableText({
      caption: 'c',
      columns: ['a', 'b'],
      rows: [{ id: '1', cells: ['x\ty', 'z\n'], source: null }],
    });
    expect(text).toBe('a\tb\nx y\tz \n');
  });
});

describe('a scenario', () => {
  const RIG = (medium: string) => `rig filler {
  ${medium}
  chamber a { volume 1 m3  pressure 1 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door up { pocket 9 L  clearance 1 L  travel 200 ms }
  stack a > up > b
  feed pump into a { rate 30 kg/h }
  sensor ready on a { pressure above 1.2 bar  clears below 1.1 bar }
  drive up = ready
  scenario run { at 0 s feed pump on  for 200 s }
}`;
  const of = (medium: string) => analyseRig(rigFrom(RIG(medium), { allow: ['name/unused', 'value/missing'] }).rig);

  it('is drawn from the run that trace prints: contents move its sensors', () => {
    const facts = of('medium air');
    const [, scenario] = timingModels(facts);
    const trace = scenarioRun(facts.rig, 0)!.trace;
    const sensor = scenario!.lanes.find((l) => l.id === 'net:ready')!;
    // 1 m3 of air from 1 to 1.2 bar is about 0.24 kg at 20 °C, so about 29 s at 30 kg/h.
    expect(sensor.edges[0]!.t / 1e6).toBeGreaterThan(25);
    expect(sensor.edges[0]!.t / 1e6).toBeLessThan(33);
    expect(sensor.edges.map((e) => e.t)).toEqual(trace.edges.filter((e) => e.net === 0).map((e) => e.t));
    const door = scenario!.lanes.find((l) => l.id === 'door:up')!;
    expect(door.edges.filter((e) => e.kind === 'opens').map((e) => e.t)).toEqual(
      trace.doors[0]!.moves.filter((m) => m.to === 1).map((m) => m.t),
    );
    expect(scenario!.notes).toEqual([]);
    expect(scenario!.subtitle).toBe('scenario run · contents move the sensors, their curves are in Store');
  });

  it('is left out where nothing in it can turn: feeds alone, and no medium', () =>
    expect(timingModels(of('')).map((m) => m.id)).toEqual(['filler/ready on']));

  it('waits to be followed where that is not asked for', () => {
    const [, scenario] = timingModels(of('medium air'), 'pending');
    expect(scenario).toMatchObject({ id: 'filler/scenario run', isPending: true, lanes: [], end: 200e6 });
    expect(scenario!.notes[0]).toContain('Following');
  });
});
