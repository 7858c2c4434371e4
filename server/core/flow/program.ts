/**
 * A stroke compiled into steps: everything about it that does not depend on the contents (volumes, which cells stand in
 * connection, switched-on times of feeds and draws) is computed once, so that thousands of strokes can be run cheaply.
 *
 * Invariants: steps follow one another without gap (`span` is the time since the last), connections are constant within a step and volumes
 * change evenly in it; a change of connections is a step of no time. So each step is one process that has a closed form or one smooth
 * system of equations, and no event has to be looked for inside it.
 */
import type { CellNetwork, Link } from './cells';
import { groupLabels, pocketVolume } from './cells';
import type { StrokePattern } from './pattern';
import { onTime } from './pattern';
import { notShutAt, positionAt, positionBefore } from '../model/motion';

/** A link within a group, by places in its `cells`; `fresh` where it opens with this step, so that its sides may differ in pressure. */
export interface Edge {
  readonly a: number;
  readonly b: number;
  readonly fresh: boolean;
}

/** Cells in connection during a step, with their volumes at its start and end. */
export interface Group {
  readonly cells: readonly number[];
  /** Sums of `volumesBefore` and `volumes`. */
  readonly before: number;
  readonly after: number;
  /** Volumes of `cells` at the start and at the end of the step. */
  readonly volumesBefore: readonly number[];
  readonly volumes: readonly number[];
  /** Links that join the cells without a loop, wide ones first: the way that flow takes, and the order in which sides become one. */
  readonly edges: readonly Edge[];
  /** No chamber in it: nowhere to go. */
  readonly closed: boolean;
}

/** One process of a stroke: connections fixed, doors moving evenly, or no time passing while connections change. */
export interface Step {
  /** When it ends, µs from the start of the stroke; it starts where the one before ends. */
  readonly t: number;
  /** Seconds since the step before. */
  readonly span: number;
  /** Seconds of those during which each line is switched on. */
  readonly lineSeconds: readonly number[];
  /** Groups that change volume or have lost or gained a cell; the others keep still. */
  readonly groups: readonly Group[];
  /** Measured moves that happen at the end of this step, as indices. */
  readonly moves: readonly number[];
  /** Label of each cell while the step lasts. */
  readonly labels: Int32Array;
  /** Volume of each cell at the start and at the end. */
  readonly before: Float64Array;
  readonly after: Float64Array;
  /** Doors away from shut while the step lasts. */
  readonly notShut: readonly boolean[];
  /** Positions of the doors, 0 shut … 1 open, at the start and at the end; they move evenly. */
  readonly from: readonly number[];
  readonly to: readonly number[];
}

/** A compiled stroke; belongs to a network and a pattern, not to contents. */
export interface Program {
  readonly steps: readonly Step[];
  /** Pocket volumes at the start. */
  readonly startVolumes: Float64Array;
  /** Seconds in all. */
  readonly seconds: number;
  readonly strokes: number;
}

/** Moments at which a door starts, turns round or arrives within `[0, duration]`, ascending, both ends included. */
export function momentsOf(pattern: StrokePattern): number[] {
  const moments = new Set<number>([0, pattern.duration]);
  for (const path of pattern.doors) {
    path.moves.forEach((move, k) => {
      const next = path.moves[k + 1];
      // A movement that the next one turns round never arrives: no moment of its own.
      for (const t of next && next.t < move.arrives ? [move.t] : [move.t, move.arrives]) {
        if (t >= 0 && t <= pattern.duration) moments.add(t);
      }
    });
  }
  return [...moments].sort((a, b) => a - b);
}

/**
 * Compiles a stroke. At each moment, in this order: volumes reach their new size with the connections as they were; connections
 * change; doors that open in no time take up their volume with the new connections.
 */
export function compileStroke(network: CellNetwork, pattern: StrokePattern): Program {
  const builder = new StepBuilder(
    network,
    pattern.doors.map((path) => path.initial),
  );
  const startVolumes = builder.volumes.slice();
  const steps: Step[] = [];
  let last = 0;
  const keep = (t: number, step: Step | null): void => {
    if (step) steps.push(step);
    last = t;
  };
  for (const t of momentsOf(pattern)) {
    const moment = momentOf(pattern, t);
    const lineSeconds = pattern.lines.map((on) => onTime(on, last, t));
    keep(t, builder.move(t, (t - last) / 1e6, moment.reached, lineSeconds));
    keep(t, builder.connect(t, moment.notShut));
    keep(t, builder.move(t, 0, moment.jumped, NO_LINES));
  }
  return { steps, startVolumes, seconds: pattern.duration / 1e6, strokes: Math.max(1, pattern.strokes) };
}

const NO_LINES: readonly number[] = [];

/** Doors, volumes and connections as they stand, and the steps that change them. Compiled strokes and coupled runs both build on it. */
export class StepBuilder {
  volumes: Float64Array;
  labels: Int32Array;
  positions: readonly number[];
  notShut: readonly boolean[];

  constructor(
    private readonly network: CellNetwork,
    positions: readonly number[],
  ) {
    this.positions = positions;
    this.notShut = positions.map((x) => x > 0);
    this.labels = groupLabels(network, this.notShut);
    this.volumes = this.volumesAt(positions);
  }

  /** Doors move evenly to `positions` within `span` seconds, connections as they are; null where nothing can change by it. */
  move(t: number, span: number, positions: readonly number[], lineSeconds: readonly number[]): Step | null {
    const step = this.stretch(t, span, positions, lineSeconds);
    this.takeOver(step);
    return span > 0 || step.groups.length > 0 ? step : null;
  }

  /** Doors stand where a stretch leaves them. */
  takeOver({ to, after }: Step): void {
    this.positions = to;
    this.volumes = after;
  }

  /** The same without taking it over. */
  stretch(t: number, span: number, positions: readonly number[], lineSeconds: readonly number[]): Step {
    const { labels, volumes: before, notShut, positions: from } = this;
    const after = this.volumesAt(positions);
    const groups = groupsOf(this.network, labels, labels, before, after, span > 0);
    return { t, span, lineSeconds, groups, moves: [], labels, before, after, notShut, from, to: positions };
  }

  /** Connections change; measured moves are done where their first door opens. Null where nothing changes by it. */
  connect(t: number, notShut: readonly boolean[]): Step | null {
    const { labels: was, volumes, positions, notShut: wasOpen } = this;
    if (notShut.every((open, door) => open === wasOpen[door])) return null;
    const labels = groupLabels(this.network, notShut);
    const moves = measuredMoves(this.network, wasOpen, notShut);
    this.notShut = notShut;
    this.labels = labels;
    // A door that leaves its seat without joining anything new (its neighbour is shut on the other side) changes nothing yet.
    if (moves.length === 0 && labels.every((label, cell) => label === was[cell])) return null;
    const groups = groupsOf(this.network, was, labels, volumes, volumes, false);
    const still = { before: volumes, after: volumes, from: positions, to: positions };
    return { t, span: 0, lineSeconds: NO_LINES, groups, moves, labels, notShut, ...still };
  }

  private volumesAt(positions: readonly number[]): Float64Array {
    const { network } = this;
    const volumes = new Float64Array(network.chambers + network.doors);
    volumes.set(network.volume);
    positions.forEach((x, door) => (volumes[network.chambers + door] = pocketVolume(network, door, x)));
    return volumes;
  }
}

/** What the doors do at one moment. */
interface Moment {
  /** Positions once movements up to here are done; doors that open in no time still stand where they stood. */
  readonly reached: readonly number[];
  /** Positions with those doors open. */
  readonly jumped: readonly number[];
  readonly notShut: readonly boolean[];
}

/** The end of the stroke belongs to the next one: what starts there is not seen yet. */
function momentOf(pattern: StrokePattern, t: number): Moment {
  // Two positions at a moment, left and right: they differ only for a door that moves in no time.
  const before = pattern.doors.map((path) => positionBefore(path, t));
  if (t === pattern.duration) return { reached: before, jumped: before, notShut: before.map((x) => x > 0) };
  const jumped = pattern.doors.map((path) => positionAt(path, t));
  return {
    // A door that shuts in no time gives up its volume with the old connections, so that what it held goes where it was open to; one that
    // opens takes up its volume with the new ones.
    reached: jumped.map((x, door) => Math.min(x, before[door]!)),
    jumped,
    notShut: pattern.doors.map((path) => notShutAt(path, t)),
  };
}

/**
 * A measured stroke is done when the first door of its stack opens: what is upstream at that instant is what the stroke takes its
 * fraction of, and a sensor sees it gone before the next stroke could start.
 */
function measuredMoves(network: CellNetwork, was: readonly boolean[], is: readonly boolean[]): number[] {
  const done: number[] = [];
  network.measured.forEach((move, index) => {
    const first = move.doors[0];
    if (first !== undefined && !was[first] && is[first]) done.push(index);
  });
  return done;
}

/** Groups that need settling: a volume moved, a cell joined, or time passed in which feeds and draws may have run. */
export function groupsOf(
  network: CellNetwork,
  was: Int32Array,
  labels: Int32Array,
  before: Float64Array,
  after: Float64Array,
  timePassed: boolean,
): Group[] {
  const members = new Map<number, number[]>();
  labels.forEach((label, cell) => {
    const list = members.get(label);
    if (list) list.push(cell);
    else members.set(label, [cell]);
  });
  const groups: Group[] = [];
  for (const cells of members.values()) {
    const moved = cells.some((cell) => before[cell] !== after[cell]);
    const joined = cells.some((cell) => was[cell] !== was[cells[0]!]);
    if (!moved && !joined && !(timePassed && cells.length > 1)) continue;
    const volumesBefore = cells.map((cell) => before[cell]!);
    const volumes = cells.map((cell) => after[cell]!);
    groups.push({
      cells,
      before: sum(volumesBefore),
      after: sum(volumes),
      volumesBefore,
      volumes,
      edges: cells.length > 1 ? edgesOf(network, cells, was) : NO_EDGES,
      closed: cells.every((cell) => cell >= network.chambers),
    });
  }
  return groups;
}

const NO_EDGES: readonly Edge[] = [];
const sum = (values: readonly number[]): number => values.reduce((a, v) => a + v, 0);

/**
 * Links within a group, as many as join its cells: those that were open before, then wide ones, then the others. A pocket that is in a
 * group with others stands open, so every link between two cells of the group is open.
 */
function edgesOf(network: CellNetwork, cells: readonly number[], was: Int32Array): Edge[] {
  const place = new Map(cells.map((cell, k) => [cell, k]));
  const inside = network.links.filter((link) => place.has(link.a) && place.has(link.b));
  // Kruskal's order: joined before, then wide, then through an opening; flow takes the way of least resistance.
  const rank = (link: Link): number => (was[link.a] === was[link.b] ? 0 : link.orifice < 0 ? 1 : 2);
  const root = cells.map((_, k) => k);
  const find = (k: number): number => (root[k] === k ? k : find(root[k]!));
  const edges: Edge[] = [];
  for (const link of inside.sort((x, y) => rank(x) - rank(y))) {
    const [a, b] = [place.get(link.a)!, place.get(link.b)!];
    // Already joined: a further link would close a loop, around which the flow is not determined by pressures alone.
    if (find(a) === find(b)) continue;
    root[find(a)] = find(b);
    edges.push({ a, b, fresh: was[link.a] !== was[link.b] });
  }
  return edges;
}
