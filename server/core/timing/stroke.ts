/**
 * Facts of one stroke: the trigger's edge at time zero, the run that follows with the trigger held, and what it shows about each door.
 *
 * The run is followed until its pattern closes and then one period further (`onceMore`): what begins in the first period may end in the
 * second, and an opening cut off by the end of the trace would read as one without end. Everything that begins at `pattern.to` or later is
 * a copy of something earlier, and lists of facts leave it out (`once`, `openingsOf`).
 *
 * Which door movement belongs to which stroke is a matter of time where strokes are apart, and of causes where the next begins before the
 * last has ended (`Source`): a slow door of stroke one may open after the fast door of stroke two.
 */
import { pathsToKeepShut } from '../model/intent';
import type { Rig } from '../model/rig';
import { causesOfMove, chainOf } from './causes';
import { pathOpen } from './course';
import type { Engine } from './engine';
import type { CauseLink, DoorWindow, Interval, PairFacts, StrokeFacts, TimerFacts, Trigger } from './facts';
import { patternWork } from './pattern';
import type { Pattern } from './pattern';
import type { AtRest } from './rest';
import { awayFromHome, findStrokes } from './strokes';
import type { Strokes } from './strokes';
import { timerFacts } from './timer-facts';
import { shiftedTrace } from './trace';
import type { Trace } from './trace';
import { openStretches, pairsOf } from './windows';
import type { OpenStretch } from './windows';
import type { Work } from '../work/work';

/** A run from its trigger: its trace, how it goes on, its doors' stretches and its strokes. */
interface Run {
  readonly rig: Rig;
  readonly trace: Trace;
  readonly pattern: Pattern;
  /** The whole pattern, or where its groups drift apart, that of the group which moves the first door. */
  readonly own: { readonly from: number | null; readonly to: number | null };
  readonly stretches: readonly (readonly OpenStretch[])[];
  readonly away: readonly (readonly Interval[])[];
  readonly strokes: Strokes;
  readonly source: Source;
}

/** The net change that lets the lead door leave home, and which of its comings each edge follows from. */
interface Source {
  readonly net: number;
  readonly value: boolean;
  /** Number of the change that an edge follows from, 1 the first; 0 where its chain passes none. */
  readonly strokeOf: Int32Array;
}

/**
 * Flips `net` to `becomes` on an engine at rest (already rebased to time zero) and follows the run until it repeats or falls quiet.
 * Gives null where no door moves. In steps.
 */
export function* runStroke(rig: Rig, engine: Engine, trigger: Trigger, becomes: boolean): Work<StrokeFacts | null> {
  engine.setInput(trigger.net, becomes);
  const pattern = yield* patternWork(engine);
  // A loop that never settles may stop the run before any door moves: such a rig is not quiet.
  if (engine.moves.length === 0 && engine.stopped?.reason !== 'loop') return null;
  yield* engine.advancing(onceMore(pattern, engine.now));
  const trace = engine.trace();
  const timers = timersOf(rig, engine, trace, pattern);
  return strokeFacts(rig, { trigger, becomes, trace, pattern, covers: engine.covers, timers });
}

/** The strokes of a rig that runs by itself from power-on: counted from its first opening. */
export function* runFree(rig: Rig, { engine, pattern }: AtRest): Work<StrokeFacts> {
  yield* engine.advancing(onceMore(pattern, engine.now));
  const whole = engine.trace();
  const opens = whole.doors.flatMap((track) => track.moves.filter((m) => m.to === 1).map((m) => m.t));
  // A run from power-on has no trigger; its first opening stands in, so that the times of doors read as in any other stroke.
  const zero = Math.min(...opens, whole.end);
  const timers = timersOf(rig, engine, whole, pattern);
  const trigger: Trigger = { kind: 'power', net: -1, name: '' };
  const trace = shiftedTrace(whole, -zero);
  const shifted = shiftedPattern(pattern, -zero);
  return strokeFacts(rig, { trigger, becomes: true, trace, pattern: shifted, covers: engine.covers, timers });
}

/** Facts of the timers in the engine's record as it stands, computed when first asked for: strokes times timers are many. */
function timersOf(rig: Rig, engine: Engine, trace: Trace, pattern: Pattern): () => readonly TimerFacts[] {
  const record = engine.timerEvents.copy();
  const span = { ...spanOf(ownPattern(trace, pattern)), settled: settledFrom(pattern) };
  let facts: readonly TimerFacts[] | null = null;
  return () => (facts ??= timerFacts(rig, record, span, trace.initial));
}

function shiftedPattern(pattern: Pattern, by: number): Pattern {
  const moved = (t: number | null) => (t === null ? null : t + by);
  const groups = pattern.groups.map((g) => ({ ...g, from: g.from + by, to: g.to + by }));
  return { ...pattern, from: moved(pattern.from), to: moved(pattern.to), groups };
}

/** What is known of a run before its doors are looked at. */
interface Followed {
  readonly trigger: Trigger;
  readonly becomes: boolean;
  readonly trace: Trace;
  readonly pattern: Pattern;
  readonly covers: readonly number[] | null;
  readonly timers: () => readonly TimerFacts[];
}

function strokeFacts(rig: Rig, followed: Followed): StrokeFacts {
  const { trigger, becomes, trace, pattern, covers, timers } = followed;
  const run = readRun(rig, trace, pattern);
  const { starts, lead } = run.strokes;
  let pairs: readonly PairFacts[] | null = null;
  const repeat = repeatOf(run);
  const isEndless = run.own.from !== null;
  return {
    sensor: rig.sensors.findIndex((s) => s.net === trigger.net),
    trigger,
    becomes,
    trace,
    doors: openingsOf(run).map((list, door) => ({ door, windows: list.map((s) => doorWindow(run, door, s)) })),
    // Their number grows with the square of the doors', so only when asked for.
    get pairs() {
      return (pairs ??= pairFacts(run));
    },
    straightThrough: straightThrough(run),
    strokeEnds: strokeEnds(run),
    repeat,
    strokeCount: repeat !== null && isEndless ? null : starts.length,
    pattern: pattern.from === null || pattern.to === null ? null : { from: pattern.from, to: pattern.to, covers },
    starts,
    lead,
    startNet: run.source.net,
    startValue: run.source.value,
    settlesAfter: repeat === null || !isEndless ? 0 : starts.filter((t) => t < run.own.from!).length,
    intervals:
      pattern.from === null ? pattern.groups.map(({ from, to, doors }) => ({ interval: to - from, doors })) : [],
    strokesPerPeriod: repeat === null || !isEndless ? 0 : Math.max(1, inPeriod(run).length),
    get timers() {
      return timers();
    },
  };
}

/** Stretches, strokes and source of a run: what all its facts are read from. */
function readRun(rig: Rig, trace: Trace, pattern: Pattern): Run {
  const own = ownPattern(trace, pattern);
  const stretches = trace.doors.map((track) => openStretches(track, trace.start, trace.end));
  const away = awayFromHome(trace, stretches);
  const strokes = findStrokes(trace, away, ownDoors(rig, trace, pattern), own);
  return { rig, trace, pattern, own, stretches, away, strokes, source: findSource(trace, own, strokes) };
}

const spanOf = ({ from, to }: Run['own']): { from: number; to: number } => ({ from: from ?? 0, to: to ?? Infinity });

/** What has not changed since before this time stays as it is. */
function settledFrom({ from, quiet, groups }: Pattern): number {
  if (quiet) return Infinity;
  return from ?? Math.min(Infinity, ...groups.map((g) => g.from));
}

/** The end of the pattern's second round, so that every window begun in the first is seen to end. */
function onceMore({ from, to, groups }: Pattern, now: number): number {
  if (from !== null && to !== null) return 2 * to - from;
  return Math.max(now, ...groups.map((g) => 2 * g.to - g.from));
}

/** The pattern by which the strokes repeat: of the whole rig, else of the group that moves first. */
function ownPattern(trace: Trace, pattern: Pattern): Run['own'] {
  if (pattern.from !== null) return pattern;
  const first = firstDoor(trace);
  return pattern.groups.find((g) => g.doors.includes(first)) ?? { from: null, to: null };
}

/** Doors whose movements make the strokes: of groups that repeat at intervals of their own, those of the one that moves first. */
function ownDoors(rig: Rig, trace: Trace, { groups }: Pattern): readonly number[] {
  const intervals = new Set(groups.filter((g) => g.doors.length > 0).map((g) => g.to - g.from));
  const first = firstDoor(trace);
  const group = intervals.size > 1 ? groups.find((g) => g.doors.includes(first)) : undefined;
  return group?.doors ?? rig.doors.map((_, door) => door);
}

/** The door that moves first because of a change, -1 where none does. */
function firstDoor(trace: Trace): number {
  let first = -1;
  let earliest = Infinity;
  trace.doors.forEach((track, door) => {
    const move = track.moves.find((m) => m.cause >= 0);
    if (!move || move.t >= earliest) return;
    first = door;
    earliest = move.t;
  });
  return first;
}

/** The change that starts each stroke: the first on the way from the trigger to the lead's departure that comes again and again. */
function findSource(trace: Trace, own: Run['own'], { lead, starts }: Strokes): Source {
  const { edges } = trace;
  const cause = trace.doors[lead]?.moves.find((m) => m.t === starts[0])?.cause ?? -1;
  const chain = cause < 0 ? [] : chainOf(edges, cause).slice(1);
  // A cause that comes once (the trigger itself, a latch that it sets) starts the run but not each stroke of it.
  const again = (i: number) => {
    const { net, value } = edges[i]!;
    if (own.from === null || own.to === null) return true;
    return edges.some((e) => e.net === net && e.value === value && e.t > own.from! && e.t <= own.to!);
  };
  const strokeOf = new Int32Array(edges.length);
  const chosen = edges[chain.find(again) ?? chain[0] ?? 0];
  if (!chosen) return { net: -1, value: true, strokeOf };
  const { net, value } = chosen;
  let count = 0;
  // Walks the record once. Each edge takes over the number of the edge that caused it, so a late consequence of stroke one stays with
  // stroke one; the end of the source (its change back) counts to the stroke that it ends.
  let ended = -1;
  edges.forEach((edge, i) => {
    const begins = edge.net === net && edge.value === value;
    if (begins) count++;
    strokeOf[i] = edge.net === net ? count : edge.cause < 0 ? 0 : strokeOf[edge.cause]!;
    // A sequence ends a stroke and starts the next at one moment: what its end sets off then is of the next.
    if (begins && ended >= 0 && edges[ended]!.t === edge.t) strokeOf[ended] = count;
    if (edge.net === net) ended = i;
  });
  return { net, value, strokeOf };
}

function inPeriod({ own, strokes }: Run): number[] {
  if (own.from === null || own.to === null) return [];
  return strokes.starts.filter((t) => t >= own.from! && t < own.to!);
}

/** The interval between strokes; that of the whole pattern where it is not always the same, null where there is no second stroke. */
function repeatOf(run: Run): number | null {
  const { own, strokes } = run;
  const { starts } = strokes;
  if (own.from === null || own.to === null) {
    // A run that ends has as many strokes as it has: one interval is stated only if it is always the same.
    const apart = new Set(starts.slice(1).map((t, i) => t - starts[i]!));
    return apart.size === 1 ? [...apart][0]! : null;
  }
  if (strokes.lead < 0) return null;
  const period = own.to - own.from;
  const inside = inPeriod(run);
  if (inside.length === 0) return period;
  // Cyclic: the last stroke of a period is followed by the first of the next.
  const intervals = inside.map((t, i) => (inside[i + 1] ?? inside[0]! + period) - t);
  return intervals.every((x) => x === intervals[0]) ? intervals[0]! : period;
}

/** Whether what a door begins at `t` by `cause` belongs to the first stroke. Where strokes overlap, its causes tell. */
function inFirstStroke({ strokes, source }: Run, t: number, cause: number): boolean {
  const stroke = strokes.overlapping && cause >= 0 ? source.strokeOf[cause]! : 0;
  if (stroke > 0) return stroke === 1;
  const second = strokes.starts[1];
  return second === undefined || t < second;
}

/** Openings of each door: those of the first stroke, and those of every later one that differs from all before it. */
function openingsOf(run: Run): (readonly OpenStretch[])[] {
  const { trace, stretches, strokes } = run;
  const causeOf = (door: number, s: OpenStretch) => trace.doors[door]!.moves[s.opening]?.cause ?? -1;
  // Where strokes overlap their movements cannot be parted by time, so they cannot be compared one by one.
  const later = strokes.overlapping ? [] : unlikeStrokes(run);
  return stretches.map((list, door) => {
    const own = list.filter(
      (s) =>
        inFirstStroke(run, s.notShut.from, causeOf(door, s)) ||
        later.some((x) => s.notShut.from >= x.from && s.notShut.from < x.to),
    );
    // A door that opens only in later strokes that are all alike still has an opening to show.
    return own.length > 0 ? own : list.slice(0, 1);
  });
}

/** Strokes after the first, up to where the run repeats, that are not like one before. */
function unlikeStrokes({ trace, strokes, own }: Run): { readonly from: number; readonly to: number }[] {
  const { starts } = strokes;
  const limit = own.to ?? Infinity;
  const seen = new Set<string>();
  return starts.flatMap((from, k) => {
    if (from >= limit) return [];
    const to = starts[k + 1] ?? Infinity;
    const moves = trace.doors.map((track) =>
      track.moves.filter((m) => m.t >= from && m.t < to).map((m) => `${m.t - from}>${m.to}`),
    );
    // Two strokes are alike if every door turns the same way at the same times from their beginnings.
    const form = moves.join(';');
    if (seen.has(form)) return [];
    seen.add(form);
    return k === 0 ? [] : [{ from, to }];
  });
}

function doorWindow({ rig, trace }: Run, door: number, s: OpenStretch): DoorWindow {
  const { moves } = trace.doors[door]!;
  const because = (move: number) => (move < 0 ? [] : causesOfMove(rig, trace, door, moves[move]!));
  // Chains grow with the number of doors that set each other off, so they are followed only when asked for.
  let opens: readonly CauseLink[] | null = null;
  let closes: readonly CauseLink[] | null = null;
  const first = s.commanded[0];
  // Of an opening without end the parts go on as the run does: its first command is what it is known by.
  const last = s.notShut.to === null ? first : s.commanded[s.commanded.length - 1];
  return {
    commanded: first && last ? { from: first.from, to: last.to } : null,
    notShut: s.notShut,
    openBefore: s.openBefore,
    fullyOpen: s.fullyOpen[0] ?? null,
    commandedParts: s.commanded,
    fullyOpenParts: s.fullyOpen,
    get opensBecause() {
      return (opens ??= because(s.opening));
    },
    get closesBecause() {
      return (closes ??= because(s.closing));
    },
  };
}

/** Drops what begins where the pattern has come round: it is a copy of what stands in the list already. */
function once(run: Run, list: readonly Interval[]): Interval[] {
  const limit = run.pattern.to ?? Infinity;
  return list.filter((x) => x.from < limit);
}

function pairFacts(run: Run): PairFacts[] {
  return pairsOf(run.stretches, { end: endOf(run), limit: run.pattern.to ?? Infinity });
}

/** What stands open when the trace ends stays open permanently, unless the run is cut there. */
function endOf({ trace, pattern }: Run): number {
  return trace.stopped === null && (pattern.quiet || pattern.from !== null) ? Infinity : trace.end;
}

function straightThrough(run: Run): StrokeFacts['straightThrough'] {
  return pathsToKeepShut(run.rig).map((path) => ({ path, intervals: once(run, pathOpen(run.rig, run.trace, path)) }));
}

/** When the last door that the first stroke moved is back home; null where one never is. */
function strokeEnds(run: Run): number | null {
  const { trace, away } = run;
  let ends = -Infinity;
  for (let door = 0; door < away.length; door++) {
    const { moves } = trace.doors[door]!;
    for (const x of away[door]!) {
      const cause = moves.find((m) => m.t === x.from)?.cause ?? -1;
      if (!inFirstStroke(run, x.from, cause)) continue;
      if (x.to === null) return null;
      ends = Math.max(ends, x.to);
    }
  }
  return ends === -Infinity ? null : ends;
}
