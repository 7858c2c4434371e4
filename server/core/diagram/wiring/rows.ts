/**
 * The order of rows within each rank: as few crossings as the layout library finds, and among such orders the one nearest to the text:
 * first what leads to the door written first, what leads to none last. From the order of the text, the library's and its mirror image,
 * neighbours are exchanged wherever that saves a crossing, or adds none and follows the text; the best of the three is taken.
 */
import type { graphlib, LayoutOptions } from '@dagrejs/dagre';
import type { WiringModel } from './model';

/** What the library keeps of a node while it orders: real ones and the joints of wires that pass a rank. */
interface Ranked {
  readonly rank: number;
  order: number;
  readonly edgeObj?: { readonly v: string; readonly w: string };
}

type Rows = string[][];
/** Every exchange leaves fewer crossings, or as many and more of the order of the text; large networks stop after this many walks. */
const MOST_WALKS = 12;

/** For the library's `customOrder`: gets the ranked graph and the library's own ordering, which it runs first. */
export function rowsAsWritten(model: WiringModel): NonNullable<LayoutOptions['customOrder']> {
  const wanted = writtenRows(model);
  return (graph, order) => {
    order(graph, {});
    const node = (id: string): Ranked => graph.node(id) as Ranked;
    // The joints of a wire stand where it leads, those that lead to one node as their sources do.
    const key = (id: string): number => {
      const wire = node(id).edgeObj;
      return wire ? wanted.get(wire.w)! + wanted.get(wire.v)! / (wanted.size + 1) : wanted.get(id)!;
    };
    const found = rowsOf(graph.nodes(), node);
    const mirrored = found.map((row) => [...row].reverse());
    const asWritten = found.map((row) => [...row].sort((a, b) => key(a) - key(b)));
    const candidates = [asWritten, found, mirrored].map((rows) => settled(rows, graph, key));
    const best = candidates.sort((a, b) => a.crossings - b.crossings || a.against - b.against)[0]!;
    for (const row of best.rows) row.forEach((id, k) => (node(id).order = k));
  };
}

/** Place of each node when the wires are followed from the inputs, at every fork towards the door that is written first. */
function writtenRows({ nodes, edges }: WiringModel): Map<string, number> {
  const ahead = edges.filter((e) => !e.feedback);
  const doors = firstDoors(nodes, ahead);
  const place = new Map(nodes.map((n, k) => [n.id, k]));
  const asWritten = (a: string, b: string): number => doors(a) - doors(b) || place.get(a)! - place.get(b)!;
  const next = new Map<string, string[]>();
  for (const { from, to } of ahead) next.set(from, [...(next.get(from) ?? []), to]);
  const reached = new Set(ahead.map((e) => e.to));
  const open = nodes.map((n) => n.id).filter((id) => !reached.has(id));
  const rows = new Map<string, number>();
  // A stack: what is to be followed first lies on top.
  open.sort(asWritten).reverse();
  for (let id = open.pop(); id !== undefined; id = open.pop()) {
    if (rows.has(id)) continue;
    rows.set(id, rows.size);
    open.push(...(next.get(id) ?? []).sort(asWritten).reverse());
  }
  return rows;
}

/** Index of the first driven node that a node leads to; after all others where it leads to none. */
function firstDoors(nodes: WiringModel['nodes'], ahead: WiringModel['edges']): (id: string) => number {
  const into = new Map<string, string[]>();
  for (const { from, to } of ahead) into.set(to, [...(into.get(to) ?? []), from]);
  const first = new Map<string, number>();
  nodes.forEach((node, k) => {
    if (node.kind !== 'door' && node.kind !== 'line') return;
    const open = [node.id];
    for (let id = open.pop(); id !== undefined; id = open.pop()) {
      if (first.has(id)) continue;
      first.set(id, k);
      open.push(...(into.get(id) ?? []));
    }
  });
  return (id) => first.get(id) ?? nodes.length;
}

function rowsOf(ids: readonly string[], node: (id: string) => Ranked): Rows {
  const rows: Rows = [];
  for (const id of ids) (rows[node(id).rank] ??= []).push(id);
  const ranks = Array.from(rows, (row) => row ?? []);
  for (const row of ranks) row.sort((a, b) => node(a).order - node(b).order);
  return ranks;
}

interface Settled {
  readonly rows: Rows;
  readonly crossings: number;
  /** Neighbours that stand against the text. */
  readonly against: number;
}

function settled(start: Rows, graph: graphlib.Graph, key: (id: string) => number): Settled {
  const rows = start.map((row) => [...row]);
  const at = new Map<string, number>();
  for (const row of rows) row.forEach((id, k) => at.set(id, k));
  const sides = (id: string): readonly (readonly number[])[] =>
    [graph.predecessors(id), graph.successors(id)].map((ids) => (ids ?? []).map((other) => at.get(other)!));
  /** Crossings of the wires of two neighbours with `a` before `b`, less those with `b` before `a`. */
  const excess = (a: string, b: string): number => {
    const [ofA, ofB] = [sides(a), sides(b)];
    return [0, 1].reduce((sum, k) => sum + crossed(ofA[k]!, ofB[k]!) - crossed(ofB[k]!, ofA[k]!), 0);
  };
  for (let walk = 0, changed = true; changed && walk < MOST_WALKS; walk++) {
    changed = false;
    for (const row of rows)
      for (let k = 0; k + 1 < row.length; k++) {
        const [a, b] = [row[k]!, row[k + 1]!];
        const gain = excess(a, b);
        if (gain < 0 || (gain === 0 && key(a) <= key(b))) continue;
        [row[k], row[k + 1]] = [b, a];
        at.set(a, k + 1).set(b, k);
        changed = true;
      }
  }
  const crossings = rows.reduce((sum, row) => sum + crossingsAfter(row, (id) => sides(id)[1]!), 0);
  const against = rows.reduce((sum, row) => sum + row.filter((id, k) => k > 0 && key(row[k - 1]!) > key(id)).length, 0);
  return { rows, crossings, against };
}

/** Pairs of ends, one of each list, that cross where the owner of `before` stands before that of `after`. */
function crossed(before: readonly number[], after: readonly number[]): number {
  let count = 0;
  for (const b of before) for (const a of after) if (b > a) count++;
  return count;
}

function crossingsAfter(row: readonly string[], next: (id: string) => readonly number[]): number {
  let count = 0;
  const seen: number[] = [];
  for (const id of row) {
    const ends = next(id);
    count += crossed(seen, ends);
    seen.push(...ends);
  }
  return count;
}
