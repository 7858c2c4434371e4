/**
 * Steps of a stroke as the level of openings sees them: parts of the rig that open doors join, with their passages.
 *
 * Cells that nothing joins share no unknown, so integrating them apart is exact and saves the cube of what is not together. Volumes get a
 * floor: at zero volume pressure is 0/0, and just above it the equations are stiffer than any method follows.
 */
import type { CellNetwork, Link } from './cells';
import { groupLabels } from './cells';
import { type Leak, type Leaks, leaksNow } from './leaks';
import type { GasNozzle } from './nozzle';
import type { Step } from './program';

/** One opening between two cells of a part, by places in its `cells`. */
export interface Passage {
  readonly a: number;
  readonly b: number;
  /** Effective area at the start of the step, m2, and its change per second. */
  readonly area: number;
  readonly widening: number;
  /**
   * Above 0: wide open instead. Volume that passes per second and relative difference of pressure, m3/s: so much that no difference
   * is left that could be seen, and in proportion to it, which an integrator follows with ease.
   */
  readonly wide: number;
  /** Door whose opening it is, -1 where wide open or a leak. */
  readonly door: number;
  /** The law of a leak, instead of that of the door. */
  readonly nozzle?: GasNozzle;
}

/** Cells that open doors join while a step lasts: constant but for volumes and openings, which change evenly. */
export interface Part {
  readonly cells: readonly number[];
  /** At the start of the step, m3, and change per second. */
  readonly volume: Float64Array;
  readonly growth: Float64Array;
  readonly passages: readonly Passage[];
  /** Doors whose pockets change volume, and their places in `cells`. */
  readonly moving: readonly number[];
  readonly movingPlaces: readonly number[];
}

/** Pockets and chambers are never smaller than this part of what they are when open: a volume of nothing has no pressure. */
const LEAST = 1e-6;
/** A pocket that has no volume at all, as part of the smallest chamber. */
const LEAST_OF_CHAMBER = 1e-8;
/** Relative difference of pressure that drives through a wide passage all that moving pockets displace. */
const WIDE = 1e-6;

/** m/s: about the speed of sound in a light gas. */
const FAST = 1000;

/** The network with volumes that are never nothing. */
export function withFloors(network: CellNetwork): CellNetwork {
  const chamber = network.volume.reduce((low, v) => (v > 0 ? Math.min(low, v) : low), Infinity);
  const least = LEAST_OF_CHAMBER * (chamber === Infinity ? 1 : chamber);
  const floor = (door: number): number => Math.max(LEAST * network.open[door]!, least);
  return {
    ...network,
    open: network.open.map((v, door) => Math.max(v, floor(door))),
    shut: network.shut.map((v, door) => Math.max(v, floor(door))),
  };
}

/** Volume of a cell with the doors at these positions, m3. */
const volumeAt = (network: CellNetwork, cell: number, at: readonly number[]): number => {
  const door = cell - network.chambers;
  if (door < 0) return network.volume[cell]!;
  return network.shut[door]! + at[door]! * (network.open[door]! - network.shut[door]!);
};

/**
 * Parts of a step; a pocket that is shut and stands still is none, as nothing happens in it. `areas`: effective, of the doors when fully
 * open, m2, Infinity where wide open.
 */
export function partsOf(network: CellNetwork, areas: Float64Array, step: Step, leaks?: Leaks): Part[] {
  // A leak joins parts as an opening does; only doors that are off their seats decide which leaks there are.
  const joined = groupLabels(network, step.notShut);
  const leaking = leaks ? leaksNow(leaks, network, step.notShut, joined) : [];
  const labels = withLeaks(joined, leaking);
  const parts = new Map<number, Joined>();
  // A cell is in one part: where it is in it is known by the cell alone.
  const place = new Int32Array(labels.length);
  labels.forEach((label, cell) => {
    let part = parts.get(label);
    if (!part) parts.set(label, (part = { cells: [], links: [], leaks: [] }));
    place[cell] = part.cells.push(cell) - 1;
  });
  for (const link of network.links)
    if (link.gates.every((door) => step.notShut[door])) parts.get(labels[link.a]!)!.links.push(link);
  for (const leak of leaking) parts.get(labels[leak.a]!)!.leaks.push(leak);
  // What flows through the largest opening at the speed of sound, or what fills the largest pocket within the step.
  const flows = areas.reduce((most, area) => (area < Infinity ? Math.max(most, area * FAST) : most), 0);
  const least = Math.max(flows, (largestPocket(network) || smallestChamber(network)) / step.span);
  const alone = chambersAlone(network);
  return [...parts.values()].flatMap((part) => {
    const [first, second] = part.cells as [number, number?];
    if (second === undefined && isStill(network, step, first)) return [];
    if (second === undefined && first < network.chambers) return [{ ...alone[first]! }];
    return [partOf(network, areas, step, part, place, least)];
  });
}

/** Each chamber as a part of its own: nothing of it changes from step to step. */
function chambersAlone(network: CellNetwork): readonly Part[] {
  let alone = ALONE.get(network);
  if (!alone) {
    alone = Array.from(network.volume.subarray(0, network.chambers), (volume, chamber) => ({
      cells: [chamber],
      volume: Float64Array.of(volume),
      growth: Float64Array.of(0),
      passages: [],
      moving: [],
      movingPlaces: [],
    }));
    ALONE.set(network, alone);
  }
  return alone;
}

/** Computed once a network. */
const ALONE = new WeakMap<CellNetwork, readonly Part[]>();

/** A pocket whose door does not move: what has no volume of its own to change and no opening. */
const isStill = ({ chambers }: CellNetwork, { from, to }: Step, cell: number): boolean =>
  cell >= chambers && from[cell - chambers] === to[cell - chambers];

/** What open doors and leaks join. */
interface Joined {
  readonly cells: number[];
  readonly links: Link[];
  readonly leaks: Leak[];
}

/** Labels of cells that leaks join, too. */
function withLeaks(labels: Int32Array, leaks: readonly Leak[]): Int32Array {
  const joined = labels.slice();
  for (const { a, b } of leaks) {
    const [from, to] = [joined[a]!, joined[b]!];
    joined.forEach((label, cell) => label === from && (joined[cell] = to));
  }
  return joined;
}

/** One part with its volumes, growths and passages; `place` of a cell in it; `displaces`: what moves at least, m3/s. */
function partOf(
  network: CellNetwork,
  areas: Float64Array,
  step: Step,
  { cells, links, leaks }: Joined,
  place: Int32Array,
  displaces: number,
): Part {
  const { from, to, span } = step;
  const volume = Float64Array.from(cells, (cell) => volumeAt(network, cell, from));
  // Even movement: volumes and areas are linear in time within a step, so that the equations are smooth in it.
  const growth = Float64Array.from(cells, (cell, k) => (volumeAt(network, cell, to) - volume[k]!) / span);
  const displaced = growth.reduce((most, g) => Math.max(most, Math.abs(g)), displaces);
  // So wide that what passes in a step needs a relative difference of 10⁻⁶ only: below the accuracy of the answer.
  const wide = displaced / WIDE;
  const passages = links.map((link): Passage => {
    const [a, b] = [place[link.a]!, place[link.b]!];
    const full = link.orifice < 0 ? Infinity : areas[link.orifice]!;
    if (full === Infinity) return { a, b, area: 0, widening: 0, wide, door: -1 };
    const door = link.orifice;
    return { a, b, area: full * from[door]!, widening: (full * (to[door]! - from[door]!)) / span, wide: 0, door };
  });
  for (const { a, b, area, nozzle } of leaks)
    passages.push({ a: place[a]!, b: place[b]!, area, widening: 0, wide: 0, door: -1, nozzle });
  const moving = cells.filter((_, k) => growth[k] !== 0);
  return {
    cells,
    volume,
    growth,
    passages,
    moving: moving.map((cell) => cell - network.chambers),
    movingPlaces: moving.map((cell) => place[cell]!),
  };
}

const smallestChamber = ({ volume }: CellNetwork): number =>
  volume.reduce((least, v) => (v > 0 ? Math.min(least, v) : least), Infinity);

const largestPocket = ({ open }: CellNetwork): number => open.reduce((most, v) => Math.max(most, v), 0);
