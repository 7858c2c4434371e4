/**
 * The observations that tell classes of faults apart, as a decision tree: each node is one look at one door, feed, draw, signal or gauge at one
 * moment. The look is the one that leaves the least uncertainty (greatest information gain); the tree of fewest looks is not searched for
 * exhaustively. Where a gauge leaves no less than what can be seen, what can be seen is looked at.
 */
import { WorkBudget } from '../model/budget';
import { finish, type Work } from '../work/work';
import { positionAt } from '../model/motion';
import type { Rig, Sensed } from '../model/rig';
import { netAt } from '../timing/course';
import type { DimensionName } from '../units/dimensions';
import { formatAlike } from '../units/units';
import { gaugeGap, lookTimes, type Held } from './fault-contents';
import { runsAt } from './line-tracks';
import type { Followed, Stimulus } from './stimulus';
import { say } from '../words/say';

export type TestNode =
  | { readonly kind: 'leaf'; readonly classes: readonly number[] }
  | {
      readonly kind: 'look';
      readonly stimulus: string;
      readonly t: number;
      readonly of: LookedAt;
      readonly name: string;
      readonly outcomes: readonly { readonly seen: string; readonly then: TestNode }[];
    };

/** Of a gauge (a pressure, mass, level or density), `name` is the chamber. */
export type LookedAt = 'door' | 'feed' | 'draw' | 'signal' | Sensed;
const STATES = ['shut', 'moving', 'open', 'off', 'on', 'stopped', 'running'] as const;

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
  /** Per class, index into `states`. */
  readonly outcome: Uint8Array;
  /** What may be seen. */
  readonly states: readonly string[];
}

/** What is looked at: what moves or runs, or signals by what is on their wires. */
export interface Sight {
  readonly at: 'outside' | 'signals';
  /** What the chambers of a class hold along a stimulus; followed only where a gauge is asked. */
  readonly held?: (of: number, stimulus: number) => Work<readonly Held[]>;
  /** Gauges are looked at beside what moves, only where nothing else divides, or never. */
  readonly gauges?: 'with' | 'last' | 'never';
  /** Where gauges come last: classes that gauges may tell from others; all by default. */
  readonly flows?: (of: number) => boolean;
}

export const decisionTree = (...asked: Parameters<typeof decisionTreeWork>): TestNode =>
  finish(decisionTreeWork(...asked));

/** The same in steps. Where the budget is used up what is left is not distinguished. */
export function* decisionTreeWork(
  rig: Rig,
  stimuli: readonly Stimulus[],
  classes: readonly (readonly Followed[])[],
  { at, held, gauges = 'never', flows = () => true }: Sight,
  budget = new WorkBudget(Infinity),
): Work<TestNode> {
  /** Looks at what moves, runs or is on the wires of some classes: at the moments between which those differ. */
  function* seen(own: readonly number[]): Work<Look[]> {
    const looks: Look[] = [];
    for (const [s, stimulus] of stimuli.entries()) {
      const traces = own.map((k) => classes[k]![s]!);
      for (const { name, looked } of at === 'outside' ? outsideOf(rig) : signalsOf(rig, traces)) {
        if (budget.isSpent) break;
        const found = looksAt(stimulus.label, name, own, traces, looked);
        budget.spend((found.length * own.length) / LOOKS_A_UNIT);
        looks.push(...found);
        yield;
      }
    }
    return looks;
  }
  const all = classes.map((_, k) => k);
  const looks = yield* seen(all);
  function* finer(own: readonly number[]): Work<Look[]> {
    return own.length < all.length ? yield* seen(own) : [];
  }
  if (!held || gauges === 'never') return yield* grow(looks, all, budget, [finer]);
  const known = new Map<number, readonly (readonly Held[])[]>();
  function* gaugesOf(own: readonly number[]): Work<Look[]> {
    if (!own.some(flows)) return [];
    for (const of of own) {
      if (known.has(of)) continue;
      if (budget.isSpent) return [];
      const courses: (readonly Held[])[] = [];
      for (const s of stimuli.keys()) courses.push(yield* held!(of, s));
      known.set(of, courses);
    }
    return yield* gaugeLooks(rig, stimuli, own, (of) => known.get(of)!);
  }
  if (gauges === 'last') return yield* grow(looks, all, budget, [finer, gaugesOf]);
  return yield* grow([...looks, ...(yield* gaugesOf(all))], all, budget, [finer]);
}

/** Looks at gauges that divide some classes: values further apart than gauges may be off are different, and so are those on both sides of a gap. */
function* gaugeLooks(
  rig: Rig,
  stimuli: readonly Stimulus[],
  classes: readonly number[],
  heldBy: (of: number) => readonly (readonly Held[])[],
): Work<Look[]> {
  const looks: Look[] = [];
  for (const [s, stimulus] of stimuli.entries()) {
    const courses = classes.map((k) => heldBy(k)[s]!);
    for (const [c, { chamber, sensed }] of courses[0]!.entries()) {
      const all = courses.map((held) => held[c]!.values);
      const gap = gaugeGap(all.reduce((most, own) => own.reduce((m, v) => Math.max(m, Math.abs(v)), most), 0));
      for (const [k, t] of lookTimes(stimulus).entries()) {
        yield;
        const values = all.map((own) => own[k]!);
        const parted = partedBy(values, gap, sensed === 'level' ? 'length' : sensed);
        if (!parted) continue;
        const outcome = outcomeOf(classes, parted.outcome);
        const { name } = rig.chambers[chamber]!;
        looks.push({ stimulus: stimulus.label, t, of: sensed, name, outcome, states: parted.states });
      }
    }
  }
  return looks;
}

/** Values in groups more than a gap apart, with the words for each; null where there is one group or a value is not known. */
function partedBy(
  values: readonly number[],
  gap: number,
  dimension: DimensionName,
): { readonly outcome: readonly number[]; readonly states: readonly string[] } | null {
  const sorted = [...values].sort((a, b) => a - b);
  const groups: [number, number][] = [];
  for (const v of sorted) {
    const last = groups.at(-1);
    if (last && v - last[1] <= gap) last[1] = v;
    else groups.push([v, v]);
  }
  if (groups.length < 2 || values.some((v) => !Number.isFinite(v))) return null;
  const words = formatAlike(sorted, dimension);
  const states = groups.map(([low, high]) =>
    high - low <= gap ? say`about ${words((low + high) / 2)}` : say`${words(low)} to ${words(high)}`,
  );
  return { outcome: values.map((v) => groups.findIndex(([low, high]) => low <= v && v <= high)), states };
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
  classes: readonly number[],
  traces: readonly Followed[],
  { of, changes, stateAt }: Looked,
): Look[] {
  const { end } = traces[0]!;
  const all = traces.flatMap(changes);
  const times = [...new Set([0, ...all, end])].filter((t) => t >= 0 && t <= end).sort((a, b) => a - b);
  const middles = times.slice(1).map((t, k) => ({ t: Math.round((t + times[k]!) / 2), length: t - times[k]! }));
  // Long stretches are the easiest to hit by eye or by a slow logger.
  const chosen = middles.sort((a, b) => b.length - a.length).slice(0, MOST_MOMENTS);
  return chosen.map(({ t }) => {
    const seen = traces.map((trace) => stateAt(trace, t));
    return { stimulus, of, name, t, outcome: outcomeOf(classes, seen), states: STATES };
  });
}

/** By class, for those that were looked at. */
function outcomeOf(classes: readonly number[], states: readonly number[]): Uint8Array {
  const outcome = new Uint8Array(Math.max(...classes) + 1);
  classes.forEach((of, k) => (outcome[of] = states[k]!));
  return outcome;
}

/** Looks weighed between two moments at which the search may be left. */
const LOOKS_A_STEP = 200;

/** `further`: looks that are tried, one kind after the other, where none of those before divides what is left. */
function* grow(
  looks: readonly Look[],
  classes: readonly number[],
  budget: WorkBudget,
  further: readonly ((classes: readonly number[]) => Work<readonly Look[]>)[],
): Work<TestNode> {
  if (classes.length <= 1 || !budget.spend((looks.length * classes.length) / LOOKS_A_UNIT))
    return { kind: 'leaf', classes };
  let best = yield* bestOf(looks, classes);
  for (const more of further) best ??= yield* bestOf(yield* more(classes), classes);
  if (best === null) return { kind: 'leaf', classes };
  const { stimulus, t, of, name, outcome, states } = best;
  const outcomes: { seen: string; then: TestNode }[] = [];
  for (const [k, seen] of states.entries()) {
    const there = classes.filter((c) => outcome[c] === k);
    if (there.length > 0) outcomes.push({ seen, then: yield* grow(looks, there, budget, further) });
  }
  return { kind: 'look', stimulus, t, of, name, outcomes };
}

/** The look that leaves the least uncertainty, the first of equals; null where none divides the classes. */
function* bestOf(looks: readonly Look[], classes: readonly number[]): Work<Look | null> {
  let best: Look | null = null;
  let least = classes.length * Math.log2(classes.length) - 1e-9;
  for (const [k, look] of looks.entries()) {
    if (k % LOOKS_A_STEP === LOOKS_A_STEP - 1) yield;
    const counts = look.states.map(() => 0);
    for (const c of classes) counts[look.outcome[c]!]!++;
    const left = counts.reduce((sum, n) => sum + (n > 0 ? n * Math.log2(n) : 0), 0);
    if (left < least - 1e-9) [best, least] = [look, left];
  }
  return best;
}
