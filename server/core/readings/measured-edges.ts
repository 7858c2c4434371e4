/** Edges of doors in a log: when each passes half of its opening, with hysteresis so that noise about the half makes no edges. */
import type { Column, DoorColumn, RigLog } from './log';
import { scatterOf } from './log-columns';
import type { DoorTrack } from '../timing/trace';
import { positionAt } from '../model/motion';

export interface HalfEdge {
  /** µs; for a log interpolated between two readings. */
  readonly t: number;
  readonly open: boolean;
  /** Half of the step between the readings around it: how well it is known. */
  readonly within: number;
}

/** How far beyond its half a door must come: eight deviations of the noise, so that noise makes no edges, within these. Own choice. */
const [LEAST_BEYOND, MOST_BEYOND] = [0.03, 0.15];

const beyondHalf = (openings: Column): number => Math.min(MOST_BEYOND, Math.max(LEAST_BEYOND, 8 * scatterOf(openings)));

/** One list per door column of the log, in its order. */
export function measuredEdges(log: RigLog): HalfEdge[][] {
  return log.doors.map((column) => doorEdges(log, column));
}

/** Edges of a column of a door: where it shows two states, moved to when the door passes its half. */
export function doorEdges({ times }: Pick<RigLog, 'times'>, { openings, lead }: DoorColumn): HalfEdge[] {
  const edges = edgesOf(times, openings);
  return lead ? edges.map((e) => ({ ...e, t: Math.round(e.t + (e.open ? lead.opens : lead.closes)) })) : edges;
}

/** Edges of one column of openings, as it shows them. */
export function edgesOf(times: Column, openings: Column): HalfEdge[] {
  const edges: HalfEdge[] = [];
  const beyond = beyondHalf(openings);
  let open: boolean | null = null;
  let [lastT, lastP]: [number, number] = [0, 0];
  let crossing: { readonly t: number; readonly within: number } | null = null;
  /** First of the readings that are the half exactly: a column of words has all of a passage as one. */
  let since = 0;
  openings.forEach((p, k) => {
    if (Number.isNaN(p)) return;
    const t = times[k]!;
    if (open === null) open = p > 0.5;
    else if ((lastP - 0.5) * (p - 0.5) <= 0 && p !== lastP) {
      const half = lastP === 0.5 ? (since + lastT) / 2 : lastT + ((0.5 - lastP) / (p - lastP)) * (t - lastT);
      crossing = { t: Math.round(half), within: (t - lastT) / 2 };
    }
    if (p === 0.5 && lastP !== 0.5) since = t;
    if (open !== null && (open ? p < 0.5 - beyond : p > 0.5 + beyond)) {
      open = !open;
      edges.push({ t: crossing?.t ?? t, within: crossing?.within ?? 0, open });
    }
    [lastT, lastP] = [t, p];
  });
  return edges;
}

/** The same edges of a door as simulated. */
export function expectedEdges(
  track: DoorTrack,
  from: number,
  to: number,
): { readonly t: number; readonly open: boolean; readonly move: number }[] {
  const edges: { t: number; open: boolean; move: number }[] = [];
  let open = track.initial > 0.5;
  track.moves.forEach((m, k) => {
    const goes = m.to === 1;
    if (goes === open || m.from > 0.5 === goes) return;
    const span = Math.abs(m.to - m.from);
    const t = span === 0 ? m.t : Math.round(m.t + ((m.arrives - m.t) * Math.abs(0.5 - m.from)) / span);
    const next = track.moves[k + 1];
    if (next && next.t < t && positionAt(track, next.t) > 0.5 !== goes) return;
    open = goes;
    edges.push({ t, open, move: k });
  });
  return edges.filter((e) => e.t >= from && e.t <= to);
}
