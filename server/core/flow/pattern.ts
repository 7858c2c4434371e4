/** Movements of the doors over a stretch of time, as the flow engine needs them. The run layer fills it from a timing trace. */
import type { Motion, MotionPath } from '../model/motion';

export type DoorMotion = Motion;

export type DoorPath = MotionPath;

/** Stretch of time `[0, duration)` in whole µs. */
export interface StrokePattern {
  /** One per door of the rig. */
  readonly doors: readonly DoorPath[];
  readonly duration: number;
  /** Strokes in it. */
  readonly strokes: number;
  /** False where the stroke is known only once: nothing follows about strokes after it. */
  readonly repeats: boolean;
  /** One per line of the rig: when it is switched on, `[from, to)`. */
  readonly lines: readonly (readonly (readonly [number, number])[])[];
}

/** Seconds during which `[from, to)` intervals lie within `[start, end)`, all in µs. */
export function onTime(intervals: readonly (readonly [number, number])[], start: number, end: number): number {
  let sum = 0;
  for (const [from, to] of intervals) sum += Math.max(0, Math.min(to, end) - Math.max(from, start));
  return sum / 1e6;
}
