/**
 * Heat through the walls of chambers: a conductance in watts per degree, whatever they hold (`wall`), or such that the contents come to the
 * temperature of the walls with a time constant (`cools_in`). Pockets of doors have none.
 */
import type { Contents } from './contents';
import type { GasLaw } from './media/law';

/** What the walls of one cell let through: `conductance` W/K, or `seconds`, the time constant at constant volume; null: no heat. */
export type Wall = { readonly conductance: number } | { readonly seconds: number } | null;

/** Walls of all cells. */
export interface Walls {
  /** Shortest time constant of the contents as they are, s. */
  shortest(contents: Contents): number;
  /** W into a cell that holds `mass` kg at T, K; `missing`: J/kg that its gas lacks of that at the temperature of the walls. */
  watts(cell: number, mass: number, temperature: number, missing: (outside: number) => number): number;
  /** Lets heat cross into one cell for a time with its volume and mass standing. */
  exchange(contents: Contents, cell: number, seconds: number): void;
}

/**
 * `outside`: temperature of the walls, K. `volumes` of the cells that have walls, m3. None (undefined) where no wall lets heat through.
 */
export function wallsOf(
  law: GasLaw,
  walls: readonly Wall[],
  volumes: readonly number[],
  outside: number,
): Walls | undefined {
  if (walls.every((wall) => wall === null)) return undefined;
  /** Time constant m cv / UA of what a cell holds, s: a chamber that holds more takes longer. */
  const timeConstant = ({ mass, temperature }: Contents, cell: number): number => {
    const wall = walls[cell];
    if (!wall) return Infinity;
    if ('seconds' in wall) return wall.seconds;
    const m = mass[cell]!;
    return m > 0 ? (m * law.heatCapacity(m / volumes[cell]!, temperature[cell]!)) / wall.conductance : Infinity;
  };
  return {
    shortest: (contents) => walls.reduce((low, _, cell) => Math.min(low, timeConstant(contents, cell)), Infinity),
    watts(cell, mass, temperature, missing) {
      const wall = walls[cell];
      if (!wall) return 0;
      return 'seconds' in wall ? (mass * missing(outside)) / wall.seconds : wall.conductance * (outside - temperature);
    },
    exchange(contents, cell, time) {
      const tau = timeConstant(contents, cell);
      if (tau === Infinity) return;
      // The solution of dT/dt = (wall − T)/τ, exact for any length of time where the heat capacity stands.
      contents.temperature[cell] = outside + (contents.temperature[cell]! - outside) * Math.exp(-time / tau);
    },
  };
}
