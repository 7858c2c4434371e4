/**
 * Windows of doors from their tracks, and what they give between doors: overlaps, gaps, whole paths standing open. Intervals are
 * half-open `[from, to)`, ascending and apart; `to` is null where an interval does not end within what was run.
 *
 * Invariants of a stretch: commanded and fully open parts lie inside `notShut`; they alternate with the door's turnings, so both lists have
 * at most one entry per command; only the last of each may have no end, and only if the stretch has none.
 */
import type { Interval, PairFacts } from './facts';
import type { DoorTrack } from './trace';

/** One stretch of a door not being shut, with the moves (indices into its track, -1 where none) that begin and end it. */
export interface OpenStretch {
  readonly notShut: Interval;
  /** The door was off its seat already as the run begins: `notShut` begins with the run, not with a move. */
  readonly openBefore: boolean;
  /** Drive on … off; several where the door turned round on its way. */
  readonly commanded: readonly Interval[];
  /** May hold one of no length, where it turned round just as it arrived. */
  readonly fullyOpen: readonly Interval[];
  readonly opening: number;
  readonly closing: number;
}

/** A stretch being built; `commandedSince` and `fullSince` are null while the door is not driven open, or not fully open. */
interface Growing {
  from: number;
  commanded: Interval[];
  fullyOpen: Interval[];
  opening: number;
  commandedSince: number | null;
  fullSince: number | null;
}

function begin(from: number, opening: number): Growing {
  return { from, commanded: [], fullyOpen: [], opening, commandedSince: null, fullSince: null };
}

function stretch(g: Growing, to: number | null, closing: number): OpenStretch {
  const open = (since: number | null) => (since === null ? [] : [{ from: since, to: null }]);
  return {
    notShut: { from: g.from, to },
    openBefore: g.opening === -1,
    commanded: [...g.commanded, ...open(g.commandedSince)],
    fullyOpen: [...g.fullyOpen, ...open(g.fullSince)],
    opening: g.opening,
    closing,
  };
}

/** Stretches of a door not being shut, between `start` and `end` of the run. */
export function openStretches(track: DoorTrack, start: number, end: number): OpenStretch[] {
  const found: OpenStretch[] = [];
  let now: Growing | null = null;
  if (track.initial > 0) {
    now = begin(start, -1);
    // A door off its seat at the start is commanded unless it begins the run by closing.
    if (track.moves[0]?.t !== start || track.moves[0].to === 1) now.commandedSince = start;
    if (track.initial === 1) now.fullSince = start;
  }
  track.moves.forEach((move, i) => {
    const until = track.moves[i + 1]?.t ?? Infinity;
    // A move that the next one turns round never arrives; one beyond the end of the run is not known to.
    const arrived = move.arrives <= until && move.arrives <= end;
    if (move.to === 1) {
      now ??= begin(move.t, i);
      now.commandedSince ??= move.t;
      if (arrived) now.fullSince ??= move.arrives;
      return;
    }
    if (!now) return;
    if (now.commandedSince !== null) now.commanded.push({ from: now.commandedSince, to: move.t });
    if (now.fullSince !== null) now.fullyOpen.push({ from: now.fullSince, to: move.t });
    now.commandedSince = now.fullSince = null;
    if (!arrived) return;
    found.push(stretch(now, move.arrives, i));
    now = null;
  });
  if (now) found.push(stretch(now, null, -1));
  return found;
}

const ending = (interval: Interval): number => interval.to ?? Infinity;
const interval = (from: number, to: number): Interval => ({ from, to: to === Infinity ? null : to });

/** Times that lie in an interval of every list; of no list: none. */
export function intersectAll(lists: readonly (readonly Interval[])[]): Interval[] {
  const [first, ...rest] = lists;
  return [...rest.reduce<readonly Interval[]>((all, list) => intersect(all, list), first ?? NONE)];
}

const NONE: readonly Interval[] = [];

/** Times that lie in an interval of both lists, as far as they begin before `limit`. */
export function intersect(a: readonly Interval[], b: readonly Interval[], limit = Infinity): readonly Interval[] {
  let found: Interval[] | null = null;
  for (let i = 0, j = 0; i < a.length && j < b.length;) {
    const x = a[i]!;
    const y = b[j]!;
    const from = Math.max(x.from, y.from);
    if (from >= limit) break;
    const to = Math.min(ending(x), ending(y));
    if (from < to) (found ??= []).push(interval(from, to));
    // The one that ends first can meet nothing further of the other list.
    if (ending(x) < ending(y)) i++;
    else j++;
  }
  return found ?? NONE;
}

/** Times between `from` and `to` that lie in no interval of the list. */
export function complement(list: readonly Interval[], from: number, to: number): Interval[] {
  const found: Interval[] = [];
  let at = from;
  for (const piece of list) {
    if (piece.from > at) found.push({ from: at, to: piece.from });
    at = Math.max(at, ending(piece));
  }
  if (at < to) found.push(interval(at, to));
  return found;
}

/** Longest of the intervals, `null` of none; an interval without end counts up to `end`. */
export function longest(list: readonly Interval[], end: number): number | null {
  if (list.length === 0) return null;
  return Math.max(...list.map((x) => (x.to ?? end) - x.from));
}

/** Length of the shortest interval, one without end lasting until `end`; null where there is none. */
function shortest(list: readonly Interval[], end: number): number | null {
  if (list.length === 0) return null;
  return Math.min(...list.map((x) => (x.to ?? end) - x.from));
}

/**
 * What each two doors do together, in order of declaration. `stretches`: the openings of each door, in order of time; `end`: when a
 * time without end is taken to end; meetings that begin at `limit` or later are left out.
 */
export function pairsOf(
  stretches: readonly (readonly OpenStretch[])[],
  { end, limit = Infinity }: { readonly end: number; readonly limit?: number },
): PairFacts[] {
  const notShut = stretches.map((list) => list.map((s) => s.notShut));
  const full = stretches.map((list) => list.flatMap((s) => s.fullyOpen));
  return stretches.flatMap((_, a) =>
    stretches.slice(a + 1).map((_, k): PairFacts => {
      const b = a + 1 + k;
      const bothFullyOpen = intersect(full[a]!, full[b]!, limit);
      return {
        doors: [a, b],
        bothNotShut: intersect(notShut[a]!, notShut[b]!, limit),
        bothFullyOpen,
        overlap: longest(bothFullyOpen, end),
        leastOverlap: shortest(bothFullyOpen, end),
        gap: gapLength(notShut[a]!, notShut[b]!),
      };
    }),
  );
}

/**
 * Shortest stretch between one door being shut and the other leaving shut, whichever goes first, the earlier of equals; `null` where
 * their windows meet in time, or where none of the one follows or precedes one of the other.
 */
export function shortestGap(a: readonly Interval[], b: readonly Interval[]): { from: number; to: number } | null {
  let shortest: { from: number; to: number } | null = null;
  let last: Interval | null = null;
  let lastIsA = false;
  for (let i = 0, j = 0; i < a.length || j < b.length;) {
    // Both lists merged by beginnings; a gap lies only between neighbours of different doors in that order.
    const isA = j >= b.length || (i < a.length && a[i]!.from <= b[j]!.from);
    const next = isA ? a[i++]! : b[j++]!;
    if (last !== null && isA !== lastIsA) {
      // Windows of one door do not meet, so if any two meet, then two that follow each other do.
      if (next.from < ending(last)) return null;
      const gap = { from: ending(last), to: next.from };
      if (!shortest || gap.to - gap.from < shortest.to - shortest.from) shortest = gap;
    }
    last = next;
    lastIsA = isA;
  }
  return shortest;
}

/** Length of the shortest gap, `null` where there is none. */
export function gapLength(a: readonly Interval[], b: readonly Interval[]): number | null {
  const gap = shortestGap(a, b);
  return gap && gap.to - gap.from;
}
