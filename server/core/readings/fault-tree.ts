/**
 * The observations that tell classes of faults apart, as a decision tree: each node is one look at one door, feed, draw or signal at one moment. The look is
 * the one that leaves the least uncertainty (greatest information gain); the tree of fewest looks is not searched for exhaustively.
 */
import { WorkBudget } from '../model/budget';
import { finish, type Work } from '../work/work';
import { positionAt } from '../model/motion';
import type { Rig } from '../model/rig';
import { netAt } from '../timing/course';
import { runsAt } from './line-tracks';
import type { Followed, Stimulus } from './stimulus';

export type TestNode =
  | { readonly kind: 'leaf'; readonly classes: readonly number[] }
  | {
      readonly kind: 'look';
      readonly stimulus: string;
      readonly t: number;
      readonly of: LookedAt;
      readonly name: string;
      readonly outcomes: readonly { readonly seen: SeenState; readonly then: TestNode }[];
    };

export type LookedAt = 'door' | 'feed' | 'draw' | 'signal';
export type SeenState = 'shut' | 'moving' | 'open' | 'off' | 'on' | 'stopped' | 'running';
const STATES: readonly SeenState[] = ['shut', 'moving', 'open', 'off', 'on', 'stopped', 'running'];

/** All classes below a node. */
export const classesIn = (node: TestNode): readonly number[] =>
  node.kind === 'leaf' ? node.classes : node.outcomes.flatMap((o) => classesIn(o.then));

/** Moments tried per item and course. */
const MOST_MOMENTS = 60;

interface Look {
  readonly stimulus: string;
  readonly t: number;
  readonly of: LookedAt;
  readonly name: string;
  /** Per class, index into STATES. */
  readonly outcome: Uint8Array;
}

/** `at`: what moves or runs, or signals by what is on their wires. */
export const decisionTree = (...asked: Parameters<typeof decisionTreeWork>): TestNode =>
  finish(decisionTreeWork(...asked));

/** The same in steps. Where the budget is used up what is left is not distinguished. */
export function* decisionTreeWork(
  rig: Rig,
  stimuli: readonly Stimulus[],
  classes: readonly (readonly Followed[])[],
  at: 'outside' | 'signals' = 'outside',
  budget = new WorkBudget(Infinity),
): Work<TestNode> {
  const looks: Look[] = [];
  for (const [s, stimulus] of stimuli.entries()) {
    const traces = classes.map((c) => c[s]!);
    for (const { name, looked } of at === 'outside' ? outsideOf(rig) : signalsOf(rig, traces)) {
      if (budget.isSpent) break;
      const found = looksAt(stimulus.label, name, traces, looked);
      budget.spend((found.length * classes.length) / LOOKS_A_UNIT);
      looks.push(...found);
      yield;
    }
  }
  const all = classes.map((_, k) => k);
  return yield* grow(looks, all, budget);
}

/** Looks of one class that cost as much as one change of one signal. */
const LOOKS_A_UNIT = 20;

interface Named {
  readonly name: string;
  readonly looked: Looked;
}

const outsideOf = (rig: Rig): Named[] => [
  ...rig.doors.map(({ name }, d) => ({ name, looked: doorOf(d) })),
  ...rig.lines.map(({ kind, name }, k) => ({ name, looked: lineOf(kind, k) })),
];

function signalsOf(rig: Rig, traces: readonly Followed[]): Named[] {
  // Each trace is read once for all nets, not once for each of them.
  const changes = new Map(traces.map((trace) => [trace, changesByNet(rig, trace)]));
  return rig.network.nets.map(({ name }, net) => ({ name, looked: netOf(net, changes) }));
}

function changesByNet(rig: Rig, { edges }: Followed): readonly (readonly number[])[] {
  const times: number[][] = rig.network.nets.map(() => []);
  for (const { net, t } of edges) times[net]!.push(t);
  return times;
}

/** How something that is looked at changes, and how it is at a moment: an index into STATES. */
interface Looked {
  readonly of: LookedAt;
  readonly changes: (trace: Followed) => readonly number[];
  readonly stateAt: (trace: Followed, t: number) => number;
}

const doorOf = (d: number): Looked => ({
  of: 'door',
  changes: (trace) => trace.doors[d]!.moves.flatMap((m) => [m.t, m.arrives]),
  stateAt: (trace, t) => {
    const position = positionAt(trace.doors[d]!, t);
    return position <= 0 ? 0 : position >= 1 ? 2 : 1;
  },
});

const lineOf = (of: 'feed' | 'draw', line: number): Looked => ({
  of,
  changes: (trace) => trace.lines[line]!.changes.map((c) => c.t),
  stateAt: (trace, t) => (runsAt(trace.lines[line]!, t) ? 6 : 5),
});

const netOf = (net: number, changes: ReadonlyMap<Followed, readonly (readonly number[])[]>): Looked => ({
  of: 'signal',
  changes: (trace) => changes.get(trace)![net]!,
  stateAt: (trace, t) => (netAt(trace, net, t) ? 4 : 3),
});

function looksAt(
  stimulus: string,
  name: string,
  traces: readonly Followed[],
  { of, changes, stateAt }: Looked,
): Look[] {
  const { end } = traces[0]!;
  const all = traces.flatMap(changes);
  const times = [...new Set([0, ...all, end])].filter((t) => t >= 0 && t <= end).sort((a, b) => a - b);
  const middles = times.slice(1).map((t, k) => ({ t: Math.round((t + times[k]!) / 2), length: t - times[k]! }));
  // Long stretches are the easiest to hit by eye or by a slow logger.
  const chosen = middles.sort((a, b) => b.length - a.length).slice(0, MOST_MOMENTS);
  return chosen.map(({ t }) => ({
    stimulus,
    of,
    name,
    t,
    outcome: Uint8Array.from(traces, (trace) => stateAt(trace, t)),
  }));
}

/** Looks weighed between two moments at which the search may be left. */
const LOOKS_A_STEP = 200;

function* grow(looks: readonly Look[], classes: readonly number[], budget: WorkBudget): Work<TestNode> {
  if (classes.length <= 1 || !budget.spend((looks.length * classes.length) / LOOKS_A_UNIT))
    return { kind: 'leaf', classes };
  let best: Look | null = null;
  let least = classes.length * Math.log2(classes.length) - 1e-9;
  for (const [k, look] of looks.entries()) {
    if (k % LOOKS_A_STEP === LOOKS_A_STEP - 1) yield;
    const counts = STATES.map(() => 0);
    for (const c of classes) counts[look.outcome[c]!]!++;
    const left = counts.reduce((sum, n) => sum + (n > 0 ? n * Math.log2(n) : 0), 0);
    if (left < least) [best, least] = [look, left];
  }
  if (!best) return { kind: 'leaf', classes };
  const { stimulus, t, of, name, outcome } = best;
  const outcomes: { seen: SeenState; then: TestNode }[] = [];
  for (const [k, seen] of STATES.entries()) {
    const there = classes.filter((c) => outcome[c] === k);
    if (there.length > 0) outcomes.push({ seen, then: yield* grow(looks, there, budget) });
  }
  return { kind: 'look', stimulus, t, of, name, outcomes };
}
