/** What stands where at one moment: door positions and net values of a timing model. */
import { lastAt } from '../../model/motion';
import type { DoorLane, DoorPoint, Lane, LogicLane, TimingEdge } from '../timing/model';
import { say } from '../../words/say';

/** Position (0 shut … 1 fully open) at `t`; before the first point as at it, after the last one as at that. */
export function positionAt(points: readonly DoorPoint[], t: number): number {
  const k = lastAt(points, t);
  if (k < 0) return points[0]?.position ?? 0;
  const [here, next] = [points[k]!, points[k + 1]];
  if (!next || next.t === here.t) return here.position;
  return here.position + ((next.position - here.position) * (t - here.t)) / (next.t - here.t);
}

/** Value of a net at `t` (just after it, where it changes at `t`). */
export function valueAt(lane: LogicLane, t: number): boolean {
  const k = lastAt(lane.edges, t);
  return k < 0 ? lane.initial : lane.edges[k]!.kind === 'on';
}

/** `shut`, `fully open`, `opening, 40 %`, `closing, 40 %`, `40 % open` */
export function doorWords(lane: DoorLane, t: number): string {
  const position = positionAt(lane.points, t);
  if (position === 0) return say`shut`;
  if (position === 1) return say`fully open`;
  const percent = `${Math.round(position * 100)} %`;
  const next = positionAt(lane.points, t + 1);
  if (next === position) return say`${percent} open`;
  return next > position ? say`opening, ${percent}` : say`closing, ${percent}`;
}

/** State of a lane in words. */
export function laneWords(lane: Lane, t: number): string {
  return lane.kind === 'door' ? doorWords(lane, t) : valueAt(lane, t) ? say`on` : say`off`;
}

/** All changes in order of time; of equal times, causes before effects (lanes further down come first). */
export function changesOf(lanes: readonly Lane[]): TimingEdge[] {
  const edges = lanes.flatMap((lane, order) => lane.edges.map((edge, k) => ({ edge, order, k })));
  edges.sort((a, b) => a.edge.t - b.edge.t || b.order - a.order || a.k - b.k);
  return edges.map((e) => e.edge);
}
