/**
 * Places of the wiring, left to right or top to bottom: ranks by the layout library, rows in the order of the text where that costs no
 * crossing, wires that close a loop led back outside of everything, so that feedback is seen at once.
 */
import * as dagre from '@dagrejs/dagre';
import { textWidth } from '../kit/text-width';
import type { WiringEdge, WiringModel, WiringNode } from './model';
import { rowsAsWritten } from './rows';

/** Font sizes in px of names and details; the detail is the smallest text of the picture. */
export const NAME_SIZE = 12.5;
export const DETAIL_SIZE = 11;
/** Scale at which the smallest text is 10 px high: below it, the picture is panned instead of drawn smaller. */
export const READABLE_SCALE = 10 / DETAIL_SIZE;

const MARGIN = 20;
/** Between wires that are led back outside. */
const RETURN_SPACE = 12;
const PLATE_HEIGHT = 42;
const WIDEST_PLATE = 300;

/** In which direction signals run. */
export type Direction = 'right' | 'down';

/** Centre and size of a node, px of the unscaled drawing. */
export interface PlacedNode extends WiringNode {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

interface Point {
  readonly x: number;
  readonly y: number;
}

export interface PlacedEdge extends WiringEdge {
  /** Corners, from the side where the source is left to the side where the target is reached. */
  readonly points: readonly Point[];
}

export interface PlacedWiring {
  readonly direction: Direction;
  readonly width: number;
  readonly height: number;
  readonly nodes: readonly PlacedNode[];
  readonly edges: readonly PlacedEdge[];
}

/** Placed in the direction that can be read at a width in px: left to right where that fits, else whichever hides less of its width. */
export function arrangeWiring(model: WiringModel, width: number): PlacedWiring {
  const right = placeWiring(model, 'right');
  if (right.width * READABLE_SCALE <= width) return right;
  const down = placeWiring(model, 'down');
  return down.width < right.width ? down : right;
}

const placed = new WeakMap<WiringModel, Map<Direction, PlacedWiring>>();

/** Places for all nodes and wires; computed once for each model and direction. */
export function placeWiring(model: WiringModel, direction: Direction): PlacedWiring {
  const known = placed.get(model) ?? new Map<Direction, PlacedWiring>();
  placed.set(model, known);
  const found = known.get(direction) ?? placeNow(model, direction);
  known.set(direction, found);
  return found;
}

/** Top to bottom is left to right in a mirror: everything is placed with x and y exchanged, and exchanged back. */
function placeNow(model: WiringModel, direction: Direction): PlacedWiring {
  const turn = <T extends Size>(box: T): T =>
    direction === 'right' ? box : { ...box, width: box.height, height: box.width };
  const graph = new dagre.graphlib.Graph({ multigraph: true });
  const space = direction === 'right' ? { nodesep: 18, ranksep: 48 } : { nodesep: 24, ranksep: 36 };
  graph.setGraph({ rankdir: 'LR', ...space, marginx: MARGIN, marginy: MARGIN, ranker: 'network-simplex' });
  graph.setDefaultEdgeLabel(() => ({}));
  for (const node of model.nodes) graph.setNode(node.id, turn(sizeOf(node)));
  for (const edge of model.edges) if (!edge.feedback) graph.setEdge(edge.from, edge.to, {}, edge.id);
  dagre.layout(graph, { customOrder: rowsAsWritten(model) });
  const nodes = model.nodes.map((node): PlacedNode => ({ ...node, ...(graph.node(node.id) as Point & Size) }));
  const drawn = routed(nodes, model.edges, graph);
  if (direction === 'right') return { direction, ...drawn };
  const flip = ({ x, y }: Point): Point => ({ x: y, y: x });
  return {
    direction,
    width: drawn.height,
    height: drawn.width,
    nodes: drawn.nodes.map((n) => turn({ ...n, ...flip(n) })),
    edges: drawn.edges.map((e) => ({ ...e, points: e.points.map(flip) })),
  };
}

interface Size {
  readonly width: number;
  readonly height: number;
}

function sizeOf(node: WiringNode): Size {
  const width = Math.max(textWidth(node.name, NAME_SIZE) * 1.06, textWidth(node.detail, DETAIL_SIZE));
  return { width: Math.round(Math.min(WIDEST_PLATE, Math.max(64, width + 34))), height: PLATE_HEIGHT };
}

// ---------------------------------------------------------------- wires, left to right

/** Wires leave and reach their plates straight for this far. */
const STUB = 12;

function routed(
  nodes: readonly PlacedNode[],
  edges: readonly WiringEdge[],
  graph: dagre.graphlib.Graph,
): Omit<PlacedWiring, 'direction'> {
  const byId = new Map(nodes.map((n) => [n.id, n]));
  const bottom = Math.max(0, ...nodes.map((n) => n.y + n.height / 2));
  const right = Math.max(0, ...nodes.map((n) => n.x + n.width / 2));
  let returns = 0;
  const drawn = edges.map((edge): PlacedEdge => {
    const [from, to] = [byId.get(edge.from)!, byId.get(edge.to)!];
    const start = { x: from.x + from.width / 2, y: from.y };
    const end = { x: to.x - to.width / 2, y: pinHeight(edge, edges, byId) };
    if (edge.feedback) {
      returns += 1;
      const clear = { right: clearRight(start.x, nodes), left: clearLeft(end.x, nodes) };
      return { ...edge, points: returnPath(start, end, clear, bottom + 8 + returns * RETURN_SPACE, returns) };
    }
    const via = (graph.edge({ v: edge.from, w: edge.to, name: edge.id }) as { points: Point[] }).points.slice(1, -1);
    const stubs = [
      { x: start.x + STUB, y: start.y },
      { x: end.x - STUB, y: end.y },
    ] as const;
    return { ...edge, points: [start, stubs[0], ...via, stubs[1], end] };
  });
  return {
    nodes,
    edges: drawn,
    width: right + MARGIN + 14,
    height: bottom + MARGIN + (returns + 1) * RETURN_SPACE,
  };
}

/** Between wires into one plate, px: at its short side, and at most where there is room. */
const PIN_SPACE = 12;
const WIDE_PIN_SPACE = 26;

/** Wires into a node stand apart at the side where it is reached, in the order in which they come: sources as they stand, feedback from outside last. */
function pinHeight(edge: WiringEdge, edges: readonly WiringEdge[], byId: ReadonlyMap<string, PlacedNode>): number {
  const to = byId.get(edge.to)!;
  const incoming = edges.filter((e) => e.to === edge.to);
  const from = (e: WiringEdge): number => (e.feedback ? Infinity : byId.get(e.from)!.y);
  if (!incoming.some((e) => e.pin !== incoming[0]!.pin)) incoming.sort((a, b) => (from(a) < from(b) ? -1 : 1));
  const most = to.height > PLATE_HEIGHT ? WIDE_PIN_SPACE : PIN_SPACE;
  const space = Math.min(most, (to.height - 8) / incoming.length);
  return to.y + (incoming.indexOf(edge) - (incoming.length - 1) / 2) * space;
}

/** Right of all plates that stand around or shortly after `x`; so a wire can go down there without running behind one. */
function clearRight(x: number, nodes: readonly PlacedNode[]): number {
  const around = nodes.filter((n) => n.x - n.width / 2 <= x + 24 && n.x + n.width / 2 >= x);
  return Math.max(x, ...around.map((n) => n.x + n.width / 2));
}

function clearLeft(x: number, nodes: readonly PlacedNode[]): number {
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
