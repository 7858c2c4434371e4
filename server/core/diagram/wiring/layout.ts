/**
 * Places of the wiring: ranks from left to right by the layout library, wires that close a loop led back underneath, so that what is
 * feedback is seen at once.
 */
import * as dagre from '@dagrejs/dagre';
import { textWidth } from '../kit/text-width';
import type { UnplacedEdge, UnplacedNode, WiringEdge, WiringNode } from './model';

const NAME_SIZE = 12.5;
const DETAIL_SIZE = 10.5;
const MARGIN = 20;
/** Between wires that are led back underneath. */
const RETURN_SPACE = 12;

type Placed = { width: number; height: number; nodes: WiringNode[]; edges: WiringEdge[] };

/** Places for all nodes and wires; wires to or from something that is not there are left out. */
export function placeWiring(nodes: readonly UnplacedNode[], wires: readonly UnplacedEdge[]): Placed {
  const ids = new Set(nodes.map((n) => n.id));
  const edges = wires.filter((e) => ids.has(e.from) && ids.has(e.to));
  const back = feedbackOf(nodes, edges);
  const graph = new dagre.graphlib.Graph({ multigraph: true });
  graph.setGraph({
    rankdir: 'LR',
    nodesep: 18,
    ranksep: 56,
    marginx: MARGIN,
    marginy: MARGIN,
    ranker: 'network-simplex',
  });
  graph.setDefaultEdgeLabel(() => ({}));
  for (const node of nodes) graph.setNode(node.id, { ...sizeOf(node) });
  for (const edge of edges) if (!back.has(edge.id)) graph.setEdge(edge.from, edge.to, {}, edge.id);
  dagre.layout(graph);
  const placed = nodes.map((node): WiringNode => ({
    ...node,
    ...(graph.node(node.id) as Pick<WiringNode, 'x' | 'y' | 'width' | 'height'>),
  }));
  return routed(placed, edges, back, graph);
}

function sizeOf(node: UnplacedNode): { width: number; height: number } {
  const width = Math.max(textWidth(node.name, NAME_SIZE) * 1.06, textWidth(node.detail, DETAIL_SIZE));
  return { width: Math.round(Math.min(300, Math.max(64, width + 34))), height: 42 };
}

/** Wires that close a loop: those that lead back to a node which a walk along the wires, inputs first, is still inside. */
function feedbackOf(nodes: readonly UnplacedNode[], edges: readonly UnplacedEdge[]): Set<string> {
  const out = new Map<string, UnplacedEdge[]>();
  for (const edge of edges) out.set(edge.from, [...(out.get(edge.from) ?? []), edge]);
  const state = new Map<string, 'inside' | 'done'>();
  const back = new Set<string>();
  for (const node of nodes) walk(node.id);
  return back;

  // A stack of its own: a long chain of elements must not overflow the call stack.
  function walk(start: string): void {
    const path: { id: string; next: number }[] = state.has(start) ? [] : [{ id: start, next: 0 }];
    if (path.length > 0) state.set(start, 'inside');
    while (path.length > 0) {
      const top = path[path.length - 1]!;
      const edge = out.get(top.id)?.[top.next++];
      if (!edge) state.set(path.pop()!.id, 'done');
      else if (state.get(edge.to) === 'inside') back.add(edge.id);
      else if (!state.has(edge.to)) {
        state.set(edge.to, 'inside');
        path.push({ id: edge.to, next: 0 });
      }
    }
  }
}

/** Wires leave and reach their plates straight for this far. */
const STUB = 12;

interface Point {
  readonly x: number;
  readonly y: number;
}

function routed(
  nodes: readonly WiringNode[],
  edges: readonly UnplacedEdge[],
  back: ReadonlySet<string>,
  graph: dagre.graphlib.Graph,
): Placed {
  const byId = new Map(nodes.map((n) => [n.id, n]));
  const bottom = Math.max(0, ...nodes.map((n) => n.y + n.height / 2));
  const right = Math.max(0, ...nodes.map((n) => n.x + n.width / 2));
  let returns = 0;
  const drawn = edges.map((edge): WiringEdge => {
    const [from, to] = [byId.get(edge.from)!, byId.get(edge.to)!];
    const start = { x: from.x + from.width / 2, y: from.y };
    const end = { x: to.x - to.width / 2, y: pinHeight(edge, edges, byId) };
    if (back.has(edge.id)) {
      returns += 1;
      const clear = { right: clearRight(start.x, nodes), left: clearLeft(end.x, nodes) };
      return {
        ...edge,
        feedback: true,
        points: returnPath(start, end, clear, bottom + 8 + returns * RETURN_SPACE, returns),
      };
    }
    const via = (graph.edge({ v: edge.from, w: edge.to, name: edge.id }) as { points: Point[] }).points.slice(1, -1);
    return {
      ...edge,
      feedback: false,
      points: [start, { x: start.x + STUB, y: start.y }, ...via, { x: end.x - STUB, y: end.y }, end],
    };
  });
  return {
    nodes: [...nodes],
    edges: drawn,
    width: right + MARGIN + 14,
    height: bottom + MARGIN + (returns + 1) * RETURN_SPACE,
  };
}

/** Wires into a node stand apart at its left side, in the order in which their sources stand. */
function pinHeight(edge: UnplacedEdge, edges: readonly UnplacedEdge[], byId: ReadonlyMap<string, WiringNode>): number {
  const to = byId.get(edge.to)!;
  const incoming = edges.filter((e) => e.to === edge.to);
  if (!incoming.some((e) => e.pin !== incoming[0]!.pin))
    incoming.sort((a, b) => byId.get(a.from)!.y - byId.get(b.from)!.y);
  const space = Math.min(12, (to.height - 8) / incoming.length);
  return to.y + (incoming.indexOf(edge) - (incoming.length - 1) / 2) * space;
}

/** Right of all plates that stand around or shortly after `x`; so a wire can go down there without running behind one. */
function clearRight(x: number, nodes: readonly WiringNode[]): number {
  const around = nodes.filter((n) => n.x - n.width / 2 <= x + 24 && n.x + n.width / 2 >= x);
  return Math.max(x, ...around.map((n) => n.x + n.width / 2));
}

function clearLeft(x: number, nodes: readonly WiringNode[]): number {
  const around = nodes.filter((n) => n.x + n.width / 2 >= x - 24 && n.x - n.width / 2 <= x);
  return Math.min(x, ...around.map((n) => n.x - n.width / 2));
}

/** Out to the right, down, back underneath, up to the left of the target. */
function returnPath(
  start: Point,
  end: Point,
  clear: { right: number; left: number },
  y: number,
  count: number,
): Point[] {
  const [out, into] = [clear.right + 8 + (count % 3) * 4, clear.left - 14 - (count % 4) * 4];
  return [start, { x: out, y: start.y }, { x: out, y }, { x: into, y }, { x: into, y: end.y }, end];
}
