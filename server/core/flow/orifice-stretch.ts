/**
 * Stretches of a stroke for the orifice level: between two moments connections are constant and doors move evenly, so that volumes and
 * openings are straight lines in time.
 */
import type { CellNetwork, Link } from './cells';
import { groupLabels, pocketVolume } from './cells';
import type { StrokePattern } from './pattern';
import { notShutAt, positionAt, positionBefore } from '../model/motion';
import { momentsOf } from './program';

/** Wide open: from a pocket into what follows it, without an opening of its own. */
export const wide = (link: Link): boolean => link.orifice < 0;

/** One opening between two lumps. */
export interface Passage {
  readonly from: number;
  readonly to: number;
  readonly door: number;
}

/** One stretch between two moments: everything constant but positions, which move linearly. */
export interface Stretch {
  readonly start: number;
  readonly end: number;
  /** Lump of each cell, and for each lump its cells. */
  readonly lumps: readonly (readonly number[])[];
  readonly volume: Float64Array;
  readonly growth: Float64Array;
  readonly passages: readonly Passage[];
  readonly area: Float64Array;
  readonly widening: Float64Array;
  /** kg/s into each lump by feeds and draws. */
  readonly inflow: Float64Array;
  /** J/s that comes with it. */
  readonly heat: Float64Array;
}

/** Mass flow into each chamber, kg/s, and the energy that comes with it, J/s. */
export interface Inflow {
  readonly mass: Float64Array;
  readonly heat: Float64Array;
}

/** Volume of a cell with its door at a position, m3. */
export function cellVolume(network: CellNetwork, cell: number, position: (door: number) => number): number {
  if (cell < network.chambers) return network.volume[cell]!;
  const door = cell - network.chambers;
  return pocketVolume(network, door, position(door));
}

/** Compiles the stretch `[start, end)` µs; `merged` links count as wide open. `areas`: of the doors when fully open, m2. */
export function compileStretch(
  network: CellNetwork,
  areas: Float64Array,
  pattern: StrokePattern,
  [start, end]: readonly [number, number],
  merged: ReadonlySet<Link>,
  inflow: Inflow,
): Stretch {
  const notShut = pattern.doors.map((path) => notShutAt(path, start));
  const labels = groupLabels(network, notShut, (link) => wide(link) || merged.has(link));
  const lumps = lumpsOf(labels);
  const lumpOf = new Int32Array(labels.length);
  lumps.forEach((cells, lump) => cells.forEach((cell) => (lumpOf[cell] = lump)));
  const from = pattern.doors.map((path) => positionAt(path, start));
  const to = pattern.doors.map((path) => positionBefore(path, end));
  const seconds = (end - start) / 1e6;
  const volumes = (at: readonly number[]): Float64Array =>
    Float64Array.from(lumps, (cells) => cells.reduce((v, cell) => v + cellVolume(network, cell, (d) => at[d]!), 0));
  const volume = volumes(from);
  const growth = volumes(to).map((v, k) => (v - volume[k]!) / seconds);
  const open = network.links.filter((link) => !wide(link) && link.gates.every((d) => notShut[d]));
  const passages = open
    .map((link) => ({ from: lumpOf[link.a]!, to: lumpOf[link.b]!, door: link.orifice }))
    .filter((p) => p.from !== p.to);
  const sum = (per: Float64Array): Float64Array =>
    Float64Array.from(lumps, (cells) => cells.reduce((s, cell) => s + (per[cell] ?? 0), 0));
  return {
    start,
    end,
    lumps,
    volume,
    growth,
    passages,
    area: Float64Array.from(passages, (p) => areas[p.door]! * from[p.door]!),
    widening: Float64Array.from(passages, (p) => (areas[p.door]! * (to[p.door]! - from[p.door]!)) / seconds),
    inflow: sum(inflow.mass),
    heat: sum(inflow.heat),
  };
}

/** Position at `t`, at the end of a stretch the one just before what happens there. */
export function positionNow(pattern: StrokePattern, door: number, t: number, end?: number): number {
  const path = pattern.doors[door]!;
  return end !== undefined && t >= end ? positionBefore(path, end) : positionAt(path, t);
}

export function lumpsOf(labels: Int32Array): number[][] {
  const lumps = new Map<number, number[]>();
  labels.forEach((label, cell) => {
    const list = lumps.get(label);
    if (list) list.push(cell);
    else lumps.set(label, [cell]);
  });
  return [...lumps.values()];
}

/** Moments of doors and of lines. */
export function withLineMoments(pattern: StrokePattern): number[] {
  const moments = new Set(momentsOf(pattern));
  for (const on of pattern.lines) {
    for (const [from, to] of on) {
      for (const t of [from, to]) if (t > 0 && t < pattern.duration) moments.add(t);
    }
  }
  return [...moments].sort((a, b) => a - b);
}
