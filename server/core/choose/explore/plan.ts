/** Which choices are looked at: every point of a grid, or a seeded Latin hypercube; each known by its number alone, so that any part can be run anywhere. */
import { seededRandom } from '../../timing/tolerance';

export interface Axis {
  readonly name: string;
  readonly dimension: string;
  /** Microseconds for times, SI units otherwise. */
  readonly low: number;
  readonly high: number;
  /** Distance of neighbours on the grid, and what sampled values are rounded to. */
  readonly step: number;
}

export interface Plan {
  readonly axes: readonly Axis[];
  readonly count: number;
  /** Values of choice number `index` (0 … `count` − 1), in the order of the axes. */
  readonly at: (index: number) => number[];
}

const places = ({ low, high, step }: Axis): number => Math.floor((high - low) / step + 1e-9) + 1;

/** Whole microseconds for times; for the rest without the dust of decimal fractions. */
const clean = (value: number, dimension: string): number =>
  dimension === 'time' ? Math.round(value) : Number(value.toPrecision(12));

/** The whole grid, the last axis running fastest. */
export function gridPlan(axes: readonly Axis[]): Plan {
  const sizes = axes.map(places);
  return {
    axes,
    count: sizes.reduce((n, s) => n * s, 1),
    at: (index) => {
      const values: number[] = [];
      let rest = index;
      for (let k = axes.length - 1; k >= 0; k--) {
        const { low, step, dimension } = axes[k]!;
        values[k] = clean(low + (rest % sizes[k]!) * step, dimension);
        rest = Math.floor(rest / sizes[k]!);
      }
      return values;
    },
  };
}

/**
 * A Latin hypercube: each axis in `count` equal strata, one choice in each (M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics
 * 21, 239, 1979), rounded to the step. Same seed, same choices.
 */
export function latinPlan(axes: readonly Axis[], count: number, seed: number): Plan {
  const random = seededRandom(seed);
  const columns = axes.map(({ low, high, step, dimension }) => {
    const strata = shuffled(count, random);
    return strata.map((s) => {
      const value = low + ((s + random()) / count) * (high - low);
      return clean(Math.min(high, low + Math.round((value - low) / step) * step), dimension);
    });
  });
  return { axes, count, at: (index) => columns.map((column) => column[index]!) };
}

function shuffled(count: number, random: () => number): number[] {
  const list = Array.from({ length: count }, (_, i) => i);
  for (let i = count - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    [list[i], list[j]] = [list[j]!, list[i]!];
  }
  return list;
}

/** Numbers of the choices of one part of `of` equal ones (`part` from 1): from, up to before. */
export function shardOf(count: number, part: number, of: number): { readonly from: number; readonly to: number } {
  return { from: Math.floor((count * (part - 1)) / of), to: Math.floor((count * part) / of) };
}
