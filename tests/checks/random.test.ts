/** On random rigs nothing throws, and the door checks agree with what the timing engine says of pairs and paths by its own sums. */
import { describe, expect, it } from 'vitest';
import { runChecks } from '../../server/core/checks/registry';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import type { Requirement, Rig } from '../../server/core/model/rig';
import { analyseRig } from '../../server/core/run/analyse';
import { randomRig } from '../support/random';

const resolution = { uri: 'x', rigs: [], problems: [], declarations: [], uses: [], files: [], imports: [] };
const nowhere = { uri: 'x', start: 0, end: 0 };

/** `metric(a, b) >= 0 s`, put into the rig. */
function pairRequirement(rig: Rig, metric: string, a: number, b: number): Requirement {
  const zero = { nominal: 0, min: 0, max: 0, at: nowhere };
  const item = (index: number) => ({
    kind: 'item' as const,
    of: 'door' as const,
    index,
    name: rig.doors[index]!.name,
    at: nowhere,
  });
  const comparison = { operator: '>=' as const, dimension: 'time', low: zero, high: zero, at: nowhere };
  return { text: metric, metric, metricAt: nowhere, args: [item(a), item(b)], comparison, during: null, at: nowhere };
}

describe('random rigs', () => {
  const seeds = Array.from({ length: 500 }, (_, i) => 9_000 + i);
  let meetings = 0;
  let paths = 0;
  let gaps = 0;
  let apart = 0;

  it.each(seeds)('seed %d', (seed) => {
    const rig = randomRig(seed);
    const facts = analyseRig(rig);
    const problems = runChecks({ rig, facts, resolution, text: () => undefined, tree: () => undefined });
    const { strokes, incomplete } = facts.timing;
    const count = (code: string): number => problems.filter((p) => p.code === code).length;

    const together = strokes.flatMap((s) => s.pairs.filter((p) => p.bothNotShut.length > 0).map((p) => p.doors.join()));
    const pairs = rig.doors.length < 3 ? 0 : new Set(together).size;
    expect(count('door/overlap')).toBe(pairs);
    const open = strokes.flatMap((s) => s.straightThrough.filter((p) => p.intervals.length > 0));
    // After two triggers alike it is one finding.
    const different = new Set(open.map(({ path, intervals }) => JSON.stringify([path, intervals]))).size;
    expect(count('door/straight-through')).toBe(rig.doors.length < 2 ? 0 : different);
    meetings += pairs;
    paths += open.length;

    if (incomplete !== null || facts.timing.atRest.loop) return;
    for (const stroke of strokes) {
      for (const { doors, overlap, gap } of stroke.pairs) {
        const one = { ...facts, timing: { ...facts.timing, strokes: [stroke] } };
        const measured = (metric: string) =>
          evaluateRequirement({ ...one, rig }, pairRequirement(rig, metric, ...doors)).actual?.nominal;
        const found = measured('gap');
        // Where windows meet the metric is negative and the facts say null; else they are the same.
        if (gap !== null && found !== undefined) {
          gaps++;
          expect(found).toBe(gap);
        }
        // An endless overlap counts up to the end of the run in the facts.
        const together = measured('overlap');
        if (overlap === null && together !== undefined) {
          apart++;
          expect(together).toBe(0);
        }
      }
    }
  });

  it('held enough of both to mean something', () => {
    expect(meetings).toBeGreaterThan(20);
    expect(paths).toBeGreaterThan(10);
    expect(gaps).toBeGreaterThan(5);
    expect(apart).toBeGreaterThan(10);
  });
});
