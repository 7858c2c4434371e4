/** Properties that hold while every time keeps its value, and break where one differs from use to use: refuted, with the run, and so named. */
import { finish } from '../../server/core/work/work';
import { describe, expect, it } from 'vitest';
import { replayDrifting } from '../../server/core/proof/drift';
import { proofProblems } from '../../server/core/features/proof-results';
import { proofReport } from '../../server/core/report/proof-report';
import { proveRig } from '../../server/core/run/prove-rig';
import { brokenAt } from '../../server/core/proof/trace-property';
import { looseTimes } from '../../server/core/timing/tolerance';
import { ladder } from '../support/proof-rigs';
import { rigFrom } from '../support/rig';

// A door of the ladder shuts 1.4 s after the one before it, by a timer that is started twice a stroke: first by on, then by off.
const { rig } = rigFrom(ladder({ doors: 5, sensors: 2, loose: true }));
const rigProof = proveRig(rig, 'pocket when d4');
while (!rigProof.proof.run(200) && rigProof.proof.explored < 5_000);
const [{ verdict, property } = { verdict: undefined, property: undefined }] = rigProof.proof.results();

describe('a time that drifts', () => {
  it('refutes what every steady time keeps, and the run breaks it in the event engine', () => {
    if (verdict?.state !== 'refuted') throw new Error(JSON.stringify(verdict));
    expect(verdict.times).toBe('drifting');
    expect(brokenAt(property!, rig, verdict.trace)).toBe(verdict.witness.end);
  });

  it('stays within its tolerance at every use, and differs from one use to another', () => {
    if (verdict?.state !== 'refuted') throw new Error(JSON.stringify(verdict));
    const uses = new Map<string, Set<number>>();
    for (const { what, index, time } of verdict.witness.durations) {
      const range = looseTimes(rig).find((p) => p.what === what && p.index === index)!;
      expect(time).toBeGreaterThanOrEqual(range.min);
      expect(time).toBeLessThanOrEqual(range.max);
      uses.set(range.name, (uses.get(range.name) ?? new Set()).add(time));
    }
    expect([...uses.values()].some((times) => times.size > 1)).toBe(true);
  });

  it('is named where the verdict is printed, with its values in order', () => {
    const report = proofReport(rigProof).join('\n');
    expect(report).toMatch(/REFUTED {3}no trapped pocket when d4 closes \(for drifting times\)/);
    expect(report).toMatch(/ then /);
    expect(proofProblems(rigProof)[0]!.message).toContain('refuted for times that drift within their tolerance');
  });

  it('is no excuse: the same run with steady times does not count', () => {
    if (verdict?.state !== 'refuted') throw new Error(JSON.stringify(verdict));
    const first = verdict.witness.durations.map((d, _, all) => ({
      ...d,
      time: all.find((o) => o.what === d.what && o.index === d.index)!.time,
    }));
    const steady = { ...verdict.witness, durations: first };
    expect(finish(replayDrifting(rig, property!, steady, rigProof.proof.network))).toBeNull();
  });
});
