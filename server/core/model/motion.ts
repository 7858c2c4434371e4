/**
 * Where a door stands while it moves, for every engine that moves doors or reads their traces. Positions run from 0 (shut) to 1 (fully
 * open), evenly in time; a door that starts to open is off its seat at once, and one that closes is until it arrives.
 */

/** Index of the last item at or before `t`, -1 where there is none. Items rise in `t`; of equal times the last one counts. */
export function lastAt(items: readonly { readonly t: number }[], t: number): number {
  let [low, high] = [0, items.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (items[middle]!.t <= t) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** A door starts to move (or turns round) at `t` µs from `from` towards `to`, and is there at `arrives`. */
export interface Motion {
  readonly t: number;
  readonly from: number;
  readonly to: number;
  readonly arrives: number;
}

/** Motions in order of time; one that begins before the last has arrived turns the door round. */
export interface MotionPath<M extends Motion = Motion> {
  /** Position before the first motion. */
  readonly initial: number;
  readonly moves: readonly M[];
}

/** Position of one motion at `t`, which is not before its start (an instant motion is done at its start). */
export function positionOf(motion: Motion, t: number): number {
  if (t >= motion.arrives) return motion.to;
  return motion.from + ((motion.to - motion.from) * (t - motion.t)) / (motion.arrives - motion.t);
}

/** Whether a motion has its door off the seat just after `t`. */
export const isOffSeat = (motion: Motion, t: number): boolean => motion.to === 1 || t < motion.arrives;

/** The last motion that began at or before `t`. */
export function motionAt<M extends Motion>({ moves }: MotionPath<M>, t: number): M | undefined {
  return moves[lastAt(moves, t)];
}

/** The last motion that began before `t`. */
export function motionBefore<M extends Motion>({ moves }: MotionPath<M>, t: number): M | undefined {
  let last = lastAt(moves, t);
  while (last >= 0 && moves[last]!.t === t) last--;
  return moves[last];
}

/** Position just after `t`. */
export function positionAt(path: MotionPath, t: number): number {
  const last = motionAt(path, t);
  return last ? positionOf(last, t) : path.initial;
}

/** Position just before `t`: what begins at `t` has not begun. */
export function positionBefore(path: MotionPath, t: number): number {
  const last = motionBefore(path, t);
  return last ? positionOf(last, t) : path.initial;
}

/** Whether a door is off its seat just after `t`. */
export function notShutAt(path: MotionPath, t: number): boolean {
  const last = motionAt(path, t);
  return last ? isOffSeat(last, t) : path.initial > 0;
}

/** Where a door is on its way to just after `t`; null where it stands still. */
export function headingAt(path: MotionPath, t: number): number | null {
  const last = motionAt(path, t);
  return last && t < last.arrives ? last.to : null;
}

/** Whether a motion arrives before the next one of its door begins. */
export function doesArrive({ moves }: MotionPath, index: number): boolean {
  return (moves[index + 1]?.t ?? Infinity) >= moves[index]!.arrives;
}

/** The part of a path in `[from, to)`, counted from `from`; a motion under way at `from` begins there. */
export function pieceOf<M extends Motion>(path: MotionPath<M>, from: number, to: number): MotionPath<M> {
  const inside = path.moves.filter((m) => m.t >= from && m.t < to);
  const moves = inside.map((m): M => ({ ...m, t: m.t - from, arrives: m.arrives - from }));
  const initial = positionBefore(path, from);
  const under = motionBefore(path, from);
  const goesOn = under !== undefined && from < under.arrives && inside[0]?.t !== from;
  if (!goesOn) return { initial, moves };
  return { initial, moves: [{ ...under, t: 0, from: initial, arrives: under.arrives - from }, ...moves] };
}
