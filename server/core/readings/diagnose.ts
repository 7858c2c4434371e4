/**
 * Which single fault, or changed time, explains a log best. Every candidate is followed through the same course of operations, laid
 * beside the readings at the offset that suits it best, and ranked by its likelihood; the sound rig is one of the candidates and has
 * the highest prior. Candidates whose doors do the same are one.
 */
import { withEveryPlace } from './change-place';
import { WorkBudget } from '../model/budget';
import { finish, type Work } from '../work/work';
import type { Rig, TimeValue } from '../model/rig';
import { formatTime } from '../units/units';
import { alignWork, measuredLog, sharedShift, type Alignment, type MeasuredLog } from './align';
import { flowFaults } from './fault-flows';
import { contentsUnits, containedWork } from './fault-contents';
import { controlFaults, withPreset } from './fault-list';
import { grouped, merged, type Candidate, type Scored } from './fault-groups';
import { classesIn, decisionTreeWork, type LookedAt } from './fault-tree';
import type { RigLog } from './log';
import { medianOf } from './statistics';
import { readingCosts, type ReadingCost } from './reading-costs';
import { follow, type Followed, type Stimulus } from './stimulus';
import { say } from '../words/say';

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
  /** Where to look next to tell the likeliest apart; null where nothing is open, or nothing that can be looked at tells. */
  readonly next: NextLook | null;
  /** One sentence; a second where candidates were left out. */
  readonly summary: string;
  /** Faults and changed times that were not followed, or not held against the readings of chambers: the budget of work was used up. */
  readonly left: number;
}

export interface NextLook {
  readonly of: LookedAt;
  readonly name: string;
  /** µs after time zero of the course of operations. */
  readonly t: number;
  readonly stimulus: string;
  /** What each possible observation there would leave. */
  readonly outcomes: readonly { readonly seen: string; readonly modes: readonly string[] }[];
}

/** Prior odds as costs: one rig in twenty has a given class of fault, changed times are rarer than wiring. Own choice, no source. */
const FAULT = 3;
const CHANGED = 5;
/** Of readings of chambers are asked only candidates whose edges are not much worse than the best. */
const FAR_BY_EDGES = 40;
export const asDesigned = (): string => say`as designed`;

/** Signals of the networks built, and tenths of changes of signals, that a diagnosis may cost: some ten seconds. */
const MOST_WORK = 2_000_000;

/** A candidate that is still to be followed; null: the sound rig without supply. */
interface Asked {
  readonly mode: string;
  readonly rig: Rig | null;
  readonly prior: number;
}

export const diagnose = (...asked: Parameters<typeof diagnoseWork>): Diagnosis => finish(diagnoseWork(...asked));

/** The same in steps, up to `most` changes of signals: candidates that were not followed are counted in the summary. */
export function* diagnoseWork(rig: Rig, log: RigLog, stimulus: Stimulus, most = MOST_WORK): Work<Diagnosis> {
  const variants = withEveryPlace(rig, log).map((placed) => measuredLog(placed, stimulus.given));
  const length = Math.max(stimulus.length, log.times.at(-1)! - log.times[0]!);
  const run = (faulty: Rig | null): Followed => follow(rig, faulty, stimulus, length);
  const costOf = readingCosts(rig, log, stimulus);
  yield;
  const sound = run(rig);
  yield;
  const [measured, design] = yield* nearest(variants, (one) => alignWork(one, sound, true));
  yield;
  const budget = new WorkBudget(most);
  const asked: Asked[] = [
    ...controlFaults(rig).map(({ mode, rig: faulty }) => ({ mode, rig: faulty, prior: FAULT })),
    { mode: say`supply lost`, rig: null, prior: FAULT },
    ...changedTimes(rig, measured, design).map((c) => ({ ...c, prior: CHANGED })),
  ];
  const candidates: Candidate[] = [{ mode: asDesigned(), rig, trace: sound, prior: 0 }];
  for (const { mode, rig: faulty, prior } of asked) {
    if (budget.isSpent) break;
    const trace = run(faulty);
    budget.spend(rig.network.nets.length + trace.edges.length / 10);
    candidates.push({ mode, rig: faulty ?? rig, trace, prior });
    yield;
  }
  const unfollowed = asked.length + 1 - candidates.length;
  const flows = costOf ? flowFaults(rig) : [];
  candidates.push(...flows.map((c) => ({ ...c, trace: sound, prior: CHANGED })));
  const laid: Scored[] = [];
  for (const group of yield* grouped(rig, candidates, measured)) {
    const [, beside] = yield* nearest(variants, (one) => alignWork(one, group[0]!.trace));
    const cost = beside.cost + Math.min(...group.map((c) => c.prior));
    laid.push({ group, laid: beside, fits: beside.cost, cost });
    yield;
  }
  const { scored, unweighed } = yield* weighed(laid, costOf, log.times[0]!, new WorkBudget(most));
  const ranking = rankingOf(scored, measured);
  const next = yield* nextLook(rig, { ...stimulus, length }, scored, new WorkBudget(most));
  const end = endOf(unfollowed, unweighed, asked.length + flows.length);
  return { ranking, next, summary: summaryOf(ranking[0]!, measured) + end, left: unfollowed + unweighed };
}

/** Where a log of two states may be read in several ways, the one that suits best. */
function* nearest(
  variants: readonly MeasuredLog[],
  laid: (one: MeasuredLog) => Work<Alignment>,
): Work<readonly [MeasuredLog, Alignment]> {
  const all: (readonly [MeasuredLog, Alignment])[] = [];
  for (const one of variants) all.push([one, yield* laid(one)]);
  return all.reduce((best, one) => (one[1].cost < best[1].cost ? one : best));
}

function rankingOf(scored: readonly Scored[], measured: MeasuredLog): Explanation[] {
  const best = scored[0]!;
  const odds = (cost: number): number => Math.exp(best.cost - cost);
  const total = scored.reduce((sum, s) => sum + odds(s.cost), 0);
  return merged(scored, measured).map(({ group, laid, costs }) => ({
    modes: group.some((c) => c.mode === asDesigned()) ? [asDesigned()] : group.map((c) => c.mode),
    probability: costs.reduce((sum, cost) => sum + odds(cost), 0) / total,
    unexplained: laid.pairs.filter((p) => !p.measured || !p.expected).length,
  }));
}

/** What was left out, in a sentence; empty where nothing was. */
function endOf(unfollowed: number, unweighed: number, all: number): string {
  const parts = [
    ...(unfollowed > 0 ? ['followed'] : []),
    ...(unweighed > 0 ? [say`held against the readings of chambers`] : []),
  ];
  if (parts.length === 0) return '';
  const left = unfollowed + unweighed;
  return say` ${left} of ${all} faults and changed times were not ${parts.join(say`, or not `)}: more would cost too much work.`;
}

/** Beyond these many edges without a partner, no single fault explains the readings. */
const UNEXPLAINED_SHARE = 0.2;

function summaryOf({ modes, probability, unexplained }: Explanation, { tracks }: MeasuredLog): string {
  const edges = tracks.reduce((n, t) => n + t.edges.length, 0);
  const share = `${Math.min(99.9, 100 * probability).toFixed(probability > 0.99 ? 1 : 0)} %`;
  if (unexplained > Math.max(1, UNEXPLAINED_SHARE * edges))
    return say`No single fault explains the readings; nearest is ${listed(modes)}, with ${unexplained} edges unexplained.`;
  if (modes[0] === asDesigned()) return say`The readings are those of the rig as designed (${share}).`;
  if (modes.length === 1) return say`The readings are explained best by: ${modes[0]!} (${share}).`;
  return say`The readings are explained best by one of ${modes.length} faults that look the same in this log (${share}): ${listed(modes)}.`;
}

const listed = (modes: readonly string[]): string =>
  modes.length <= 3 ? modes.join(', or ') : `${modes.slice(0, 3).join(', ')} or ${modes.length - 3} more`;

/** Of no more suspects than this is it computed what a gauge would show. */
const MOST_GAUGED = 24;

/** What is still open after this log, distinguished by what moves, runs or is held if that can, otherwise by a signal. */
function* nextLook(rig: Rig, stimulus: Stimulus, scored: readonly Scored[], budget: WorkBudget): Work<NextLook | null> {
  const near = scored.filter((s) => s.cost < scored[0]!.cost + FAULT + 2);
  const isDesigned = near.length > 0 && near[0]!.group.some((c) => c.mode === asDesigned());
  const open = (isDesigned ? near.filter((s) => s.cost < scored[0]!.cost + 1) : near).flatMap((s) => s.group);
  if (isDesigned && open.every((c) => c.prior !== CHANGED && scored[0]!.group.includes(c))) return null;
  for (const at of ['outside', 'signals'] as const) {
    const tree = yield* decisionTreeWork(
      rig,
      [stimulus],
      open.map((c) => [c.trace]),
      at === 'signals'
        ? { at }
        : {
            at,
            held: function* (k) {
              budget.spend(contentsUnits(open[k]!.trace));
              return (yield* containedWork(open[k]!.rig, open[k]!.trace, stimulus)).gauges;
            },
            gauges: open.length <= MOST_GAUGED ? 'with' : 'never',
          },
      budget,
    );
    if (tree.kind === 'leaf') continue;
    const { of, name, t } = tree;
    const outcomes = tree.outcomes.map(({ seen, then }) => ({
      seen,
      modes: classesIn(then).map((k) => open[k]!.mode),
    }));
    return { of, name, t, stimulus: tree.stimulus, outcomes };
  }
  return null;
}

/**
 * With the readings of chambers, where there are any: of the groups that edges leave, likeliest first, until the budget is used up. What
 * edges leave and was not weighed is left out, and its members counted. `start`: first moment of the log.
 */
function* weighed(
  laid: readonly Scored[],
  costOf: ReadingCost | null,
  start: number,
  budget: WorkBudget,
): Work<{ readonly scored: Scored[]; readonly unweighed: number }> {
  const byEdges = [...laid].sort((a, b) => a.cost - b.cost);
  if (!costOf) return { scored: byEdges, unweighed: 0 };
  const near = byEdges.filter((s) => s.cost <= byEdges[0]!.cost + FAR_BY_EDGES);
  const costs: (number | null)[] = [];
  for (const {
    group: [first],
    laid: beside,
  } of near) {
    if (budget.isSpent) break;
    const tried: (number | null)[] = [];
    for (const offset of offsetsFor(beside, start)) {
      if (tried.length > 0 && budget.isSpent) break;
      tried.push(yield* costOf(first!.rig, first!.trace, offset, budget));
    }
    costs.push(tried.reduce((least, c) => (c !== null && (least === null || c < least) ? c : least), null));
  }
  const worst = costs.reduce((most: number, c) => Math.max(most, c ?? 0), 0);
  const known = [...near.slice(0, costs.length), ...byEdges.slice(near.length)];
  const scored = known.map((s, k) => {
    const added = costs[k] ?? worst;
    return { ...s, fits: s.fits + added, cost: s.cost + added };
  });
  const unweighed = near.slice(costs.length).reduce((n, { group }) => n + group.length, 0);
  return { scored: scored.sort((a, b) => a.cost - b.cost), unweighed };
}

/** Where no edge says when the rig's time zero was: half a second apart, over this much of the log, µs. Own choice. */
const [ZERO_STEP, ZERO_WITHIN] = [500_000, 5_000_000];

/** Moments of the log that may be time zero of the rig. */
function offsetsFor({ offset, pairs }: Alignment, start: number): number[] {
  if (pairs.some((p) => p.measured && p.expected)) return [offset];
  return [offset, ...Array.from({ length: ZERO_WITHIN / ZERO_STEP + 1 }, (_, k) => start + k * ZERO_STEP)];
}

/** By what edges of one kind are off in stroke after stroke, against all together: less than a single edge would show. */
function steadyDistances(measured: MeasuredLog, design: Alignment): number[] {
  const kinds = new Map<string, number[]>();
  for (const { of, index, measured: m, expected: e } of design.pairs) {
    if (!m || !e) continue;
    const key = `${of} ${index} ${m.open ? 'opens' : 'shuts'}`;
    kinds.set(key, [...(kinds.get(key) ?? []), m.t - e.t - design.offset]);
  }
  const medians = [...kinds.values()].map((off) => ({ off: medianOf(off), n: off.length }));
  const together = measured.offset === null ? medianOf(medians.map((m) => m.off)) : sharedShift(design, measured);
  return medians.flatMap(({ off, n }) => {
    const d = off - together;
    return Math.abs(d) > (3 * measured.sigma) / Math.sqrt(n) ? [d] : [];
  });
}

/** One preset, changed by each of the distances by which edges are off. */
function changedTimes(rig: Rig, measured: MeasuredLog, design: Alignment): { mode: string; rig: Rig }[] {
  const { sigma } = measured;
  const off = design.pairs.flatMap((p) =>
    p.measured && p.expected ? [p.measured.t - p.expected.t - design.offset] : [],
  );
  const single = off.flatMap((a) => [a, ...off.map((b) => a - b)]).filter((d) => Math.abs(d) > 3 * sigma);
  const all = [...single, ...steadyDistances(measured, design)];
  const distances: number[] = [];
  for (const d of all.sort((a, b) => Math.abs(a) - Math.abs(b)))
    if (!distances.some((o) => Math.abs(o - d) < sigma / 2) && distances.length < 24) distances.push(d);
  const changed = (what: string, time: TimeValue, d: number): { text: string; to: number } | null => {
    const to = Math.round((time.nominal + d) / 1000) * 1000;
    return to < 0 || to === time.nominal
      ? null
      : { text: say`${what} ${formatTime(to)} instead of ${formatTime(time.nominal)}`, to };
  };
  return distances.flatMap((d) =>
    rig.network.elements.flatMap((element, k) => {
      const change = element.preset && changed(say`preset of ${element.name}`, element.preset, d);
      return change ? [{ mode: change.text, rig: withPreset(rig, k, change.to) }] : [];
    }),
  );
}
