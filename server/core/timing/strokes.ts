/**
 * Strokes as the doors make them. A stroke begins when its first door, the lead, leaves home (where it stood before the trigger) while
 * every other door is home, and ends when all are back. Where the doors are never all home between two strokes, each departure of the
 * lead counts. A lead that departs several times within one stroke does not begin another one: stretches between its departures are
 * strokes only if the same doors leave home in each of them, in the same order.
 *
 * Why doors and not signals: a start signal may come again while the doors still move, or be one pulse for three strokes; a door that leaves
 * home is what a person at the rig would count. Why the last rule: a lead that gives a double knock would otherwise turn one stroke of
 * five doors into one of a single door and one of five.
 */
import type { Interval } from './facts';
import type { Trace } from './trace';
import { complement } from './windows';
import type { OpenStretch } from './windows';

export interface Strokes {
  /** The door that leaves home first, -1 where none moves. */
  readonly lead: number;
  /** When each stroke of the run begins. */
  readonly starts: readonly number[];
  /** Whether a stroke begins before the one before it has ended. */
  readonly overlapping: boolean;
}

/** Times at which each door is away from where it stood at the start of the trace. */
export function awayFromHome(trace: Trace, stretches: readonly (readonly OpenStretch[])[]): Interval[][] {
  return stretches.map((list, door) => {
    const { initial, moves } = trace.doors[door]!;
    if (initial < 1) return list.map((s) => s.notShut);
    // A door that stands open at home is away whenever it is not fully open. One that touches fully open for no time is not back.
    const away = complement(
      list.flatMap((s) => s.fullyOpen.filter((x) => x.to === null || x.to > x.from)),
      trace.start,
      trace.end,
    );
    const last = moves[moves.length - 1];
    const isBack = last === undefined || (last.to === 1 && last.arrives <= trace.end);
    return away.map((x) => (x.to === trace.end && !isBack ? { from: x.from, to: null } : x));
  });
}

/** A run that repeats from `from` to `to`, or one that falls quiet (both null). */
export interface Period {
  readonly from: number | null;
  readonly to: number | null;
}

/** The strokes of a run of which only `doors` count; `away` holds their times away from home. */
export function findStrokes(
  trace: Trace,
  away: readonly (readonly Interval[])[],
  doors: readonly number[],
  period: Period,
): Strokes {
  const movers = doors.filter((door) => movesIn(trace, door, period));
  const lead = firstOf(away, movers);
  if (lead < 0) return { lead, starts: [], overlapping: false };
  const departures = departuresOf(trace, away[lead]!, lead, period);
  const others = movers.filter((door) => door !== lead).map((door) => away[door]!);
  // Ends excluded: a stroke may begin at the very moment the one before it ends.
  const idle = departures.filter((t) => others.every((list) => !covers(list, t)) && !covers(away[lead]!, t));
  const inPeriod = (list: readonly number[]): number[] =>
    period.from === null || period.to === null ? [] : list.filter((t) => t >= period.from! && t < period.to!);
  // Only where no departure in a whole period finds the others at home; one that does is the beginning, and the rest are knocks.
  const overlapping = period.from !== null && inPeriod(idle).length === 0;
  const begun = overlapping ? departures : idle;
  return { lead, starts: wholeStrokes(away, movers, begun, period), overlapping };
}

/** Whether a door moves in the period: one that moves once, as power comes, makes no stroke. */
function movesIn({ doors }: Trace, door: number, { from, to }: Period): boolean {
  const { moves } = doors[door]!;
  return from === null || to === null ? moves.length > 0 : moves.some((m) => m.t > from && m.t <= to);
}

function firstOf(away: readonly (readonly Interval[])[], movers: readonly number[]): number {
  let lead = -1;
  let earliest = Infinity;
  for (const door of movers) {
    const t = away[door]![0]?.from ?? Infinity;
    if (t < earliest) [lead, earliest] = [door, t];
  }
  return lead;
}

/** Departures of a door from home; of one that never comes home while the rig repeats, the moments at which it turns away again. */
function departuresOf(trace: Trace, away: readonly Interval[], door: number, { from, to }: Period): number[] {
  const leaves = away.map((x) => x.from);
  if (from === null || to === null || leaves.some((t) => t > from && t <= to)) return leaves;
  const { initial, moves } = trace.doors[door]!;
  const outwards = initial < 1 ? 1 : 0;
  return moves.filter((m) => m.to === outwards).map((m) => m.t);
}

/** Whether `t` lies inside an interval of the list, its ends left out. */
function covers(list: readonly Interval[], t: number): boolean {
  return list.some((x) => x.from < t && (x.to === null || x.to > t));
}

/** Of the moments at which a stroke may begin, those at which one does. */
function wholeStrokes(
  away: readonly (readonly Interval[])[],
  movers: readonly number[],
  begun: readonly number[],
  { from, to }: Period,
): number[] {
  const first = begun[0]!;
  const repeats = from !== null && to !== null;
  const judged = repeats ? begun.filter((t) => t >= from && t < to) : begun;
  // Judged over one period, read cyclically: what is alike there is alike without end.
  const until = (i: number): number => judged[i + 1] ?? (repeats ? judged[0]! + to - from : Infinity);
  const forms = judged.map((t, i) => formOf(away, movers, t, until(i)));
  if (forms.every((form) => form === forms[0])) return [...begun];
  if (!repeats) return [first];
  // One stroke a period, counted from the first of all where that comes again.
  const interval = to - from;
  // A run may need a few strokes to fall into its period: then counting starts inside it, and the very first stroke stands by itself.
  const again = begun.includes(first + interval) ? first : judged[0]!;
  return begun.filter((t) => t === first || (t >= again && (t - again) % interval === 0));
}

/** Which doors leave home from `from` to before `to`, in order. */
function formOf(away: readonly (readonly Interval[])[], movers: readonly number[], from: number, to: number): string {
  const left = movers.flatMap((door) =>
    away[door]!.filter((x) => x.from >= from && x.from < to).map((x) => ({ door, t: x.from })),
  );
  return left
    .sort((a, b) => a.t - b.t || a.door - b.door)
    .map((x) => x.door)
    .join();
}
