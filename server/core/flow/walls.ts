/** Heat through the walls of chambers and pockets: each cell's gas comes towards the temperature of its walls with a time constant. */
import type { Contents } from './contents';

/** Walls of all cells. */
export interface Walls {
  /** Shortest time constant, s. */
  readonly shortest: number;
  /** Per cell: temperature of the walls, K, and time constant at constant volume, s (Infinity: no heat). */
  readonly temperature: Float64Array;
  readonly seconds: Float64Array;
  /** Lets heat cross into one cell for a time with its volume and mass standing. */
  exchange(contents: Contents, cell: number, seconds: number): void;
}

/** Walls of the cells; none where no wall lets heat through. */
export function wallsOf(temperature: Float64Array, seconds: Float64Array): Walls | undefined {
  const shortest = seconds.reduce((low, s) => Math.min(low, s), Infinity);
  if (!(shortest > 0) || shortest === Infinity) return undefined;
  return {
    shortest,
    temperature,
    seconds,
    exchange(contents, cell, time) {
      if (seconds[cell] === Infinity) return;
      const wall = temperature[cell]!;
      // The solution of dT/dt = (wall − T)/τ, exact for any length of time.
      contents.temperature[cell] = wall + (contents.temperature[cell]! - wall) * Math.exp(-time / seconds[cell]!);
    },
  };
}
