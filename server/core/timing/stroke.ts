/** Facts of one stroke: the trigger's edge at time zero, the run that follows with the trigger held, and what it says of each door. */
import { pathsToKeepShut } from '../model/intent';
import type { Rig } from '../model/rig';
import { causesOfMove, chainOf } from './causes';
import type { Engine } from './engine';
import type { DoorFacts, DoorWindow, Interval, PairFacts, StrokeFacts, Trigger } from './facts';
import { closePattern } from './pattern';
import type { Pattern } from './pattern';
import { timerFacts } from './timer-facts';
import type { Trace } from './trace';
import { complement, intersect, intersectAll, longest, openStretches, gapLength } from './windows';
import type { OpenStretch } from './windows';

/** A stroke that was run: its trace, how it goes on, its doors' stretches and which stroke each edge belongs to. */
interface Run {
  readonly rig: Rig;
  readonly trace: Trace;
  readonly pattern: Pattern;
  /** The whole pattern, or where its groups drift apart, that of the group which moves the first door. */
  readonly own: { readonly from: number | null; readonly to: number | null };
  readonly stretches: readonly (readonly OpenStretch[])[];
  readonly starts: Starts;
}

interface Starts {
  readonly net: number;
  readonly value: boolean;
  readonly times: readonly number[];
  /** Number of the stroke of each edge, 1 the first; 0 where its chain passes no start. */
  readonly strokeOf: Int32Array;
}

/**
 * Flips `net` to `becomes` on an engine at rest (already rebased to time zero) and follows the run until it repeats or falls quiet.
 * Gives null where no door moves.
 */
export function runStroke(rig: Rig, engine: Engine, trigger: Trigger, becomes: boolean): StrokeFacts | null {
  engine.setInput(trigger.net, becomes);
  const pattern = closePattern(engine);
  if (engine.moves.length === 0) return null;
  engine.advanceTo(onceMore(pattern, engine.now));
  const trace = engine.trace();
  const own = ownPattern(trace, pattern);
  let pairs: readonly PairFacts[] | null = null;
  const starts = findStarts(trace, own);
  const stretches = trace.doors.map((track) => openStretches(track, trace.start, trace.end));
  const run: Run = { rig, trace, pattern, own, stretches, starts };
  const repeat = repeatOf(run);
  const from = own.from ?? 0;
  const to = own.to ?? Infinity;
  return {
    sensor: rig.sensors.findIndex((s) => s.net === trigger.net),
    trigger,
    becomes,
    trace,
    doors: stretches.map((list, door) => doorFacts(run, door, list)),
    // Their number grows with the square of the doors', so only when asked for.
    get pairs() {
      return (pairs ??= pairFacts(run));
    },
    straightThrough: straightThrough(run),
    strokeEnds: strokeEnds(run),
    repeat,
    pattern:
      pattern.from === null || pattern.to === null
        ? null
        : { from: pattern.from, to: pattern.to, covers: engine.covers },
    starts: starts.times,
    startNet: starts.net,
    startValue: starts.value,
    settlesAfter: repeat === null ? 0 : starts.times.filter((t) => t < from).length,
    intervals:
      pattern.from === null ? pattern.groups.map(({ from, to, doors }) => ({ interval: to - from, doors })) : [],
    strokesPerPeriod: repeat === null ? 0 : Math.max(1, inPeriod(run).length),
    timers: timerFacts(rig, engine.timerEvents, { from, to, settled: settledFrom(pattern) }, trace.initial),
  };
}

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

function ownPattern(trace: Trace, pattern: Pattern): Run['own'] {
  if (pattern.from !== null) return pattern;
  const first = firstDoor(trace);
  return pattern.groups.find((g) => g.doors.includes(first)) ?? { from: null, to: null };
}

/** The change that starts each stroke: the first on the way from the trigger to the first door that comes again and again. */
function findStarts(trace: Trace, pattern: Run['own']): Starts {
  const first = firstMove(trace);
  const chain = first < 0 ? [] : chainOf(trace.edges, first).slice(1);
  const again = (i: number) => {
    const edge = trace.edges[i]!;
    if (pattern.from === null || pattern.to === null) return true;
    return trace.edges.some(
      (e) => e.net === edge.net && e.value === edge.value && e.t > pattern.from! && e.t <= pattern.to!,
    );
  };
  const chosen = trace.edges[chain.find(again) ?? chain[0] ?? 0];
  if (!chosen) return { net: -1, value: true, times: [], strokeOf: new Int32Array(trace.edges.length) };
  const { net, value } = chosen;
  const times: number[] = [];
  const strokeOf = new Int32Array(trace.edges.length);
  let ended = -1;
  trace.edges.forEach((edge, i) => {
    const starts = edge.net === net && edge.value === value;
    if (starts) times.push(edge.t);
    strokeOf[i] = edge.net === net ? times.length : edge.cause < 0 ? 0 : strokeOf[edge.cause]!;
    // A sequence ends a stroke and starts the next at one moment: what its end sets off then is of the next.
    if (starts && ended >= 0 && trace.edges[ended]!.t === edge.t) strokeOf[ended] = times.length;
    if (edge.net === net) ended = i;
  });
  return { net, value, times, strokeOf };
}

/** The door that moves first, -1 where none does. */
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

/** The edge that moves the first door, -1 where none does. */
function firstMove(trace: Trace): number {
  return trace.doors[firstDoor(trace)]?.moves.find((m) => m.cause >= 0)?.cause ?? -1;
}

function inPeriod({ own, starts }: Run): number[] {
  if (own.from === null || own.to === null) return [];
  return starts.times.filter((t) => t >= own.from! && t < own.to!);
}

function repeatOf(run: Run): number | null {
  const { own, trace } = run;
  if (own.from === null || own.to === null) return null;
  const { from, to } = own;
  if (!trace.doors.some((track) => track.moves.some((m) => m.t > from && m.t <= to))) return null;
  const period = to - from;
  const starts = inPeriod(run);
  if (starts.length === 0) return period;
  const intervals = starts.map((t, i) => (starts[i + 1] ?? starts[0]! + period) - t);
  return intervals.every((x) => x === intervals[0]) ? intervals[0]! : period;
}

/** Whether what begins at `t` by `cause` belongs to the first stroke. */
function inFirstStroke({ starts }: Run, t: number, cause: number): boolean {
  const stroke = cause < 0 ? 0 : starts.strokeOf[cause]!;
  if (stroke > 0) return stroke === 1;
  const second = starts.times[1];
  return second === undefined || t < second;
}

function doorFacts(run: Run, door: number, stretches: readonly OpenStretch[]): DoorFacts {
  const { moves } = run.trace.doors[door]!;
  const own = stretches.filter((s) => inFirstStroke(run, s.notShut.from, moves[s.opening]?.cause ?? -1));
  return { door, windows: own.map((s) => doorWindow(run, door, s)) };
}

function doorWindow({ rig, trace }: Run, door: number, s: OpenStretch): DoorWindow {
  const { moves } = trace.doors[door]!;
  const because = (move: number) => (move < 0 ? [] : causesOfMove(rig, trace, door, moves[move]!));
  const byLength = [...s.fullyOpen].sort((a, b) => (b.to ?? Infinity) - b.from - ((a.to ?? Infinity) - a.from));
  const last = s.commanded[s.commanded.length - 1];
  return {
    commanded: last ? { from: s.commanded[0]!.from, to: last.to } : null,
    notShut: s.notShut,
    fullyOpen: byLength[0] ?? null,
    commandedParts: s.commanded,
    fullyOpenParts: s.fullyOpen,
    opensBecause: because(s.opening),
    closesBecause: because(s.closing),
  };
}

/** Drops what begins where the pattern has come round: it is a copy of what stands in the list already. */
function once(run: Run, list: readonly Interval[]): Interval[] {
  const limit = run.pattern.to ?? Infinity;
  return list.filter((x) => x.from < limit);
}

function pairFacts(run: Run): PairFacts[] {
  const { stretches, trace } = run;
  const limit = run.pattern.to ?? Infinity;
  const notShut = stretches.map((list) => list.map((s) => s.notShut));
  const fullyOpen = stretches.map((list) => list.flatMap((s) => s.fullyOpen));
  const pairs: PairFacts[] = [];
  for (let a = 0; a < stretches.length; a++) {
    for (let b = a + 1; b < stretches.length; b++) {
      const bothFullyOpen = intersect(fullyOpen[a]!, fullyOpen[b]!, limit);
      pairs.push({
        doors: [a, b],
        bothNotShut: intersect(notShut[a]!, notShut[b]!, limit),
        bothFullyOpen,
        overlap: longest(bothFullyOpen, trace.end),
        gap: gapLength(notShut[a]!, notShut[b]!),
      });
    }
  }
  return pairs;
}

function straightThrough(run: Run): StrokeFacts['straightThrough'] {
  return pathsToKeepShut(run.rig).map((path) => {
    const lists = path.doors.map((door) => run.stretches[door]!.map((s) => s.notShut));
    return { path, intervals: once(run, intersectAll(lists)) };
  });
}

/** When the last door that the first stroke moved is back where it stood before; null where one never is. */
function strokeEnds(run: Run): number | null {
  const { trace, stretches } = run;
  let ends = -Infinity;
  for (let door = 0; door < stretches.length; door++) {
    const { initial, moves } = trace.doors[door]!;
    const open = stretches[door]!.flatMap((s) => s.fullyOpen);
    const away = initial === 1 ? complement(open, trace.start, trace.end) : stretches[door]!.map((s) => s.notShut);
    for (const x of away) {
      const cause = moves.find((m) => m.t === x.from)?.cause ?? -1;
      if (!inFirstStroke(run, x.from, cause)) continue;
      if (x.to === null || (initial === 1 && x.to === trace.end && !reached(run, door))) return null;
      ends = Math.max(ends, x.to);
    }
  }
  return ends === -Infinity ? null : ends;
}

/** Whether a door stands fully open when the trace ends. */
function reached({ trace }: Run, door: number): boolean {
  const { moves } = trace.doors[door]!;
  const last = moves[moves.length - 1];
  return last === undefined || (last.to === 1 && last.arrives <= trace.end);
}
