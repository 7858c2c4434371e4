/** The control network as plain data: inputs, elements, what they drive. Live states come from a timing model, places from the layout. */
import type { Source } from '../../model/problem';
import { BLOCK_PINS } from '../../model/block-pins';
import type { BlockKind, Element, Rig } from '../../model/rig';
import { logicText, readNets } from '../kit/logic-text';
import type { Table } from '../kit/table';
import { elementDetail } from '../timing/lanes';
import { kindWord } from '../kit/kind-words';
import { say } from '../../words/say';

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
}

export interface WiringModel {
  readonly title: string;
  /** In the order of the text: inputs, elements, doors, lines. */
  readonly nodes: readonly WiringNode[];
  readonly edges: readonly WiringEdge[];
  readonly tables: readonly Table[];
}

type Wire = Omit<WiringEdge, 'feedback'>;

/** The wiring of a rig. */
export function wiringModel(rig: Rig): WiringModel {
  const nodes = [...inputNodes(rig), ...elementNodes(rig), ...drivenNodes(rig)];
  const ids = new Set(nodes.map((n) => n.id));
  const wires = [...elementEdges(rig), ...driveEdges(rig)].filter((e) => ids.has(e.from) && ids.has(e.to));
  const back = feedbackOf(nodes, wires);
  const edges = wires.map((wire) => ({ ...wire, feedback: back.has(wire.id) }));
  return { title: rig.title || rig.name, nodes, edges, tables: [wireTable(rig, nodes, wires)] };
}

const netId = (rig: Rig, net: number) => `net:${rig.network.nets[net]?.name ?? '?'}`;
const nameOf = (rig: Rig) => (net: number) => rig.network.nets[net]?.name ?? '?';

// ---------------------------------------------------------------- nodes

/** Sensors and switches, in the order in which they are written where they are of one file. */
function inputNodes(rig: Rig): WiringNode[] {
  const inputs = rig.network.nets.flatMap((net, index): WiringNode[] => {
    if (net.kind === 'element') return [];
    const item = net.kind === 'switch' ? rig.switches[net.index]! : rig.sensors[net.index]!;
    return [
      {
        id: `net:${net.name}`,
        kind: net.kind,
        name: net.name,
        detail: kindWord(net.kind),
        source: item.at,
        net: index,
      },
    ];
  });
  const oneFile = inputs.every((n) => n.source.uri === inputs[0]!.source.uri);
  return oneFile ? inputs.sort((a, b) => a.source.start - b.source.start) : inputs;
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

function elementNodes(rig: Rig): WiringNode[] {
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
  return plain ? elementDetail(element) : say`${elementDetail(element)} of ${texts.join(', ')}`;
}

/** Doors in the order in which they are written, then lines. */
function drivenNodes(rig: Rig): WiringNode[] {
  const doors = rig.drives.filter((d) => d.kind === 'door').sort((a, b) => a.target - b.target);
  return [...doors, ...rig.drives.filter((d) => d.kind !== 'door')].flatMap((drive): WiringNode[] => {
    const item = drive.kind === 'door' ? rig.doors[drive.target] : rig.lines[drive.target];
    if (!item) return [];
    const kind = drive.kind === 'door' ? 'door' : 'line';
    return [
      {
        id: `${kind}:${item.name}`,
        kind,
        name: item.name,
        detail: kindWord(drive.kind),
        source: drive.at,
        net: drive.net,
      },
    ];
  });
}

// ---------------------------------------------------------------- wires

function elementEdges(rig: Rig): Wire[] {
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

function driveEdges(rig: Rig): Wire[] {
  const ids = new Set(drivenNodes(rig).map((n) => n.id));
  return rig.drives.flatMap((drive) => {
    const item = drive.kind === 'door' ? rig.doors[drive.target] : rig.lines[drive.target];
    const to = `${drive.kind === 'door' ? 'door' : 'line'}:${item?.name}`;
    if (!ids.has(to)) return [];
    const from = netId(rig, drive.net);
    return [{ id: `wire:${from}>${to}/`, from, to, net: drive.net, inverted: false, pin: '' }];
  });
}

/** Wires that close a loop: those that lead back to a node which a walk along the wires, inputs first, is still inside. */
function feedbackOf(nodes: readonly WiringNode[], edges: readonly Wire[]): Set<string> {
  const out = new Map<string, Wire[]>();
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

function wireTable(rig: Rig, nodes: readonly WiringNode[], edges: readonly Wire[]): Table {
  const reads = (id: string) =>
    edges.filter((e) => e.to === id).map((e) => `${e.inverted ? 'not ' : ''}${nameOf(rig)(e.net)}`);
  return {
    caption: say`Wiring, inputs first`,
    columns: [say`Name`, say`What`, say`Reads`],
    rows: nodes.map((n) => ({
      id: n.id,
      cells: [n.name, n.detail || n.kind, [...new Set(reads(n.id))].join(', ')],
      source: n.source,
    })),
  };
}
