/**
 * The rig as cells and links: one bookkeeping for both levels of detail.
 *
 * A cell is a chamber (fixed volume) or the pocket of a door: the space inside the duct at that door. The pocket's volume goes
 * evenly from `clearance` (shut) to `pocket` (fully open) as the door moves, so a moving door is a valve and a piston at once.
 * Neighbours along a stack are linked; a link is open while every door in it is away from shut. So the pocket of an open door is
 * one space with the chamber or the open pocket on either side of it, and what the door displaces when it closes goes to the side
 * it is open to. The pocket of a shut door is sealed: what is left in its clearance stays there until it opens again. A group of
 * linked pockets with no chamber in it is trapped: it has nowhere to go.
 *
 * With this, the six-step pattern of a three-valve peristaltic pump moves exactly one pocket per cycle (tests/reference).
 */
import type { Rig } from '../model/rig';

/** Two neighbouring cells of a stack, `a` upstream of `b`. */
export interface Link {
  readonly a: number;
  readonly b: number;
  /** Doors that must be away from shut for the link to be open (none: two chambers side by side). */
  readonly gates: readonly number[];
  /** Door whose opening the flow passes, -1 where it is wide open (from a pocket to the chamber it opens into). */
  readonly orifice: number;
}

/** A stack by its measured stroke: what it moves is stated, and its doors displace nothing. */
export interface MeasuredMove {
  readonly stack: number;
  readonly from: number;
  readonly to: number;
  /** Fraction of what is upstream that one stroke moves. */
  readonly fraction: number;
  readonly doors: readonly number[];
}

/** The geometry of a rig: constant, all that the contents do not change. */
export interface CellNetwork {
  /** Cells 0 … chambers − 1 are the chambers, the others the pockets of doors 0, 1, … */
  readonly chambers: number;
  readonly doors: number;
  /** Volume of each chamber; volume of each pocket when open and when shut. m3 */
  readonly volume: Float64Array;
  readonly open: Float64Array;
  readonly shut: Float64Array;
  readonly links: readonly Link[];
  /** Stacks whose strokes were measured instead (`moves`): their doors displace nothing here. */
  readonly measured: readonly MeasuredMove[];
}

/**
 * Volume the atmosphere counts with, m3: so much that what a rig puts into it or takes from it cannot be seen in its pressure (a tonne
 * of air changes it by 0.1 %), and not so much that grams are lost in rounding.
 */
export const ENDLESS = 1e6;

/** Cells that are passed over for nothing beside what happens in some of them, and those beyond that one unit of work pays for. */
const FEW_CELLS = 48;
const CELLS_A_UNIT = 8;

/** Units that each step of a stroke costs by the mere number of cells: none in a rig of everyday size. */
export const bulkOf = ({ chambers, doors }: CellNetwork): number =>
  Math.floor(Math.max(0, chambers + doors - FEW_CELLS) / CELLS_A_UNIT);

/** Cell of a door's pocket. */
export const pocketCell = (network: CellNetwork, door: number): number => network.chambers + door;

/** The network of a rig. Volumes that are not given count as zero; `flow-model.ts` reports them before anything is computed. */
export function cellNetwork(rig: Rig): CellNetwork {
  const chambers = rig.chambers.length;
  const links: Link[] = [];
  const measured: MeasuredMove[] = [];
  rig.stacks.forEach((stack, index) => {
    const cells = stack.members.map((m) => (m.kind === 'chamber' ? m.index : chambers + m.index));
    const doors = stack.members.filter((m) => m.kind === 'door').map((m) => m.index);
    const from = cells[0] ?? -1;
    const to = cells[cells.length - 1] ?? -1;
    if (stack.moves && from >= 0 && to < chambers) {
      measured.push({ stack: index, from, to, fraction: stack.moves.nominal, doors });
      return;
    }
    for (let k = 1; k < cells.length; k++) links.push(linkOf(cells[k - 1]!, cells[k]!, chambers));
  });
  return {
    chambers,
    doors: rig.doors.length,
    volume: Float64Array.from(rig.chambers, (c) => (c.endless ? ENDLESS : (c.volume?.nominal ?? 0))),
    open: Float64Array.from(rig.doors, (d) => d.pocket?.nominal ?? 0),
    shut: Float64Array.from(rig.doors, (d) => d.clearance?.nominal ?? 0),
    links,
    measured,
  };
}

function linkOf(a: number, b: number, chambers: number): Link {
  const gates = [a, b].filter((cell) => cell >= chambers).map((cell) => cell - chambers);
  return { a, b, gates, orifice: b >= chambers ? b - chambers : -1 };
}

/** Volume of a door's pocket at a position between shut (0) and open (1), m3. */
export const pocketVolume = (network: CellNetwork, door: number, position: number): number =>
  network.shut[door]! + position * (network.open[door]! - network.shut[door]!);

/**
 * Groups of cells joined by open links, as a label per cell (the smallest cell index of its group). `passes` says whether a link
 * that is open joins its cells permanently (balance: every one; orifice: only the wide ones).
 */
export function groupLabels(
  network: CellNetwork,
  notShut: readonly boolean[],
  passes: (link: Link) => boolean = () => true,
): Int32Array {
  const labels = Int32Array.from({ length: network.chambers + network.doors }, (_, cell) => cell);
  const find = (cell: number): number => {
    while (labels[cell] !== cell) cell = labels[cell]!;
    return cell;
  };
  for (const link of network.links) {
    if (!passes(link) || !link.gates.every((door) => notShut[door])) continue;
    const a = find(link.a);
    const b = find(link.b);
    if (a !== b) labels[Math.max(a, b)] = Math.min(a, b);
  }
  return labels.map((_, cell) => find(cell));
}

/** Two chambers in connection while these doors are off their seats, the first such pair; null where none are. */
export function joinedChambers(network: CellNetwork, notShut: readonly boolean[]): readonly [number, number] | null {
  const first = new Map<number, number>();
  const labels = groupLabels(network, notShut);
  for (let chamber = 0; chamber < network.chambers; chamber++) {
    const known = first.get(labels[chamber]!);
    if (known !== undefined) return [known, chamber];
    first.set(labels[chamber]!, chamber);
  }
  return null;
}
