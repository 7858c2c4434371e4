/**
 * Runs an engine until its future is known: nothing more happens, or the state of all that matters returns to one already seen.
 *
 * The engine is deterministic, so two equal states (times counted from their instants) have equal futures, and one repeat seen is a repeat
 * without end. States are compared in full: a hash only finds candidates. Because times are whole microseconds and positions whole units, a
 * rig that repeats returns exactly, never nearly. Each independent group is compared on its own (`groups.ts`): two oscillators of 700 and
 * 1100 ms have each a period of its own, while all together return after 7.7 s only, and with odd presets after days.
 *
 * The comparison is made just after an instant at which the group changed. That catches every period: a group that repeats changes once a
 * period at least, and its state just after the same change is the same.
 */
import { finish, type Work } from '../work/work';
import { type Engine, INSTANTS } from './engine';
import type { Group } from './groups';

/** A group whose state at `from` is its state at `to`. */
export interface RepeatingGroup {
  readonly from: number;
  readonly to: number;
  readonly doors: readonly number[];
}

export interface Pattern {
  /**
   * The state of everything that drives doors at `from` is that at `to`. Both null where it fell quiet, ran out of budget, stopped in a
   * loop, or where groups repeat at intervals of their own that do not come together again soon.
   */
  readonly from: number | null;
  readonly to: number | null;
  /** Nothing more happens (doors under way still arrive). */
  readonly quiet: boolean;
  /** The groups that repeat, each with its own interval. */
  readonly groups: readonly RepeatingGroup[];
}

/** Whether no door moves any more: nothing happens, or what goes on (a lamp, a free-running clock) moves none. */
export function doorsAreQuiet(engine: Engine, pattern: Pattern): boolean {
  return !engine.stopped && (pattern.quiet || doorsThatMove(engine, pattern).length === 0);
}

/** Doors that the repeating groups move again and again, ascending. */
export function doorsThatMove(engine: Engine, { groups }: Pattern): number[] {
  const moves = (door: number, from: number): boolean => engine.moves.some((m) => m.door === door && m.t > from);
  return groups.flatMap(({ from, doors }) => doors.filter((door) => moves(door, from))).sort((a, b) => a - b);
}

/** Intervals that come together again within this many of the longest count as one pattern. */
const MOST_ROUNDS = 12;

/**
 * Words of states that are kept for comparison, in one run: a state lists everything under way, and in a rig that oscillates by the
 * microsecond behind a response of a second that is a million changes. Two million words are 16 MB.
 */
const MOST_WORDS = 2_000_000;

const OPEN: Pattern = { from: null, to: null, quiet: false, groups: [] };

/**
 * Steps the engine from `now` on until every independent group has fallen quiet or repeats. States are compared exactly, with all times
 * relative to the instant: equal states have equal futures. Afterwards `engine.now` is the instant of closing, or the arrival of the
 * last door when quiet. States are compared only after `patience` further edges: cheaper where falling quiet is likely, but the period
 * found may begin late. The engine must keep a record.
 */
export const closePattern = (engine: Engine, patience = 0): Pattern => finish(patternWork(engine, patience));

/** The same in steps. */
export function* patternWork(engine: Engine, patience = 0): Work<Pattern> {
  const words = { left: MOST_WORDS };
  const compareFrom = engine.edgeCount + patience;
  let watch: Watch | null = null;
  for (let count = 1; engine.nextTime() < Infinity; count++) {
    if (count % INSTANTS === 0) yield;
    const row = engine.edgeCount;
    engine.step();
    if (engine.edgeCount < compareFrom || engine.awaitsOperation) continue;
    if (watch === null) watch = new Watch(engine, words);
    else watch.look(row);
    if (words.left < 0) engine.giveUp();
    // Decided, and something goes on: close the pattern. With nothing to come the loop ends, and the rig is quiet.
    if (watch.decided && engine.nextTime() < Infinity) return yield* watch.close();
  }
  if (engine.stopped) return OPEN;
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive()));
  return { from: null, to: null, quiet: true, groups: [] };
}

/**
 * Follows every group until it is quiet or repeats. A group once decided stays so, as nothing reaches it from outside while inputs and
 * power stand still; `undecided` counts the others, so that looking at one instant costs only the groups that changed in it.
 */
class Watch {
  private readonly engine: Engine;
  private readonly groups: readonly Group[];
  private readonly groupOf: Int32Array;
  private readonly seen: SeenStates[];
  private readonly repeats: (RepeatingGroup | null)[];
  private readonly quiet: Uint8Array;
  private undecided: number;
  /** When the last group fell quiet: before it, that group's nets are not yet what they stay. */
  private quietSince = -Infinity;
  private readonly words: { left: number };
  /** Groups that changed at this instant and at the one before. */
  private changed = new Set<number>();
  private changedBefore = new Set<number>();

  constructor(engine: Engine, words: { left: number }) {
    this.engine = engine;
    this.words = words;
    ({ groups: this.groups, groupOf: this.groupOf } = engine.grouping);
    this.seen = this.groups.map(() => new SeenStates());
    this.repeats = this.groups.map(() => null);
    this.quiet = new Uint8Array(this.groups.length);
    this.undecided = this.groups.length;
    this.groups.forEach((_, group) => this.changed.add(group));
    this.changed.forEach((group) => this.judge(group));
  }

  get decided(): boolean {
    return this.undecided === 0;
  }

  /** Looks at the groups that changed in the instant just run, whose edges begin at `row`. */
  look(row: number): void {
    const { engine } = this;
    [this.changed, this.changedBefore] = [this.changedBefore, this.changed];
    this.changed.clear();
    for (let i = row; i < engine.edgeCount; i++) {
      const group = this.groupOf[engine.edgeNet(i)]!;
      if (group >= 0) this.changed.add(group);
    }
    this.changed.forEach((group) => this.judge(group));
    // A scan that changes nothing may be the one after which a group is quiet.
    if (engine.scanned) this.changedBefore.forEach((group) => !this.changed.has(group) && this.judge(group));
  }

  /** Decides one group, if it can be decided: quiet, or in a state that it has been in before. */
  private judge(number: number): void {
    if (this.quiet[number] === 1 || this.repeats[number] !== null) return;
    const { engine } = this;
    const group = this.groups[number]!;
    // With nothing pending no event can come. A scan that changed something may change more in the next one with nothing pending at all.
    const goesOn = engine.groupPending(group) || (engine.scanned && this.changed.has(number));
    if (!goesOn) {
      this.quiet[number] = 1;
      this.quietSince = engine.now;
      this.undecided--;
      return;
    }
    if (!this.changed.has(number)) return;
    const words = engine.groupWords(group);
    this.words.left -= words.length;
    const from = this.seen[number]!.meet(words, engine.now);
    if (from === null) return;
    this.repeats[number] = { from, to: engine.now, doors: group.doors };
    this.undecided--;
  }

  /** The pattern of all groups together; the engine goes on to where it closes. */
  *close(): Work<Pattern> {
    const { engine } = this;
    const groups = this.repeats.filter((r): r is RepeatingGroup => r !== null);
    if (groups.length === 0) return this.lampsOnly();
    const periods = groups.map((g) => g.to - g.from);
    const together = meetingOf(periods, MOST_ROUNDS * Math.max(...periods));
    // Each group is periodic from its own `from` on, so all are from the latest of them, with the least common multiple as the period.
    if (together === null) return { ...OPEN, groups };
    const from = groups.length === 1 ? groups[0]!.from : Math.max(...groups.map((g) => g.from));
    const still = this.quiet.some((q) => q === 1) ? this.lastArrival() : -Infinity;
    // From here the periodic groups are in their period, quiet signals have their last value and quiet doors are where they stay.
    const start = Math.max(from, still, this.quietSince);
    yield* engine.advancing(start + together);
    return { from: start, to: start + together, quiet: false, groups };
  }

  /** All that drives doors is quiet; only lamps go on. */
  private lampsOnly(): Pattern {
    const { engine } = this;
    const from = Math.max(engine.now, engine.doorsArrive());
    engine.advanceTo(from);
    if (engine.nextTime() === Infinity) return { ...OPEN, quiet: engine.stopped === null };
    // Nothing that drives a door goes on, so any stretch of time is a period of it; one up to the next event of the lamps will do.
    const to = Math.max(from + 1, engine.nextTime());
    engine.advanceTo(to);
    return { from, to, quiet: false, groups: [] };
  }

  /** When the doors of quiet groups are there: until then their state is not yet the one that stays. */
  private lastArrival(): number {
    const doors = this.groups.flatMap((g, i) => (this.quiet[i] === 1 ? g.doors : []));
    return Math.max(-Infinity, ...doors.map((door) => this.engine.doorArrives(door)));
  }
}

/** The least common multiple of some intervals, null where it is more than `most`. */
function meetingOf(intervals: readonly number[], most: number): number | null {
  let multiple = 1;
  for (const interval of intervals) {
    let a = multiple;
    let b = interval;
    while (b !== 0) [a, b] = [b, a % b];
    multiple = (multiple / a) * interval;
    if (multiple > most) return null;
  }
  return multiple;
}

/**
 * After a pattern of what drives doors has closed: runs on, `patience` edges at most, until the whole rig is quiet or its state returns,
 * so that lamps and start-up pulses have settled as well.
 */
export function* settleWhole(engine: Engine, patience: number): Work<void> {
  const until = engine.edgeCount + patience;
  const seen = new SeenStates();
  for (let left = MOST_WORDS; left > 0 && engine.nextTime() < Infinity && engine.edgeCount < until;) {
    engine.step();
    yield;
    const words = engine.wholeStateWords();
    left -= words.length;
    if (seen.meet(words, engine.now) !== null) return;
  }
}

/** A state of one group, and when it was met first. */
interface Seen {
  readonly words: readonly number[];
  t: number;
}

/**
 * States by a hash of their words; equal only if every word is. A hash alone would do almost always, and once in a great while declare a
 * period that is none: then everything read from the pattern would be wrong, with nothing to show it.
 */
class SeenStates {
  private readonly byHash = new Map<number, Seen[]>();

  /** When this state was seen before, at an earlier time; else null, and it is seen now. */
  meet(words: readonly number[], t: number): number | null {
    const hash = hashOf(words);
    const bucket = this.byHash.get(hash);
    const same = bucket?.find((seen) => equal(seen.words, words));
    // Twice at one instant comes of an operation at that instant: no time has passed, so no period.
    if (same) return same.t < t ? same.t : null;
    if (bucket) bucket.push({ words, t });
    else this.byHash.set(hash, [{ words, t }]);
    return null;
  }
}

// FNV-1a over the low 32 bits of each word (Fowler, Noll, Vo), with what lies above them mixed in: times reach far beyond 2^32.
function hashOf(words: readonly number[]): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < words.length; i++) {
    const word = words[i]!;
    hash = Math.imul(hash ^ word, 0x01000193) ^ Math.trunc(word / 4294967296);
  }
  return hash;
}

function equal(a: readonly number[], b: readonly number[]): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}
