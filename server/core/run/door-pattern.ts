/** From timing traces to the door movements the flow engine runs on. */
import type { DoorMotion, DoorPath, StrokePattern } from '../flow/pattern';
import { drivesOfLine } from '../model/logic';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import type { DoorTrack, Trace } from '../timing/trace';

/** Position of a door just before `t`. */
function positionBefore(track: DoorTrack, t: number): { position: number; under: DoorMotion | null } {
  let last: DoorMotion | null = null;
  for (const move of track.moves) {
    if (move.t >= t) break;
    last = move;
  }
  if (!last) return { position: track.initial, under: null };
  if (t >= last.arrives) return { position: last.to, under: null };
  const position = last.from + ((last.to - last.from) * (t - last.t)) / (last.arrives - last.t);
  return { position, under: { t: 0, from: position, to: last.to, arrives: last.arrives - t } };
}

function pathOf(track: DoorTrack, from: number, to: number): DoorPath {
  const { position, under } = positionBefore(track, from);
  const inside = track.moves.filter((m) => m.t >= from && m.t < to);
  const moves = inside.map((m) => ({ t: m.t - from, from: m.from, to: m.to, arrives: m.arrives - from }));
  const startsOver = inside[0]?.t === from;
  return { initial: position, moves: under && !startsOver ? [under, ...moves] : moves };
}

/** Times within `[from, to)` at which a net is on, counted from `from`. */
function onTimes(trace: Trace, net: number, from: number, to: number): [number, number][] {
  const on: [number, number][] = [];
  let since: number | null = trace.initial[net] ? Math.max(trace.start, from) : null;
  const close = (t: number): void => {
    if (since !== null && t > since && t > from && since < to)
      on.push([Math.max(since, from) - from, Math.min(t, to) - from]);
    since = null;
  };
  for (const edge of trace.edges) {
    if (edge.net !== net) continue;
    if (edge.value) since ??= edge.t;
    else close(edge.t);
  }
  close(to);
  return on;
}

/** Doors and lines of a rig over `[from, to)` of a trace. A line without a drive is on all the time. */
export function patternOf(
  rig: Rig,
  trace: Trace,
  from: number,
  to: number,
  strokes: number,
  repeats: boolean,
): StrokePattern {
  const lines = rig.lines.map((_, line) => {
    const drives = drivesOfLine(rig, line);
    if (drives.length === 0) return [[0, to - from] as [number, number]];
    return union(drives.flatMap((d) => onTimes(trace, d.net, from, to)));
  });
  return { doors: trace.doors.map((track) => pathOf(track, from, to)), duration: to - from, strokes, repeats, lines };
}

/** Overlapping intervals joined. */
function union(intervals: readonly [number, number][]): [number, number][] {
  const joined: [number, number][] = [];
  for (const [from, to] of [...intervals].sort((a, b) => a[0] - b[0])) {
    const last = joined[joined.length - 1];
    if (last && from <= last[1]) last[1] = Math.max(last[1], to);
    else joined.push([from, to]);
  }
  return joined;
}

/**
 * The stroke of the timing facts as the flow engine runs it: one period of the repeating pattern, from the start of a stroke; where
 * it does not repeat, the one stroke as it is.
 */
export function strokePattern(rig: Rig, stroke: StrokeFacts): StrokePattern {
  const { pattern, trace, starts } = stroke;
  if (pattern === null || stroke.repeat === null) {
    const end = Math.max(stroke.strokeEnds ?? trace.end, trace.start + 1);
    return patternOf(rig, trace, trace.start, end, 1, false);
  }
  const period = pattern.to - pattern.from;
  const from = starts.find((t) => t >= pattern.from && t + period <= trace.end) ?? pattern.from;
  return patternOf(rig, trace, from, from + period, Math.max(1, stroke.strokesPerPeriod), true);
}
