/**
 * The control network as plain data, laid out left to right: inputs, elements, what they drive. Positions in px of the unscaled
 * drawing; live states come from a timing model.
 */
import type { Source } from '../../model/problem';
import { BLOCK_PINS } from '../../model/block-pins';
import type { BlockKind, Element, Rig } from '../../model/rig';
import { logicText, readNets } from '../kit/logic-text';
import type { Table } from '../kit/table';
import { elementDetail } from '../timing/lanes';
import { placeWiring } from './layout';

export interface WiringNode {
  /** `net:NAME`, or `door:NAME`, `line:NAME` for what is driven. */
  readonly id: string;
  readonly kind: 'sensor' | 'switch' | 'logic' | 'timer' | 'edge' | 'latch' | 'counter' | 'door' | 'line';
  readonly name: string;
  /** `TOF 1.8 s`, the expression of a logic element, `drives a door`, … */
  readonly detail: string;
  readonly source: Source;
  /** Net whose value it shows; -1 where it has none. */
  readonly net: number;
  /** Centre, and size. */
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface WiringEdge {
  /** `wire:FROM>TO/PIN` */
  readonly id: string;
  readonly from: string;
  readonly to: string;
  /** Net it carries. */
  readonly net: number;
  /** The element reads the opposite. */
  readonly inverted: boolean;
  /** Runs against the reading direction: closes a loop. */
  readonly feedback: boolean;
  /** Input name of the standard's block (`IN`, `S1`, …), empty for logic and drives. */
  readonly pin: string;
  /** Corners, from the source's right side to the target's left side. */
  readonly points: readonly { readonly x: number; readonly y: number }[];
}

export interface WiringModel {
  readonly title: string;
  readonly width: number;
  readonly height: number;
  readonly nodes: readonly WiringNode[];
  readonly edges: readonly WiringEdge[];
  readonly tables: readonly Table[];
}

/** A node and an edge before they have a place. */
export type UnplacedNode = Omit<WiringNode, 'x' | 'y' | 'width' | 'height'>;
export type UnplacedEdge = Omit<WiringEdge, 'points' | 'feedback'>;

/** The wiring of a rig. */
export function wiringModel(rig: Rig): WiringModel {
  const nodes = [...inputNodes(rig), ...elementNodes(rig), ...drivenNodes(rig)];
  const edges = [...elementEdges(rig), ...driveEdges(rig)];
  const placed = placeWiring(nodes, edges);
  return { title: rig.title || rig.name, ...placed, tables: [wireTable(rig, nodes, edges)] };
}

const netId = (rig: Rig, net: number) => `net:${rig.network.nets[net]?.name ?? '?'}`;
const nameOf = (rig: Rig) => (net: number) => rig.network.nets[net]?.name ?? '?';

// ---------------------------------------------------------------- nodes

function inputNodes(rig: Rig): UnplacedNode[] {
  return rig.network.nets.flatMap((net, index): UnplacedNode[] => {
    if (net.kind === 'element') return [];
    const item = net.kind === 'switch' ? rig.switches[net.index]! : rig.sensors[net.index]!;
    return [{ id: `net:${net.name}`, kind: net.kind, name: net.name, detail: net.kind, source: item.at, net: index }];
  });
}

const KINDS: Record<BlockKind, WiringNode['kind']> = {
  LOGIC: 'logic',
  TON: 'timer',
  TOF: 'timer',
  TP: 'timer',
  R_TRIG: 'edge',
  F_TRIG: 'edge',
  SR: 'latch',
  RS: 'latch',
  CTU: 'counter',
};

function elementNodes(rig: Rig): UnplacedNode[] {
  return rig.network.elements.map((element) => {
    const signal = rig.signals.find((s) => s.net === element.net);
    return {
      id: netId(rig, element.net),
      kind: KINDS[element.kind],
      name: element.name,
      detail: describe(rig, element),
      source: signal?.at ?? element.at,
      net: element.net,
    };
  });
}

/** The expression of a logic element; the block with its preset, and its inputs where they are more than names. */
function describe(rig: Rig, element: Element): string {
  const texts = element.inputs.map((input) => logicText(input, nameOf(rig)));
  if (element.kind === 'LOGIC') return texts.join(', ');
  const plain = element.inputs.every((input) => input.op === 'net');
  return plain ? elementDetail(element) : `${elementDetail(element)} of ${texts.join(', ')}`;
}

function drivenNodes(rig: Rig): UnplacedNode[] {
  return rig.drives.flatMap((drive): UnplacedNode[] => {
    const item = drive.kind === 'door' ? rig.doors[drive.target] : rig.lines[drive.target];
    if (!item) return [];
    const kind = drive.kind === 'door' ? 'door' : 'line';
    return [
      { id: `${kind}:${item.name}`, kind, name: item.name, detail: drive.kind, source: drive.at, net: drive.net },
    ];
  });
}

// ---------------------------------------------------------------- wires

function elementEdges(rig: Rig): UnplacedEdge[] {
  return rig.network.elements.flatMap((element) => {
    const to = netId(rig, element.net);
    return element.inputs.flatMap((input, k) => {
      const pin = element.kind === 'LOGIC' ? '' : BLOCK_PINS[element.kind][k]!;
      return readNets(input).map(({ net, inverted }) => {
        const from = netId(rig, net);
        return { id: `wire:${from}>${to}/${pin}`, from, to, net, inverted, pin };
      });
    });
  });
}

function driveEdges(rig: Rig): UnplacedEdge[] {
  const ids = new Set(drivenNodes(rig).map((n) => n.id));
  return rig.drives.flatMap((drive) => {
    const item = drive.kind === 'door' ? rig.doors[drive.target] : rig.lines[drive.target];
    const to = `${drive.kind === 'door' ? 'door' : 'line'}:${item?.name}`;
    if (!ids.has(to)) return [];
    const from = netId(rig, drive.net);
    return [{ id: `wire:${from}>${to}/`, from, to, net: drive.net, inverted: false, pin: '' }];
  });
}

function wireTable(rig: Rig, nodes: readonly UnplacedNode[], edges: readonly UnplacedEdge[]): Table {
  const reads = (id: string) =>
    edges.filter((e) => e.to === id).map((e) => `${e.inverted ? 'not ' : ''}${nameOf(rig)(e.net)}`);
  return {
    caption: 'Wiring, inputs first',
    columns: ['Name', 'What', 'Reads'],
    rows: nodes.map((n) => ({
      id: n.id,
      cells: [n.name, n.detail || n.kind, [...new Set(reads(n.id))].join(', ')],
      source: n.source,
    })),
  };
}
