/** What is watched while contents change: extremes, work of the doors, pockets with nowhere to go, mass of feeds and draws. */
import type { Step } from './program';
import type { WorkBudget } from '../model/budget';
import type { Contents } from './contents';

/** A pocket, or several in connection, squeezed with nowhere to go. */
export interface Trapped {
  /** Doors whose pockets it is made of. */
  readonly doors: readonly number[];
  /** µs from the start of the stroke, when the squeeze ends. */
  readonly t: number;
  /** Pa; null for a packed medium; Infinity where nothing is left of the volume. */
  readonly from: number | null;
  readonly to: number | null;
}

/** Per chamber: mass (kg) and temperature (K) where the pressure was highest, and where it was lowest. */
export interface Extremes {
  readonly high: Contents;
  readonly low: Contents;
}

/** Work of each door on the contents, J: what it does, and what the contents give back to it (positive). */
export interface DoorWork {
  readonly done: Float64Array;
  readonly back: Float64Array;
}

/** A door at the moment that is hardest for it. */
export interface DoorLoad {
  /** Greatest difference of pressure across the door when it leaves its seat and while it moves, Pa; positive where it is higher upstream. */
  readonly opening: Float64Array;
  readonly closing: Float64Array;
  /** Highest pressure in the pocket while the door closes, Pa, and before it starts to. */
  readonly peak: Float64Array;
  readonly rest: Float64Array;
  /** 1 while the door closes: `rest` is noted as it begins to. */
  readonly closes: Uint8Array;
  /** Greatest power on the contents, W. */
  readonly power: Float64Array;
}

/** A door that shut while the two sides it had joined were not yet at one pressure, or before its pocket had emptied. */
export interface CutOff {
  readonly door: number;
  readonly t: number;
  readonly kind: 'fill' | 'empty';
  /** `fill`: pressure behind it over pressure before it when it shut. `empty`: part of what its pocket should push out that it did. */
  readonly fill: number;
}

/** What to watch while a stroke runs; leave out what is not needed. */
export interface StrokeWatch {
  /** Highest and lowest state of each chamber so far. */
  readonly extremes?: Extremes;
  readonly work?: DoorWork;
  readonly loads?: DoorLoad;
  /** Highest temperature of each cell, K. */
  readonly hottest?: Float64Array;
  readonly trapped?: Trapped[];
  readonly cutOffs?: CutOff[];
  /** Net mass moved by each line, kg (positive). */
  readonly lines?: Float64Array;
  /**
   * Counts the work: a unit is one evaluation of the flow equations of cells that stand in connection, or settling them once. Where it is
   * used up, a step is not followed.
   */
  readonly budget?: WorkBudget;
  /** Called after each step. */
  readonly each?: (step: Step) => void;
}

export const doorWork = (doors: number): DoorWork => ({
  done: new Float64Array(doors),
  back: new Float64Array(doors),
});

export function doorLoad(doors: number): DoorLoad {
  const none = (): Float64Array => new Float64Array(doors);
  return { opening: none(), closing: none(), peak: none(), rest: none(), closes: new Uint8Array(doors), power: none() };
}

/** Takes back, when called, all that was watched since. */
export function undoOf({ extremes, work, lines, hottest, trapped }: StrokeWatch): () => void {
  const { high, low } = extremes ?? {};
  const sums = [high?.mass, high?.temperature, low?.mass, low?.temperature, work?.done, work?.back, lines, hottest];
  const kept = sums.map((sum) => sum?.slice());
  const count = trapped?.length ?? 0;
  return () => {
    sums.forEach((sum, k) => sum?.set(kept[k]!));
    if (trapped) trapped.length = count;
  };
}

/** Of all doors together. */
export const sumOf = (values: Float64Array): number => values.reduce((a, v) => a + v, 0);

/** Counts `joules` on the contents for a door. */
export function countWork(work: DoorWork, door: number, joules: number): void {
  if (joules > 0) work.done[door]! += joules;
  else work.back[door]! -= joules;
}

/** Extremes that start at the present contents of the chambers. */
export function extremesOf(contents: Contents, chambers: number): Extremes {
  const copy = (): Contents => ({
    mass: contents.mass.slice(0, chambers),
    temperature: contents.temperature.slice(0, chambers),
  });
  return { high: copy(), low: copy() };
}

/** Takes the present contents into the extremes. */
export function noteExtremes({ high, low }: Extremes, contents: Contents): void {
  for (let cell = 0; cell < high.mass.length; cell++) {
    const m = contents.mass[cell]!;
    const T = contents.temperature[cell]!;
    // By m T, which rises with the pressure in a vessel of one volume: exact for the ideal gas, and for what keeps its temperature.
    if (m * T > high.mass[cell]! * high.temperature[cell]!) {
      high.mass[cell] = m;
      high.temperature[cell] = T;
    }
    if (m * T < low.mass[cell]! * low.temperature[cell]!) {
      low.mass[cell] = m;
      low.temperature[cell] = T;
    }
  }
}

/** Raises the highest temperature of each cell that holds anything. */
export function noteTemperatures(hottest: Float64Array, { mass, temperature }: Contents): void {
  for (let cell = 0; cell < hottest.length; cell++) {
    if (mass[cell]! > 0) hottest[cell] = Math.max(hottest[cell]!, temperature[cell]!);
  }
}
