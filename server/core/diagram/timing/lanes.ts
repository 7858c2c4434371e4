/** Trace → lanes: door positions over time, steps of every net, and each change with what caused it. */
import type { Source } from '../../model/problem';
import { driveOf, drivesOf } from '../../model/logic';
import { positionOf } from '../../model/motion';
import type { Element, Item, Net, Rig } from '../../model/rig';
import type { DoorMove, NetEdge, Trace } from '../../timing/trace';
import { timeText } from '../kit/time-text';
import { travelText } from '../kit/travel-text';
import type { DoorEdgeKind, DoorLane, DoorPoint, LogicLane, TimingEdge } from './model';
import { say } from '../../words/say';

/** Earliest and latest time of an edge, by its id. */
export type EdgeRanges = ReadonlyMap<string, { readonly min: number; readonly max: number }>;

interface Drawing {
  readonly rig: Rig;
  readonly trace: Trace;
  readonly ranges: EdgeRanges;
  /** Id of the change with the same index in the trace. */
  readonly netIds: readonly string[];
}

/** All lanes of a trace: doors in order of declaration, switches, sensors, then signals as written, each after its inner elements. */
export function lanesOf(
  rig: Rig,
  trace: Trace,
  ranges: EdgeRanges = new Map(),
): { doors: DoorLane[]; logic: LogicLane[] } {
  const drawing: Drawing = { rig, trace, ranges, netIds: netEdgeIds(rig, trace) };
  const edges = netEdges(drawing);
  const logic = readingOrder(rig).map((net) => logicLane(drawing, rig.network.nets[net]!, net, edges[net]!));
  const doors = rig.doors.map((_, index) => doorLane(drawing, index));
  return { doors, logic };
}

/** Nets in the order of their lanes. */
function readingOrder(rig: Rig): number[] {
  const { nets, elements } = rig.network;
  const inputs = nets.flatMap((net, index) => (net.kind === 'element' ? [] : [index]));
  const signals = rig.signals.flatMap((signal) => signal.elements.map((e) => elements[e]!.net));
  return [...new Set([...inputs, ...signals, ...nets.keys()])];
}

function netEdgeIds(rig: Rig, trace: Trace): string[] {
  const counts = new Map<string, number>();
  return trace.edges.map((edge) =>
    numbered(counts, `net:${rig.network.nets[edge.net]!.name}/${edge.value ? 'on' : 'off'}`),
  );
}

/** Counts how often `stem` came before: `stem/0`, `stem/1`, … */
function numbered(counts: Map<string, number>, stem: string): string {
  const count = counts.get(stem) ?? 0;
  counts.set(stem, count + 1);
  return `${stem}/${count}`;
}

function netEdges(drawing: Drawing): TimingEdge[][] {
  const byNet: TimingEdge[][] = drawing.rig.network.nets.map(() => []);
  drawing.trace.edges.forEach((edge, index) => byNet[edge.net]!.push(netEdge(drawing, edge, index)));
  return byNet;
}

function netEdge(drawing: Drawing, edge: NetEdge, index: number): TimingEdge {
  const net = drawing.rig.network.nets[edge.net]!;
  const kind = edge.value ? 'on' : 'off';
  return ranged(drawing, {
    id: drawing.netIds[index]!,
    lane: `net:${net.name}`,
    kind,
    t: edge.t,
    cause: drawing.netIds[edge.cause] ?? null,
    response: edge.response,
    preset: edge.preset,
    travel: 0,
    text: edge.value ? say`${net.name} on` : say`${net.name} off`,
    source: netSource(drawing.rig, net, edge),
  });
}

/** A change that a timer brought about comes from its call, others from the signal; inputs from their declaration. */
function netSource(rig: Rig, net: Net, edge: NetEdge): Source {
  if (net.kind === 'switch') return rig.switches[net.index]!.at;
  if (net.kind === 'sensor') {
    const sensor = rig.sensors[net.index]!;
    return (edge.value ? sensor.on : sensor.clears)?.value.at ?? sensor.at;
  }
  return rig.network.elements[net.index]!.at;
}

function ranged(drawing: Drawing, edge: Omit<TimingEdge, 'min' | 'max'>): TimingEdge {
  const range = drawing.ranges.get(edge.id);
  return { ...edge, min: range?.min ?? null, max: range?.max ?? null };
}

// ---------------------------------------------------------------- logic lanes

function logicLane(drawing: Drawing, net: Net, index: number, edges: TimingEdge[]): LogicLane {
  const { rig, trace } = drawing;
  const element = net.kind === 'element' ? rig.network.elements[net.index]! : null;
  const signal = element ? rig.signals.find((s) => s.net === index) : undefined;
  return {
    kind: net.kind === 'element' ? (signal ? 'signal' : 'element') : net.kind,
    id: `net:${net.name}`,
    name: net.name,
    detail: element ? elementDetail(element) : '',
    source: signal?.at ?? element?.at ?? inputSource(rig, net).at,
    places: [signal?.whole ?? element?.at ?? inputSource(rig, net).whole],
    net: index,
    initial: trace.initial[index] ?? false,
    edges,
  };
}

function inputSource(rig: Rig, net: Net): Item {
  return net.kind === 'switch' ? rig.switches[net.index]! : rig.sensors[net.index]!;
}

/** `TOF 1.8 s`, `CTU 5`, `R_TRIG`; empty for plain logic. */
export function elementDetail(element: Element): string {
  if (element.kind === 'LOGIC') return '';
  if (element.preset) return `${element.kind} ${timeText(element.preset.nominal)}`;
  return element.count === null ? element.kind : `${element.kind} ${element.count}`;
}

// ---------------------------------------------------------------- door lanes

function doorLane(drawing: Drawing, index: number): DoorLane {
  const { rig, trace } = drawing;
  const door = rig.doors[index]!;
  const track = trace.doors[index] ?? { initial: 0, moves: [] };
  return {
    kind: 'door',
    id: `door:${door.name}`,
    name: door.name,
    detail: travelText(door),
    source: door.at,
    places: [door.whole, ...drivesOf(rig, index).map((d) => d.whole)],
    door: index,
    points: doorPoints(trace, track.initial, track.moves),
    edges: doorEdges(drawing, index, track.moves),
  };
}

/** Position over the whole trace as corner points; a move cut short by the next one or by the end stops where it had got to. */
export function doorPoints(trace: Trace, initial: number, moves: readonly DoorMove[]): DoorPoint[] {
  const points: DoorPoint[] = [{ t: trace.start, position: initial }];
  moves.forEach((move, k) => {
    points.push({ t: move.t, position: move.from });
    const next = moves[k + 1];
    if (next && next.t < move.arrives) return;
    if (move.arrives <= trace.end) points.push({ t: move.arrives, position: move.to });
  });
  const last = moves[moves.length - 1];
  const end = last && last.arrives > trace.end ? positionOf(last, trace.end) : points[points.length - 1]!.position;
  points.push({ t: trace.end, position: end });
  return points;
}

function startKind(move: DoorMove): DoorEdgeKind {
  if (move.to === 1) return move.from === 0 ? 'opens' : 'turns';
  return move.from === 1 ? 'closes' : 'turns';
}

function doorEdges(drawing: Drawing, index: number, moves: readonly DoorMove[]): TimingEdge[] {
  const { rig, trace, netIds } = drawing;
  const door = rig.doors[index]!;
  const drive = driveOf(rig, index);
  const counts = new Map<string, number>();
  const edges: TimingEdge[] = [];
  const add = (kind: DoorEdgeKind, t: number, cause: string | null, travel: number, source: Source) => {
    const id = numbered(counts, `door:${door.name}/${kind}`);
    const lane = `door:${door.name}`;
    edges.push(
      ranged(drawing, {
        id,
        lane,
        kind,
        t,
        cause,
        response: 0,
        preset: 0,
        travel,
        text: doorText(door.name, kind),
        source,
      }),
    );
    return id;
  };
  moves.forEach((move, k) => {
    const started = add(startKind(move), move.t, netIds[move.cause] ?? null, 0, drive?.at ?? door.at);
    const next = moves[k + 1];
    if (move.arrives > trace.end || (next && next.t < move.arrives)) return;
    const travel = move.to === 1 ? door.opensIn : door.closesIn;
    add(move.to === 1 ? 'opened' : 'shuts', move.arrives, started, move.arrives - move.t, travel.at);
  });
  return edges;
}

function doorText(name: string, kind: DoorEdgeKind): string {
  switch (kind) {
    case 'opens':
      return say`${name} opens`;
    case 'opened':
      return say`${name} fully open`;
    case 'closes':
      return say`${name} closes`;
    case 'shuts':
      return say`${name} shut`;
    case 'turns':
      return say`${name} turns round`;
  }
}
