/** One stroke over time, and mass per stroke by what the store holds, against the figures of the stroke that flow prints. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { RigFacts } from '../../server/core/run/facts';
import { analyseRig } from '../../server/core/run/analyse';
import { compileStroke } from '../../server/core/flow/program';
import { RepeatingStroke } from '../../server/core/flow/strokes';
import { strokePattern } from '../../server/core/run/door-pattern';
import { triggerMasses } from '../../server/core/run/flow-run';
import { flowsThrough } from '../../server/core/flow/stroke-course';
import { quickRun } from '../../server/core/run/scenario-run';
import { plainText } from '../support/plain-rig';
import { rigFrom } from '../support/rig';

const sample = (name: string): RigFacts =>
  analyseRig(rigFrom(readFileSync(`samples/${name}.rig`, 'utf8'), { allow: ['name/unused'] }).rig);
const plain = (): RigFacts => analyseRig(rigFrom(plainText('air'), { allow: ['name/unused'] }).rig);
const RIGS: readonly (readonly [string, () => RigFacts])[] = [
  ['instant', plain],
  ...['digester_bank', 'brine_lift', 'blast_air_scanned', 'twin_presses'].map(
    (name) => [name, () => sample(name)] as const,
  ),
];

describe.each(RIGS)('a stroke over time: %s', (_, factsOf) => {
  const facts = factsOf();
  const { chambers, doors, links } = quickRun(facts.rig)!.model.network;
  const flows = facts.flow!.strokes;

  it('brings each chamber what the stroke moves, and ends as it began elsewhere', () => {
    expect(flows.length).toBeGreaterThan(0);
    for (const { course, gains } of flows) {
      const { points, strokes } = course!;
      const [first, last] = [points[0]!, points.at(-1)!];
      const most = Math.max(...gains.map(Math.abs));
      gains.forEach((gain, k) =>
        expect(Math.abs((last.mass[k]! - first.mass[k]!) / strokes - gain)).toBeLessThan(2e-3 * most + 1e-12),
      );
      for (let cell = chambers; cell < chambers + doors; cell++)
        expect(Math.abs(last.mass[cell]! - first.mass[cell]!)).toBeLessThan(2e-3 * most + 1e-9);
    }
  });

  it('neither makes nor loses mass, and goes forward in time', () => {
    for (const { course } of flows) {
      const sums = course!.points.map((p) => p.mass.reduce((a, m) => a + m, 0));
      for (const sum of sums) expect(sum / sums[0]! - 1).toBeCloseTo(0, 9);
      const times = course!.points.map((p) => p.t);
      expect(times).toEqual([...times].sort((a, b) => a - b));
      expect(course!.moments.every((m) => times.includes(m))).toBe(true);
    }
  });

  it('lets flow through open doors only what the cells behind them gain', () => {
    for (const { course } of flows) {
      const { points } = course!;
      points.slice(1).forEach((p, k) => {
        const before = points[k]!;
        if (p.t === before.t || p.flow.includes(null)) return;
        const seconds = (p.t - before.t) / 1e6;
        const most = Math.max(...p.flow.map((f) => Math.abs(f!)));
        for (let cell = 0; cell < chambers + doors; cell++) {
          const net = links.reduce(
            (sum, { a, b }, l) => sum + (b === cell ? p.flow[l]! : a === cell ? -p.flow[l]! : 0),
            0,
          );
          const gained = (p.mass[cell]! - before.mass[cell]!) / seconds;
          expect(Math.abs(net - gained)).toBeLessThan(1e-6 * most + 1e-6);
        }
      });
    }
  });
});

describe('pressure against volume', () => {
  it.each([['instant', plain] as const, ['digester_bank', () => sample('digester_bank')] as const])(
    'encloses the work that each door does on the contents: %s',
    (_, factsOf) => {
      const facts = factsOf();
      const { chambers, doors } = quickRun(facts.rig)!.model.network;
      const { rig, timing } = facts;
      const [stroke] = timing.strokes;
      const { model } = quickRun(rig)!;
      const program = compileStroke(model.network, strokePattern(rig, stroke!));
      const { work, back, done } = new RepeatingStroke(model, program, [rig.sensors[stroke!.sensor]!.chamber]).at(
        triggerMasses(rig, model, stroke!),
      );
      const { points, strokes } = facts.flow!.strokes[0]!.course!;
      let net = 0;
      for (let cell = chambers; cell < chambers + doors; cell++)
        for (let k = 1; k < points.length; k++) {
          const [p, q] = [points[k - 1]!, points[k]!];
          const mean = ((p.pressure[cell] ?? 0) + (q.pressure[cell] ?? 0)) / 2;
          net -= mean * (q.volume[cell]! - p.volume[cell]!);
        }
      // Trapezes over parts of a thirty-second of a travel.
      expect(Math.abs(net / strokes - (work - back)) / work).toBeLessThan(0.01);
      expect(done.every((joules) => joules > 0)).toBe(true);
    },
  );
});

describe('mass per stroke against what the store holds', () => {
  it.each(RIGS.map(([name, of]) => [name, of] as const))('goes through the figures of the stroke: %s', (_, factsOf) => {
    const facts = factsOf();
    for (const { stacks } of facts.flow!.strokes)
      for (const { curve, atTrigger, atLimit, ceiling, ceilingNote } of stacks) {
        const gains = curve.points.map((p) => p.gain);
        const masses = curve.points.map((p) => p.state.mass);
        expect(masses).toEqual([...masses].sort((a, b) => a - b));
        const scale = Math.max(...gains.map(Math.abs));
        const near = (gain: number): boolean => gains.some((g) => Math.abs(g - gain) < 1e-4 * scale);
        expect(curve.note).toBe('');
        const known = [atTrigger, atLimit, ceiling && ceilingNote === '' ? 0 : null].filter((gain) => gain !== null);
        expect(known.every(near)).toBe(true);
      }
  });
});

describe('without a curve', () => {
  it('it is said why', () => {
    const text = plainText('air', 'a > up > low > b { moves 90 % }');
    const { stacks } = analyseRig(rigFrom(text, { allow: ['name/unused'] }).rig).flow!.strokes[0]!;
    expect(stacks.map((s) => s.curve)).toEqual([
      { points: [], note: 'strokes move a measured fraction, whatever it holds' },
    ]);
  });
});

describe('what passes each link', () => {
  const link = (a: number, b: number, gates: number[]) => ({ a, b, gates, orifice: -1 });
  const network = (...links: ReturnType<typeof link>[]) => ({ links }) as unknown as Parameters<typeof flowsThrough>[0];

  it('is settled from the ends inwards', () =>
    // 0 → 2 → 1: what 1 gains passes both, what 2 keeps passes the first only.
    expect(flowsThrough(network(link(0, 2, [0]), link(2, 1, [0])), [-3, 1, 2], [true])).toEqual([3, 1]));
  it('is nothing through a shut door', () =>
    expect(flowsThrough(network(link(0, 2, [0]), link(2, 1, [1])), [-2, 0, 2], [true, false])).toEqual([2, 0]));
  it('is not known in a ring', () =>
    expect(flowsThrough(network(link(0, 1, []), link(0, 1, [])), [-2, 2], [])).toEqual([null, null]));
});
