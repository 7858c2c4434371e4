/** What switches over in a log, door by door and signal by signal, and the same of a trace: the two lists that are laid side by side. */
import { positionAt } from '../model/motion';
import { netAt } from '../timing/course';
import type { Trace } from '../timing/trace';
import type { RigLog, StateColumn } from './log';
import { doorEdges, expectedEdges, type HalfEdge } from './measured-edges';

export interface ExpectedEdge {
  /** µs */
  readonly t: number;
  /** Open, or on. */
  readonly open: boolean;
  /** Index into the moves of the door, or into `Trace.edges`. */
  readonly move: number;
  /** Time until the neighbouring edge of the same track: shorter than the step of a log it may go unseen. */
  readonly lasts: number;
}

export interface MeasuredTrack {
  readonly of: 'door' | 'signal';
  /** Of the door, or of the net. */
  readonly index: number;
  readonly edges: readonly HalfEdge[];
  /** First reading, 0 … 1; null where none was taken. */
  readonly level: number | null;
}

/** One per column of a door, then one per column of a signal that is not among `given` (nets that drive the rig as they were logged). */
export function measuredTracks(log: RigLog, given: ReadonlySet<number>, most: number): MeasuredTrack[] {
  const doors = log.doors.map((column): MeasuredTrack => ({
    of: 'door',
    index: column.door,
    edges: doorEdges(log, column).slice(0, most),
    level: column.openings.find((p) => !Number.isNaN(p)) ?? null,
  }));
  const signals = log.states
    .filter(({ net }) => !given.has(net))
    .map((column): MeasuredTrack => {
      const level = column.states.find((s) => s >= 0) ?? null;
      return { of: 'signal', index: column.net, edges: stateEdges(log, column).slice(0, most), level };
    });
  return [...doors, ...signals];
}

/** A state that changed between two readings changed in the middle of them, give or take half. */
export function stateEdges({ times }: RigLog, { states }: StateColumn): HalfEdge[] {
  const edges: HalfEdge[] = [];
  let [last, value] = [-1, -1];
  states.forEach((s, k) => {
    if (s < 0) return;
    if (value >= 0 && s !== value) {
      const within = (times[k]! - times[last]!) / 2;
      edges.push({ t: Math.round(times[last]! + within), within, open: s === 1 });
    }
    [last, value] = [k, s];
  });
  return edges;
}

/** Edges of a track as simulated. */
export function expectedOf(track: Pick<MeasuredTrack, 'of' | 'index'>, trace: Trace): ExpectedEdge[] {
  const bare =
    track.of === 'door'
      ? expectedEdges(trace.doors[track.index]!, trace.start, trace.end)
      : netEdges(trace, track.index);
  return bare.map((e, k) => ({
    ...e,
    lasts: Math.min(e.t - (bare[k - 1]?.t ?? -Infinity), (bare[k + 1]?.t ?? Infinity) - e.t),
  }));
}

/** Changes of a net that last; what changes back at the same moment is left out. */
function netEdges(trace: Trace, net: number): { t: number; open: boolean; move: number }[] {
  const own = trace.edges.flatMap((e, move) => (e.net === net ? [{ t: e.t, open: e.value, move }] : []));
  const kept: typeof own = [];
  for (const e of own) {
    if (kept.at(-1)?.t === e.t) kept.pop();
    else kept.push(e);
  }
  return kept.filter((e, k) => e.open !== (kept[k - 1]?.open ?? trace.initial[net]));
}

/** Position of a track at a moment of the trace, 0 … 1. */
export const standsAt = (track: Pick<MeasuredTrack, 'of' | 'index'>, trace: Trace, t: number): number =>
  track.of === 'door' ? positionAt(trace.doors[track.index]!, t) : netAt(trace, track.index, t) ? 1 : 0;
