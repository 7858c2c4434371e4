/**
 * What every single fault looks like from outside (failure mode and effects, IEC 60812): followed from power-on through the default
 * strokes and every scenario beside the sound rig. Faults whose doors, feeds and draws do the same at all times are one class; one that changes
 * what flows alone, and so that a gauge shows it, is a class by itself.
 */
import { WorkBudget } from '../model/budget';
import type { Program } from '../flow/program';
import { finish, type Work } from '../work/work';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { doorEvents } from '../timing/course';
import type { Interval } from '../timing/facts';
import { lengthOf } from '../timing/intervals';
import type { Trace } from '../timing/trace';
import { openStretches } from '../timing/windows';
import { contentsUnits, containedWork, contentsDifference, contentsWords } from './fault-contents';
import type { Contained, ContentsDifference, Held } from './fault-contents';
import { alreadyWrong, brokenBy, noticed, pathText, straightPaths, type AlreadyWrong } from './fault-consequences';
import { decisionTreeWork, type TestNode } from './fault-tree';
import type { Fault } from './fault-list';
import { faultsOf } from './single-faults';
import { everRuns, stretches, type LineTrack } from './line-tracks';
import { follow, stimuliOf, type Followed, type Stimulus } from './stimulus';
import { say } from '../words/say';

export interface FaultEffect {
  readonly fault: Fault;
  /** Index into `FaultReport.classes`; 0 is the class of the sound rig: nothing to be seen from outside. */
  readonly class: number;
}

export interface FaultClass {
  /** Indices into `effects`. */
  readonly members: readonly number[];
  readonly first: FirstDifference | null;
  /** What a gauge shows where doors, feeds and draws move and run at the times designed; null where none does, or they do not. */
  readonly contents: FirstDifference | null;
  readonly neverMove: readonly string[];
  /** Doors that stay off their seats to the end, for longer than they ever are in the sound rig. */
  readonly leftOpen: readonly string[];
  /** Feeds and draws, as `feed fan`: those that run in the sound rig and never here; those that run on to the end, for longer than they do in the sound rig. */
  readonly neverRun: readonly string[];
  readonly leftRunning: readonly string[];
  /** Paths that stand open although they do not in the sound rig: dangerous. */
  readonly straight: readonly string[];
  /** Requirements met by the sound rig and not with this fault, judged on its first member. */
  readonly broken: readonly string[];
  /** Sensors that should notice: on a chamber beside a door that never moves or with a line that runs wrong, or at an end of a path that stands open; of what only a gauge shows, sensors that see another state. */
  readonly noticedBy: readonly string[];
  /** Looks at signals that tell its members apart (classes are places in `members`); null where none does. */
  readonly apart: TestNode | null;
}

export interface FirstDifference {
  readonly stimulus: string;
  readonly t: number;
  readonly words: string;
}

export interface FaultReport {
  readonly stimuli: readonly string[];
  readonly effects: readonly FaultEffect[];
  readonly classes: readonly FaultClass[];
  readonly tree: TestNode;
  /** What is wrong as designed, and so is never the effect of a fault. */
  readonly already: AlreadyWrong;
  /** Faults that were not followed: following all would cost more than the budget of work. */
  readonly left: number;
  /** The budget was used up before all faults were followed and distinguished. */
  readonly isCut: boolean;
}

/** That a report ended before all was followed, in one sentence; null where it did not. */
export function endOfFaults(rig: Rig, { effects, left, isCut }: FaultReport): string | null {
  if (!isCut) return null;
  const all = effects.length + left;
  const part =
    left > 0
      ? say`${effects.length} of ${all} faults of ${rig.name} were followed`
      : say`The ${all} faults of ${rig.name} were followed`;
  return say`${part}, and not all of them are distinguished: more would cost too much work.`;
}

/** Signals of the networks built, and tenths of changes of signals, that a report may cost: some ten seconds. */
const MOST_WORK = 3_000_000;

/** Null where the sound rig has no stroke and no scenario to follow. */
export const faultReport = (...asked: Parameters<typeof faultReportWork>): FaultReport | null =>
  finish(faultReportWork(...asked));

/** The same in steps, up to `most` changes of signals: faults that were not followed are counted. */
export function* faultReportWork(facts: RigFacts, most = MOST_WORK): Work<FaultReport | null> {
  const { rig, timing } = facts;
  const stimuli = stimuliOf(rig, timing);
  if (stimuli.length === 0) return null;
  const budget = new WorkBudget(most);
  const sound = stimuli.map((s) => follow(rig, rig, s));
  const all = faultsOf(rig);
  // Half for following them, the rest for what distinguishes them: a long list that nothing tells apart helps nobody.
  const { traces, own, members, effects, contents, contained } = yield* followAll(
    facts,
    stimuli,
    sound,
    all,
    budget.part(most / 2),
  );
  const classes: FaultClass[] = [];
  for (const [c, seen] of traces.entries()) {
    const followed = { stimuli, sound, effects, own };
    const apart = yield* apartBy(
      rig,
      stimuli,
      members[c]!.map((m) => own[m]!),
      budget,
    );
    classes.push(classOf(facts, followed, seen, members[c]!, apart, contents[c]!));
    yield;
  }
  function* held(c: number, s: number): Work<readonly Held[]> {
    const known = contained.get(c);
    if (known) return known[s]!.gauges;
    budget.spend(contentsUnits(traces[c]![s]!));
    return (yield* containedWork(effects[members[c]![0] ?? -1]?.fault.rig ?? rig, traces[c]![s]!, stimuli[s]!)).gauges;
  }
  const flows = (c: number): boolean => contents[c] !== null;
  const tree = yield* decisionTreeWork(rig, stimuli, traces, { at: 'outside', held, gauges: 'last', flows }, budget);
  return {
    stimuli: stimuli.map((s) => s.label),
    effects,
    classes,
    tree,
    already: alreadyWrong(facts, sound),
    left: all.length - effects.length,
    isCut: budget.isSpent || effects.length < all.length,
  };
}

/** Follows faults until the budget is used up, and puts together those that do the same. */
function* followAll(
  { rig }: RigFacts,
  stimuli: readonly Stimulus[],
  sound: readonly Followed[],
  faults: ReturnType<typeof faultsOf>,
  budget: WorkBudget,
) {
  const keys = new Map<string, number>([[keyOf(sound), 0]]);
  const traces: (readonly Followed[])[] = [sound];
  const own: (readonly Followed[])[] = [];
  const members: number[][] = [[]];
  const contents: (ContentsDifference | null)[] = [null];
  const effects: FaultEffect[] = [];
  /** By class, where it was computed to find the class. */
  const contained = new Map<number, readonly Contained[]>();
  // What only flows wrong moves as the sound rig does: compiled once.
  const programs = stimuli.map(() => new Map<string, Program>());
  const ofContents = sound.reduce((sum, trace) => sum + contentsUnits(trace), 0);
  let soundHeld: readonly Contained[] = [];
  for (const [k, fault] of faults.entries()) {
    if (budget.isSpent) break;
    const flows = fault.kind === 'leak' || fault.kind === 'rate';
    const seen: Followed[] = flows ? [...sound] : [];
    for (const stimulus of flows ? [] : stimuli) {
      const followed = follow(rig, fault.rig, stimulus);
      budget.spend(rig.network.nets.length + followed.edges.length / 10);
      seen.push(followed);
      yield;
    }
    if (flows) budget.spend(ofContents);
    if (flows && soundHeld.length === 0) {
      budget.spend(ofContents);
      contained.set(0, (soundHeld = yield* containedIn(rig, stimuli, sound, programs)));
    }
    const within = flows ? yield* containedIn(fault.rig!, stimuli, sound, programs) : null;
    const held = within && contentsDifference(stimuli, soundHeld, within);
    const key = held ? fault.mode : keyOf(seen);
    let index = keys.get(key);
    if (index === undefined) {
      keys.set(key, (index = traces.length));
      traces.push(seen);
      members.push([]);
      contents.push(held);
      if (within) contained.set(index, within);
    }
    members[index]!.push(k);
    own.push(seen);
    effects.push({ fault, class: index });
    yield;
  }
  return { traces, own, members, effects, contents, contained };
}

/** By stimulus. */
function* containedIn(
  rig: Rig,
  stimuli: readonly Stimulus[],
  traces: readonly Followed[],
  programs: readonly Map<string, Program>[],
): Work<readonly Contained[]> {
  const found: Contained[] = [];
  for (const [s, stimulus] of stimuli.entries())
    found.push(yield* containedWork(rig, traces[s]!, stimulus, programs[s]!));
  return found;
}

const keyOf = (traces: readonly Followed[]): string =>
  JSON.stringify(
    traces.map((t) => [
      t.doors.map((d) => [d.initial, ...d.moves.map((m) => [m.t, m.from, m.to, m.arrives])]),
      t.lines.map((l) => stretches(l, t.start)),
    ]),
  );

interface Course {
  readonly stimuli: readonly Stimulus[];
  readonly sound: readonly Followed[];
  readonly effects: readonly FaultEffect[];
  /** Traces of each fault, by stimulus. */
  readonly own: readonly (readonly Followed[])[];
}

function classOf(
  facts: RigFacts,
  followed: Course,
  seen: readonly Followed[],
  members: readonly number[],
  apart: TestNode | null,
  contents: ContentsDifference | null,
): FaultClass {
  const { stimuli, sound, effects } = followed;
  const { rig } = facts;
  const moved = (traces: readonly Trace[], d: number): boolean => traces.some((t) => t.doors[d]!.moves.length > 0);
  const isLeft = (of: (trace: Followed) => readonly Interval[]): boolean =>
    lastsTooLong(of(sound[0]!), of(seen[0]!), seen[0]!.end);
  const doors = rig.doors.map((door, d) => ({ name: door.name, d }));
  const still = doors.filter(({ d }) => moved(sound, d) && !moved(seen, d));
  const lines = rig.lines.map((line, k) => ({ name: `${line.kind} ${line.name}`, k }));
  const runs = (traces: readonly Followed[], k: number): boolean => traces.some((t) => everRuns(t.lines[k]!));
  const idle = lines.filter(({ k }) => runs(sound, k) && !runs(seen, k));
  const running = lines.filter(({ k }) => isLeft(({ lines, start }) => runsOf(lines[k]!, start)));
  const fault = effects[members[0] ?? -1]?.fault;
  const straight = straightPaths(facts, sound, seen);
  return {
    members,
    first: firstDifference(rig, stimuli, sound, seen),
    contents: contents && contentsWords(rig, contents),
    neverMove: still.map(({ name }) => name),
    leftOpen: doors.filter(({ d }) => isLeft((trace) => openingsOf(trace, d))).map(({ name }) => name),
    neverRun: idle.map(({ name }) => name),
    leftRunning: running.map(({ name }) => name),
    straight: straight.map((path) => pathText(rig, path)),
    broken: fault?.rig && members.length > 0 && effects[members[0]!]!.class !== 0 ? brokenBy(facts, fault.rig) : [],
    noticedBy: noticed(
      rig,
      still.map(({ d }) => d),
      [...idle, ...running].map(({ k }) => k),
      straight,
      contents?.sensors ?? [],
    ),
    apart,
  };
}

/** Whether what is on at the end has been on for longer than it ever is in the sound rig, not only at another moment of its cycle. */
function lastsTooLong(sound: readonly Interval[], seen: readonly Interval[], end: number): boolean {
  const last = seen.at(-1);
  if (last?.to !== null || sound.at(-1)?.to === null) return false;
  return end - last.from > Math.max(0, ...sound.map(lengthOf));
}

const openingsOf = ({ doors, start, end }: Trace, d: number): Interval[] =>
  openStretches(doors[d]!, start, end).map(({ notShut }) => notShut);

/** When a line runs. */
const runsOf = (track: LineTrack, start: number): Interval[] =>
  stretches(track, start).flatMap(({ t, on }, k, all) => (on ? [{ from: t, to: all[k + 1]?.t ?? null }] : []));

/** Null where the members cannot be distinguished by any signal. */
function* apartBy(
  rig: Rig,
  stimuli: readonly Stimulus[],
  members: readonly (readonly Followed[])[],
  budget: WorkBudget,
): Work<TestNode | null> {
  if (members.length < 2) return null;
  const tree = yield* decisionTreeWork(rig, stimuli, members, { at: 'signals' }, budget);
  return tree.kind === 'look' ? tree : null;
}

/** The earliest event of a door or line that one has and the other has not. */
function firstDifference(
  rig: Rig,
  stimuli: readonly Stimulus[],
  sound: readonly Followed[],
  seen: readonly Followed[],
): FirstDifference | null {
  for (const [s, stimulus] of stimuli.entries()) {
    const [due, got] = [eventsOf(rig, sound[s]!), eventsOf(rig, seen[s]!)];
    const has = (list: typeof due, e: (typeof due)[number]): boolean =>
      list.some((o) => o.t === e.t && o.words === e.words);
    const missing = due.filter((e) => !has(got, e)).map(({ t, words }) => ({ t, words: say`"${words}" is missing` }));
    const extra = got.filter((e) => !has(due, e)).map(({ t, words }) => ({ t, words: say`"${words}" is not due` }));
    const [first] = [...missing, ...extra].sort((a, b) => a.t - b.t);
    if (first) return { stimulus: stimulus.label, ...first };
    const stands = rig.doors.findIndex((_, d) => sound[s]!.doors[d]!.initial !== seen[s]!.doors[d]!.initial);
    const words =
      stands >= 0 ? say`${rig.doors[stands]!.name} stands wrong from power-on` : linesWrong(rig, sound[s]!, seen[s]!);
    if (words !== null) return { stimulus: stimulus.label, t: seen[s]!.start, words };
  }
  return null;
}

const eventsOf = (rig: Rig, { doors, lines, start }: Followed): { readonly t: number; readonly words: string }[] => [
  ...rig.doors.flatMap(({ name }, d) =>
    doorEvents(doors[d]!).map(({ t, event }) => ({ t, words: `${name} ${event}` })),
  ),
  ...rig.lines.flatMap(({ kind, name }, k) =>
    stretches(lines[k]!, start)
      .slice(1)
      .map(({ t, on }) => ({ t, words: `${kind} ${name} ${on ? 'starts' : 'stops'}` })),
  ),
];

function linesWrong(rig: Rig, sound: Followed, seen: Followed): string | null {
  const k = rig.lines.findIndex((_, i) => sound.lines[i]!.initial !== seen.lines[i]!.initial);
  const line = rig.lines[k];
  return line
    ? seen.lines[k]!.initial
      ? say`${line.kind} ${line.name} runs from power-on`
      : say`${line.kind} ${line.name} stands still from power-on`
    : null;
}
