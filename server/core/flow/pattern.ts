/** Movements of the doors over a stretch of time, as the flow engine needs them. The run layer fills it from a timing trace. */

/** A door starts to move (or turns round) at `t` µs from `from` (0 shut … 1 open) towards `to`, and is there at `arrives`. */
export interface DoorMotion {
  readonly t: number;
  readonly from: number;
  readonly to: 0 | 1;
  readonly arrives: number;
}

export interface DoorPath {
  readonly initial: number;
  readonly moves: readonly DoorMotion[];
}

/** Stretch of time `[0, duration)` in whole µs. */
export interface StrokePattern {
  /** One per door of the rig. */
  readonly doors: readonly DoorPath[];
  readonly duration: number;
  /** Strokes in it. */
  readonly strokes: number;
  /** False where the stroke is known only once: nothing may be said about strokes after it. */
  readonly repeats: boolean;
  /** One per line of the rig: when it is switched on, `[from, to)`. */
  readonly lines: readonly (readonly (readonly [number, number])[])[];
}

/** Position at `t` (the value just after; an instant move is done). */
export function positionAt(path: DoorPath, t: number): number {
  let last: DoorMotion | undefined;
  for (const move of path.moves) {
    if (move.t > t) break;
    last = move;
  }
  if (!last) return path.initial;
  if (t >= last.arrives) return last.to;
  return last.from + ((last.to - last.from) * (t - last.t)) / (last.arrives - last.t);
}

/** Position just before `t`. */
export function positionBefore(path: DoorPath, t: number): number {
  let last: DoorMotion | undefined;
  for (const move of path.moves) {
    if (move.t >= t) break;
    last = move;
  }
  if (!last) return path.initial;
  if (t >= last.arrives) return last.to;
  return last.from + ((last.to - last.from) * (t - last.t)) / (last.arrives - last.t);
}

/** True while the door is away from its shut position, seen just after `t`: a door that starts to open counts at once. */
export function notShutAt(path: DoorPath, t: number): boolean {
  let last: DoorMotion | undefined;
  for (const move of path.moves) {
    if (move.t > t) break;
    last = move;
  }
  if (!last) return path.initial > 0;
  return last.to === 1 || t < last.arrives;
}

/** Seconds during which `[from, to)` intervals lie within `[start, end)`, all in µs. */
export function onTime(intervals: readonly (readonly [number, number])[], start: number, end: number): number {
  let sum = 0;
  for (const [from, to] of intervals) sum += Math.max(0, Math.min(to, end) - Math.max(from, start));
  return sum / 1e6;
}
