/**
 * A stroke compiled into steps: everything about it that does not depend on the contents (volumes, which cells stand in
 * connection, switched-on times of feeds and draws) is worked out once, so that thousands of strokes can be run cheaply.
 */
import type { CellNetwork } from './cells';
import { groupLabels, pocketVolume } from './cells';
import type { StrokePattern } from './pattern';
import { onTime } from './pattern';
import { notShutAt, positionAt, positionBefore } from '../model/motion';

/** Cells in connection during a step, with their volumes at its end. */
export interface Group {
  readonly cells: readonly number[];
  readonly before: number;
  readonly after: number;
  /** Volumes of `cells` at the end of the step. */
  readonly volumes: readonly number[];
  /** No chamber in it: nowhere to go. */
  readonly closed: boolean;
}

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
}

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
  const cells = network.chambers + network.doors;
  const volumes: Float64Array = new Float64Array(cells);
  volumes.set(network.volume);
  const place = (at: (door: number) => number, into: Float64Array): void => {
    for (let door = 0; door < network.doors; door++) {
      into[network.chambers + door] = pocketVolume(network, door, at(door));
    }
  };
  place((door) => pattern.doors[door]!.initial, volumes);
  const startVolumes = volumes.slice();
  let shutState: readonly boolean[] = pattern.doors.map((path) => path.initial > 0);
  let labels = groupLabels(network, shutState);
  const steps: Step[] = [];
  let before: Float64Array = volumes;
  let last = 0;
  const push = (t: number, after: Float64Array, next: Int32Array, moves: readonly number[]): void => {
    const lineSeconds = pattern.lines.map((on) => onTime(on, last, t));
    const groups = groupsOf(network, labels, next, before, after, t > last);
    if (t > last || groups.length > 0 || moves.length > 0) {
      steps.push({ t, span: (t - last) / 1e6, lineSeconds, groups, moves, labels: next });
    }
    labels = next;
    before = after;
    last = t;
  };
  for (const t of momentsOf(pattern)) {
    const moment = momentOf(pattern, t);
    const settled = before.slice();
    place((door) => moment.reached[door]!, settled);
    push(t, settled, labels, []);
    const next = groupLabels(network, moment.notShut);
    const moves = measuredMoves(network, shutState, moment.notShut);
    if (next.some((label, cell) => label !== labels[cell]) || moves.length > 0) push(t, settled, next, moves);
    shutState = moment.notShut;
    const opened = settled.slice();
    place((door) => moment.jumped[door]!, opened);
    if (opened.some((volume, cell) => volume !== settled[cell])) push(t, opened, labels, []);
  }
  return { steps, startVolumes, seconds: pattern.duration / 1e6, strokes: Math.max(1, pattern.strokes) };
}

interface Moment {
  /** Positions once movements up to here are done; doors that open in no time still stand where they stood. */
  readonly reached: readonly number[];
  /** Positions with those doors open. */
  readonly jumped: readonly number[];
  readonly notShut: readonly boolean[];
}

/** The end of the stroke belongs to the next one: what starts there is not seen yet. */
function momentOf(pattern: StrokePattern, t: number): Moment {
  const before = pattern.doors.map((path) => positionBefore(path, t));
  if (t === pattern.duration) return { reached: before, jumped: before, notShut: before.map((x) => x > 0) };
  const jumped = pattern.doors.map((path) => positionAt(path, t));
  return {
    reached: jumped.map((x, door) => Math.min(x, before[door]!)),
    jumped,
    notShut: pattern.doors.map((path) => notShutAt(path, t)),
  };
}

/** A measured stroke is done when the last door of its stack shuts. */
function measuredMoves(network: CellNetwork, was: readonly boolean[], is: readonly boolean[]): number[] {
  const done: number[] = [];
  network.measured.forEach((move, index) => {
    const lastDoor = move.doors[move.doors.length - 1];
    if (lastDoor !== undefined && was[lastDoor] && !is[lastDoor]) done.push(index);
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
    groups.push({
      cells,
      before: cells.reduce((sum, cell) => sum + before[cell]!, 0),
      after: cells.reduce((sum, cell) => sum + after[cell]!, 0),
      volumes: cells.map((cell) => after[cell]!),
      closed: cells.every((cell) => cell >= network.chambers),
    });
  }
  return groups;
}
