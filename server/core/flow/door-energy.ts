/**
 * Electric energy of doors over a stroke, from their movements and stated powers. A door draws one power while it moves and another while it
 * is held where it would not stay by itself; at rest it draws none. The work on the contents (`watch.ts` counts it) is done by the moving
 * drive: `drivesEnergy` is the one place where the two are put together.
 */
import type { DoorPath, StrokePattern } from './pattern';

/** Stated powers of a door's drive. */
export interface DoorPower {
  /** W while it moves, and while it is held away from rest. */
  readonly moving: number;
  readonly held: number;
  /** Position without drive: 0 shut, 1 open. */
  readonly rest: 0 | 1;
}

/** Joules, apart: of each door while it moves, and of all while they are held. */
export interface DoorEnergy {
  readonly moving: Float64Array;
  readonly holding: number;
}

/**
 * Energy of the moving doors, J, each counted once: `moving` is what its stated power comes to, `done` its gross work on the contents,
 * which that drive does. The larger counts: a drive draws no less than the work it does, nor less than is stated.
 */
export const drivesEnergy = (moving: Float64Array, done: Float64Array): number =>
  moving.reduce((sum, joules, door) => sum + Math.max(joules, done[door]!), 0);

/** Seconds a door moves, and stands still away from its rest position, within `[0, duration)`. */
export function doorSeconds(path: DoorPath, rest: 0 | 1, duration: number): { moving: number; held: number } {
  let moving = 0;
  let held = 0;
  // Walks along the movements: `standing` is the end position since `since`, −1 for a door stopped midway by its next movement.
  let since = 0;
  let standing = path.initial;
  path.moves.forEach((move, k) => {
    const next = path.moves[k + 1]?.t ?? duration;
    if (standing === 1 - rest) held += Math.max(0, Math.min(move.t, duration) - since);
    const stops = Math.min(move.arrives, next, duration);
    moving += Math.max(0, stops - move.t);
    since = stops;
    standing = stops === move.arrives ? move.to : -1;
  });
  if (standing === 1 - rest) held += Math.max(0, duration - since);
  return { moving: moving / 1e6, held: held / 1e6 };
}

/** Energy of all doors over one pattern, J. `powers`: one per door. */
export function doorEnergy(pattern: StrokePattern, powers: readonly DoorPower[]): DoorEnergy {
  const moving = new Float64Array(powers.length);
  let holding = 0;
  powers.forEach((power, door) => {
    const seconds = doorSeconds(pattern.doors[door]!, power.rest, pattern.duration);
    moving[door] = seconds.moving * power.moving;
    holding += seconds.held * power.held;
  });
  return { moving, holding };
}

/** Highest sum of door powers at any moment of the pattern, W. */
export function peakDoorPower(pattern: StrokePattern, powers: readonly DoorPower[]): number {
  // Powers change at these moments only, so the greatest sum is at one of them.
  const moments = [...new Set(pattern.doors.flatMap((path) => path.moves.flatMap((m) => [m.t, m.arrives])))];
  let most = 0;
  for (const t of [0, ...moments]) {
    let sum = 0;
    powers.forEach((power, door) => (sum += powerAt(pattern.doors[door]!, power, t)));
    most = Math.max(most, sum);
  }
  return most;
}

function powerAt(path: DoorPath, power: DoorPower, t: number): number {
  const move = path.moves.filter((m) => m.t <= t).pop();
  if (!move) return path.initial === 1 - power.rest ? power.held : 0;
  if (t < move.arrives) return power.moving;
  return move.to === power.rest ? 0 : power.held;
}
