/** Proofs of the samples: the sound ones hold, the two in `samples/refuted` pass every check and are refuted all the same. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { createDocument } from '../../server/core/document/document';
import { proveRig, type RigProof } from '../../server/core/run/prove-rig';
import { looseTimes } from '../../server/core/timing/tolerance';
import { analyseTiming } from '../../server/core/timing/analyse';

const SAMPLES = join(__dirname, '../../samples');

function open(path: string) {
  const text = readFileSync(join(SAMPLES, path), 'utf8');
  return createDocument({ uri: `file:///${path}`, version: 0, text }, () => undefined);
}

function proved(proof: RigProof['proof']): RigProof['proof'] {
  while (!proof.run(1000) && proof.explored < 50_000);
  return proof;
}

const sound = readdirSync(SAMPLES).filter((name) => name.endsWith('.rig'));

describe('samples', () => {
  it.each(sound)('%s: everything asked about always and never is proved', (path) => {
    for (const { rig } of open(path).analysed()) {
      const results = proved(proveRig(rig).proof).results();
      expect(results.length).toBeGreaterThan(2);
      expect(results.filter((r) => r.verdict.state !== 'proved').map((r) => [r.property.name, r.verdict])).toEqual([]);
    }
  });

  it('loose_relays: safe at nominal times, refuted within tolerance, with times that all lie within it', () => {
    const document = open('refuted/loose_relays.rig');
    expect(document.problems().filter((p) => p.severity === 'error' || p.severity === 'warning')).toEqual([]);
    const { rig } = document.analysed()[0]!;
    expect(analyseTiming(rig).strokes[0]!.straightThrough.flatMap((s) => s.intervals)).toEqual([]);
    const [first] = proved(proveRig(rig).proof).results();
    expect(first!.property.name).toBe('no straight-through path from hopper to skip');
    if (first!.verdict.state !== 'refuted') throw new Error(JSON.stringify(first!.verdict));
    const loose = looseTimes(rig);
    const used = first!.verdict.witness.durations.flatMap((d) => {
      const parameter = loose.find((p) => p.what === d.what && p.index === d.index);
      return parameter ? [{ ...d, parameter }] : [];
    });
    expect(used.length).toBeGreaterThan(5);
    for (const { time, parameter } of used) {
      expect(time, parameter.name).toBeGreaterThanOrEqual(parameter.min);
      expect(time, parameter.name).toBeLessThanOrEqual(parameter.max);
    }
  });

  it('dropped_sensor: safe while the sensor holds, refuted by dropping it while the outer door opens', () => {
    const document = open('refuted/dropped_sensor.rig');
    expect(document.problems().filter((p) => p.severity === 'error' || p.severity === 'warning')).toEqual([]);
    const { rig } = document.analysed()[0]!;
    const [first] = proved(proveRig(rig).proof).results();
    if (first!.verdict.state !== 'refuted') throw new Error(JSON.stringify(first!.verdict));
    // The outer door is driven from 4.06 s to 5.56 s after the sensor's edge: that is when the drop must show.
    const [on, off] = first!.verdict.witness.operations;
    expect([on!.value, off!.value]).toEqual([true, false]);
    expect(off!.t - on!.t).toBeGreaterThan(3_900_000);
    expect(off!.t - on!.t).toBeLessThan(6_000_000);
  });
});
