/** What happens at one moment: rounds, joins before all else, timers one after the other. */
import { describe, expect, it } from 'vitest';
import type { Logic, Rig } from '../../server/core/model/rig';
import { analyseTiming } from '../../server/core/timing/analyse';
import { createEngine } from '../../server/core/timing/engine';
import { feedingOrder } from '../../server/core/timing/feeding';
import { compileProgram } from '../../server/core/timing/program';
import { F_TRIG, MS, R_TRIG, S, SR, TOF, TON, TP, and, netOf, not, or, sketch, xor } from '../support/network';
import type { Sketch } from '../support/network';
import { randomCase } from '../support/random';
import type { RandomCase } from '../support/random';
import { inRounds } from '../support/rounds';

type Operation = readonly [ms: number, name: string, value: boolean];

function run(plan: Sketch, operations: readonly Operation[], untilMs: number): string[] {
  const rig = sketch(plan);
  const engine = createEngine(rig);
  for (const [t, name, value] of operations) engine.setInput(netOf(rig, name), value, t * MS);
  engine.advanceTo(untilMs * MS);
  expect(engine.stopped).toBeNull();
  return engine.trace().edges.map((e) => `${e.t / MS} ${rig.network.nets[e.net]!.name} ${e.value ? 1 : 0}`);
}
const of = (edges: readonly string[], name: string) => edges.filter((e) => e.split(' ')[1] === name);

describe('joins', () => {
  it('compare an input with its own copy without a glitch', () => {
    const plan: Sketch = {
      response: 25 * MS,
      switches: { level: false },
      signals: { copy: { is: 'level', responds: 0 }, differ: xor('copy', 'level'), out: TOF('differ', S) },
    };
    expect(of(run(plan, [[100, 'level', true]], 2000), 'out')).toEqual([]);
  });

  it('reset no latch by two inputs that cross in a join', () => {
    const plan: Sketch = {
      switches: { a: false, b: true },
      signals: { not_b: not('b'), differ: and(xor('a', 'b'), not(and('a', 'not_b'))), keep: SR('b', not('differ')) },
    };
    const both: Operation[] = [
      [10, 'a', true],
      [10, 'b', false],
    ];
    expect(of(run(plan, both, 100), 'differ')).toEqual(['0 differ 1', '10 differ 0']);
  });

  it('in a loop may hold a value, written in any order', () => {
    for (const order of [
      ['held', 'fed'],
      ['fed', 'held'],
    ]) {
      const all = { held: and(or('set', 'fed'), not('off')), fed: or('held', false) };
      const signals = Object.fromEntries(order.map((name) => [name, all[name as keyof typeof all]]));
      const edges = run({ switches: { set: false, off: false }, signals }, LATCHED, 100);
      expect(of(edges, 'held')).toEqual(['10 held 1', '30 held 0']);
    }
  });

  it('that settle late, by a longer way, do not set one that holds', () => {
    const signals = {
      far1: 'in',
      far2: 'far1',
      far3: 'far2',
      hazard: and('in', not('far3')),
      held: or('hazard', 'held'),
    };
    expect(of(run({ switches: { in: false }, signals }, [[10, 'in', true]], 100), 'held')).toEqual([]);
  });
});

const LATCHED: readonly Operation[] = [
  [10, 'set', true],
  [20, 'set', false],
  [30, 'off', true],
];

describe('a loop that never settles', () => {
  it('is known also where it stops the run before any door has moved', () => {
    const rig = sketch({
      sensors: { full: 'above' },
      signals: { x: and('full', not('y')), y: 'x' },
      doors: { upper: 100 * MS },
      drives: { upper: 'x' },
    });
    const [stroke] = analyseTiming(rig).strokes;
    expect(stroke!.trace.stopped).toMatchObject({ reason: 'loop', t: 0 });
  });
});

describe('timers due at one moment', () => {
  it('end in feeding order: one whose input goes off then gives nothing', () => {
    const plan: Sketch = {
      sensors: { press: 'above' },
      signals: { late: TON('pulse', 700 * MS), pulse: TP('press', 700 * MS), out: TOF('late', S) },
    };
    const edges = run(plan, [[40, 'press', true]], 3000);
    expect(of(edges, 'pulse')).toEqual(['40 pulse 1', '740 pulse 0']);
    expect(of(edges, 'late')).toEqual([]);
    expect(of(edges, 'out')).toEqual([]);
  });

  it('in a loop end as written', () => {
    // Each is taken away by the other; both are due at 500: the one written first comes on, and cuts the other off.
    const a = TON(and('go', not('b')), 500 * MS);
    const b = TON(and('go', not('a')), 500 * MS);
    const go: Operation[] = [[0, 'go', true]];
    expect(run({ switches: { go: false }, signals: { a, b } }, go, 600).slice(1)).toEqual(['500 a 1']);
    expect(run({ switches: { go: false }, signals: { b, a } }, go, 600).slice(1)).toEqual(['500 b 1']);
  });

  it('an input that goes off at the moment the preset ends is in time', () => {
    const plan: Sketch = { switches: { in: false }, signals: { out: TON('in', 300 * MS) } };
    const exact: Operation[] = [
      [10, 'in', true],
      [310, 'in', false],
    ];
    expect(of(run(plan, exact, 1000), 'out')).toEqual([]);
  });
});

describe('edge detectors', () => {
  it('without response last one round, in which all that read them look', () => {
    const plan: Sketch = {
      switches: { in: false },
      signals: {
        rise: R_TRIG('in'),
        kept: TOF('rise', 200 * MS),
        joined: or('rise', false),
        again: SR('joined', false),
      },
    };
    expect(run(plan, [[50, 'in', true]], 300)).toEqual([
      '50 in 1',
      '50 rise 1',
      '50 joined 1',
      '50 rise 0',
      '50 kept 1',
      '50 again 1',
      '50 joined 0',
      '250 kept 0',
    ]);
  });

  it('F_TRIG gives one pulse as power comes where its input is off, R_TRIG where it is on', () => {
    const plan: Sketch = {
      response: 10 * MS,
      switches: { low: false, high: true },
      signals: { fell: F_TRIG('low'), rose: R_TRIG('high'), none: F_TRIG('high'), nor: R_TRIG('low') },
    };
    expect(run(plan, [], 100)).toEqual(['10 fell 1', '10 rose 1', '20 fell 0', '20 rose 0']);
  });
});

describe('feeding order', () => {
  it('places feeders first, loops together as written, and what is written first of what is free', () => {
    const fed = [[], [3], [0], [4], [3], [2]];
    const { rank, looped, loopOf } = feedingOrder(6, (e) => fed[e]!);
    const placed = [0, 1, 2, 3, 4, 5].sort((a, b) => rank[a]! - rank[b]!);
    expect(placed).toEqual([1, 3, 4, 5, 2, 0]);
    expect(Array.from(looped)).toEqual([0, 0, 0, 1, 1, 0]);
    expect(loopOf[3]).toBe(loopOf[4]);
  });
});

/** The rig with a part of an element's logic moved into a join of its own. Null where no element has a part to move. */
function withName(rig: Rig, pick: (count: number) => number): Rig | null {
  const places = rig.network.elements.flatMap((e, index) =>
    e.inputs.flatMap((input, at) => (input.op === 'net' || input.op === 'const' ? [] : [{ index, at }])),
  );
  if (places.length === 0) return null;
  const { index, at } = places[pick(places.length)]!;
  const { nets, elements } = rig.network;
  const net = nets.length;
  const input = elements[index]!.inputs[at]!;
  const part: Logic =
    input.op !== 'not' && input.op !== 'net' && input.op !== 'const' && pick(2) === 0 ? input.a : input;
  const put = (logic: Logic): Logic =>
    logic === part
      ? { op: 'net', net }
      : logic.op === 'not'
        ? { op: 'not', a: put(logic.a) }
        : logic.op === 'net' || logic.op === 'const'
          ? logic
          : { op: logic.op, a: put(logic.a), b: put(logic.b) };
  const changed = { ...elements[index]!, inputs: elements[index]!.inputs.map((x, k) => (k === at ? put(x) : x)) };
  const zero = { nominal: 0, min: 0, max: 0, at: changed.at };
  const named = {
    ...changed,
    name: 'part',
    kind: 'LOGIC' as const,
    inputs: [part],
    preset: null,
    count: null,
    response: zero,
    net,
  };
  return {
    ...rig,
    network: {
      nets: [...nets, { name: 'part', kind: 'element', index: elements.length }],
      elements: [...elements.map((e, k) => (k === index ? changed : e)), named],
    },
  };
}

function edgesOf({ stimuli, until }: RandomCase, rig: Rig): string[] {
  const engine = createEngine(rig);
  for (const s of stimuli) engine.setInput(s.net, s.value, s.t);
  engine.advanceTo(until);
  const { edges, stopped } = engine.trace();
  const end = stopped?.reason === 'loop' ? stopped.t : Infinity;
  const kept = inRounds(rig, edges).filter((e) => rig.network.nets[e.net]!.name !== 'part' && e.t < end);
  return [...kept.map((e) => `${e.t} ${rig.network.nets[e.net]!.name} ${e.value}`), `${end}`];
}

describe('a name for a part of an expression', () => {
  const count = Number(process.env['NAMING_CASES'] ?? 300);
  it(`changes nothing, on ${count} random rigs`, () => {
    let compared = 0;
    let settled = 0;
    for (let seed = 1; compared < count; seed++) {
      const found = randomCase(seed);
      if (found.rig.controller.style === 'scan') continue;
      const renamed = withName(found.rig, (n) => (seed * 7919) % n);
      // Within a loop of joins a name is one more step of the loop.
      if (renamed === null || compileProgram(renamed).joinOrder.looped.at(-1) === 1) continue;
      compared++;
      const before = edgesOf(found, found.rig);
      const after = edgesOf(found, renamed);
      if (before[before.length - 1] === 'Infinity') {
        settled++;
        expect(after, `seed ${seed}`).toEqual(before);
      }
    }
    expect(settled).toBeGreaterThan(count / 2);
  });
});
