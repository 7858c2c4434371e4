/**
 * Which single fault, or changed time, explains a log best. Every candidate is followed through the same course of operations, laid
 * beside the readings at the offset that suits it best, and ranked by its likelihood; the sound rig is one of the candidates and has
 * the highest prior. Candidates whose doors do the same are one.
 */
import type { Rig, TimeValue } from '../model/rig';
import { formatTime } from '../units/units';
import { align, measuredLog, type Alignment, type MeasuredLog } from './align';
import { faultsOf, withPreset } from './fault-list';
import { decisionTree, type TestNode } from './fault-tree';
import type { RigLog } from './log';
import { follow, type Stimulus } from './stimulus';
import type { Trace } from '../timing/trace';

export interface Explanation {
  /** What it may be; more than one look the same in every door of the log. `as designed` stands alone. */
  readonly modes: readonly string[];
  /** 0 … 1, of all candidates together. */
  readonly probability: number;
  /** Edges expected and not seen, or seen and not due. */
  readonly unexplained: number;
}

export interface Diagnosis {
  /** Most likely first. */
  readonly ranking: readonly Explanation[];
  /** Where to look next to tell the likeliest apart; null where no door of the rig can tell. */
  readonly next: Extract<TestNode, { kind: 'look' }> | null;
}

/** Prior odds as costs: one rig in twenty has a given class of fault, changed times are rarer than wiring. Own choice, no source. */
const FAULT = 3;
const CHANGED = 5;
export const AS_DESIGNED = 'as designed';

interface Candidate {
  readonly mode: string;
  readonly trace: Trace;
  readonly prior: number;
}

export function diagnose(rig: Rig, log: RigLog, stimulus: Stimulus): Diagnosis {
  const measured = measuredLog(log);
  const length = Math.max(stimulus.length, log.times.at(-1)! - log.times[0]!);
  const run = (faulty: Rig | null): Trace => follow(rig, faulty, stimulus, length);
  const sound = run(rig);
  const design = align(measured, sound, true);
  const candidates: Candidate[] = [
    { mode: AS_DESIGNED, trace: sound, prior: 0 },
    ...faultsOf(rig).map(({ mode, rig: faulty }) => ({ mode, trace: run(faulty), prior: FAULT })),
    ...changedTimes(rig, measured, design).map(({ mode, rig: other }) => ({ mode, trace: run(other), prior: CHANGED })),
  ];
  const groups = grouped(candidates, log);
  const scored = groups
    .map((group) => {
      const laid = align(measured, group[0]!.trace);
      return { group, laid, cost: laid.cost + Math.min(...group.map((c) => c.prior)) };
    })
    .sort((a, b) => a.cost - b.cost);
  const total = scored.reduce((sum, s) => sum + Math.exp(scored[0]!.cost - s.cost), 0);
  const ranking = merged(scored).map(({ group, laid, cost }) => ({
    modes: group.some((c) => c.mode === AS_DESIGNED) ? [AS_DESIGNED] : group.map((c) => c.mode),
    probability: Math.exp(scored[0]!.cost - cost) / total,
    unexplained: laid.pairs.filter((p) => !p.measured || !p.expected).length,
  }));
  const open = scored.filter((s) => s.cost < scored[0]!.cost + FAULT + 2).flatMap((s) => s.group.map((c) => [c.trace]));
  const tree = decisionTree(rig, [{ ...stimulus, length }], open);
  return { ranking, next: tree.kind === 'look' ? tree : null };
}

/** Candidates that look the same in the doors that the log has. */
function grouped(candidates: readonly Candidate[], log: RigLog): Candidate[][] {
  const groups = new Map<string, Candidate[]>();
  for (const c of candidates) {
    const seen = log.doors.map(({ door }) => c.trace.doors[door]!);
    const key = JSON.stringify(seen.map((d) => [d.initial, d.moves.map((m) => [m.t, m.to, m.arrives])]));
    const group = groups.get(key);
    if (group) group.push(c);
    else groups.set(key, [c]);
  }
  return [...groups.values()];
}

interface Scored {
  readonly group: readonly Candidate[];
  readonly laid: Alignment;
  readonly cost: number;
}

/** Candidates that differ only outside the time of the log are one. */
function merged(scored: readonly Scored[]): Scored[] {
  const found: Scored[] = [];
  for (const s of scored) {
    const k = found.findIndex((f) => Math.abs(f.laid.cost - s.laid.cost) < 1e-9);
    const like = found[k];
    if (like) found[k] = { ...like, group: [...like.group, ...s.group] };
    else found.push(s);
  }
  return found;
}

/** One preset, changed by each of the distances by which edges are off. */
function changedTimes(rig: Rig, { sigma }: MeasuredLog, { pairs, offset }: Alignment): { mode: string; rig: Rig }[] {
  const off = pairs.flatMap((p) => (p.measured && p.expected ? [p.measured.t - p.expected.t - offset] : []));
  const all = off.flatMap((a) => [a, ...off.map((b) => a - b)]).filter((d) => Math.abs(d) > 3 * sigma);
  const distances: number[] = [];
  for (const d of all.sort((a, b) => Math.abs(a) - Math.abs(b)))
    if (!distances.some((o) => Math.abs(o - d) < sigma / 2) && distances.length < 24) distances.push(d);
  const changed = (what: string, time: TimeValue, d: number): { text: string; to: number } | null => {
    const to = Math.round((time.nominal + d) / 1000) * 1000;
    return to < 0 || to === time.nominal
      ? null
      : { text: `${what} ${formatTime(to)} instead of ${formatTime(time.nominal)}`, to };
  };
  return distances.flatMap((d) =>
    rig.network.elements.flatMap((element, k) => {
      const change = element.preset && changed(`preset of ${element.name}`, element.preset, d);
      return change ? [{ mode: change.text, rig: withPreset(rig, k, change.to) }] : [];
    }),
  );
}
