/**
 * How a part of the rig falls into nodes and lumps. A lump is what wide passages join: one pressure. A node is what has one density and
 * one temperature: every cell for itself where an ideal gas exchanges no heat; otherwise the cells of a lump together, each at the
 * temperature of its own walls.
 */
import type { CellNetwork } from './cells';
import type { GasNozzle } from './nozzle';
import type { Passage, Part } from './openings-parts';

/** Part of the smallest chamber below which a pocket counts as none. */
const NEXT_TO_NOTHING = 1e-7;

/** A wide passage between two nodes of a lump, in the order in which leaves are stripped from it. */
export interface Inner {
  readonly leaf: number;
  readonly stem: number;
}

/** A part divided up. Every cell is in one node, every node in one lump. */
export interface Nodes {
  /** Places of cells in the part, by node; node and lump of each. */
  readonly cells: readonly (readonly number[])[];
  readonly nodeOf: readonly number[];
  readonly lumpOf: readonly number[];
  readonly lumps: number;
  /** Volume of each node at the start, m3, and change per second; of each lump the same. */
  readonly volume: Float64Array;
  readonly growth: Float64Array;
  readonly lumpVolume: Float64Array;
  readonly lumpGrowth: Float64Array;
  /** Openings between nodes of different lumps, and wide ones that are integrated too. */
  readonly passages: readonly Passage[];
  readonly inner: readonly Inner[];
}

/** `hides`: a cell is one node with its neighbour in the lump; `lumped`: wide passages join at all. */
export function nodesOf(part: Part, hides: (place: number) => boolean, lumped: boolean): Nodes {
  const count = part.cells.length;
  const lumpOfCell = Array.from({ length: count }, (_, k) => k);
  const find = (k: number): number => (lumpOfCell[k] === k ? k : find(lumpOfCell[k]!));
  // A spanning tree of the wide passages: a second way round between two cells of one pressure would leave the flow undetermined.
  const tree: Passage[] = [];
  for (const passage of part.passages) {
    if (!lumped || passage.wide <= 0 || find(passage.a) === find(passage.b)) continue;
    lumpOfCell[find(passage.b)] = find(passage.a);
    tree.push(passage);
  }
  const nodeRoot = lumpOfCell.map((_, k) => k);
  const nodeFind = (k: number): number => (nodeRoot[k] === k ? k : nodeFind(nodeRoot[k]!));
  // A node of next to no volume has no energy to speak of and would be as stiff as a passage: it goes with its neighbour.
  for (const { a, b } of tree) if (hides(a) || hides(b)) nodeRoot[nodeFind(b)] = nodeFind(a);
  const roots = [...new Set(lumpOfCell.map((_, k) => find(k)))];
  const cells = [...new Set(nodeRoot.map((_, k) => nodeFind(k)))].map((root) =>
    nodeRoot.flatMap((_, k) => (nodeFind(k) === root ? [k] : [])),
  );
  const nodeOf = lumpOfCell.map((_, k) => cells.findIndex((members) => members.includes(k)));
  const lumpOf = cells.map((members) => roots.indexOf(find(members[0]!)));
  const volume = Float64Array.from(cells, (members) => members.reduce((v, k) => v + part.volume[k]!, 0));
  const growth = Float64Array.from(cells, (members) => members.reduce((g, k) => g + part.growth[k]!, 0));
  const ofLump = (of: Float64Array): Float64Array =>
    Float64Array.from(roots, (_, lump) => of.reduce((sum, v, node) => (lumpOf[node] === lump ? sum + v : sum), 0));
  // What is left as a passage joins two lumps. Without lumping (a real gas at several temperatures) the wide ones are among them.
  const outer = part.passages.filter(({ a, b, wide }) => find(a) !== find(b) && (wide <= 0 || !lumped));
  return {
    cells,
    nodeOf,
    lumpOf,
    lumps: roots.length,
    volume,
    growth,
    lumpVolume: ofLump(volume),
    lumpGrowth: ofLump(growth),
    passages: outer.map((passage) => ({ ...passage, a: nodeOf[passage.a]!, b: nodeOf[passage.b]! })),
    inner: stripped(
      tree
        .filter(({ a, b }) => nodeOf[a] !== nodeOf[b])
        .map((edge) => ({ ...edge, a: nodeOf[edge.a]!, b: nodeOf[edge.b]! })),
      cells.length,
    ),
  };
}

/** The wide passages of all lumps, leaves first: what a leaf takes or gives passes its only edge. */
function stripped(tree: readonly Passage[], count: number): Inner[] {
  const degree = new Int32Array(count);
  for (const { a, b } of tree) {
    degree[a]!++;
    degree[b]!++;
  }
  const left = [...tree];
  const inner: Inner[] = [];
  while (left.length > 0) {
    const k = left.findIndex(({ a, b }) => degree[a] === 1 || degree[b] === 1);
    const [{ a, b }] = left.splice(k, 1) as [Passage];
    const leaf = degree[b] === 1 ? b : a;
    inner.push({ leaf, stem: leaf === a ? b : a });
    degree[a]!--;
    degree[b]!--;
  }
  return inner;
}

/** Openings between nodes as the equations read them: an entry each. */
export interface Passages {
  readonly a: Int32Array;
  readonly b: Int32Array;
  readonly area: Float64Array;
  readonly widening: Float64Array;
  readonly wide: Float64Array;
  readonly nozzles: readonly GasNozzle[];
}

/** `nozzleOf`: the law of a door's opening. */
export function passagesOf({ passages }: Nodes, nozzleOf: (door: number) => GasNozzle): Passages {
  const reals = (of: (passage: Passage) => number): Float64Array => Float64Array.from(passages, of);
  return {
    a: Int32Array.from(passages, ({ a }) => a),
    b: Int32Array.from(passages, ({ b }) => b),
    area: reals(({ area }) => area),
    widening: reals(({ widening }) => widening),
    wide: reals(({ wide }) => wide),
    nozzles: passages.map(({ door, nozzle }) => nozzle ?? nozzleOf(door)),
  };
}

/** Volume of a cell when its door is open, m3, and the volume below which it counts as none. */
export const fullVolume = (network: CellNetwork, cell: number): number =>
  cell < network.chambers ? network.volume[cell]! : network.open[cell - network.chambers]!;
export function leastVolume(network: CellNetwork): number {
  let least = LEAST_VOLUMES.get(network);
  if (least === undefined) {
    least = NEXT_TO_NOTHING * network.volume.reduce((low, v) => (v > 0 ? Math.min(low, v) : low), Infinity);
    LEAST_VOLUMES.set(network, least);
  }
  return least;
}

/** Computed once a network. */
const LEAST_VOLUMES = new WeakMap<CellNetwork, number>();
