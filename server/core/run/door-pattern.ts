/** From timing traces to the door movements the flow engine runs on. */
import type { StrokePattern } from '../flow/pattern';
import { drivesOfLine } from '../model/logic';
import { pieceOf } from '../model/motion';
import type { Rig } from '../model/rig';
import { pulsesOf } from '../timing/course';
import type { StrokeFacts } from '../timing/facts';
import type { Trace } from '../timing/trace';

/** Times within `[from, to)` at which a net is on, counted from `from`. */
function onTimes(trace: Trace, net: number, from: number, to: number): [number, number][] {
  return pulsesOf(trace, net).flatMap((pulse): [number, number][] => {
    const [on, off] = [Math.max(pulse.from, from), Math.min(pulse.to ?? to, to)];
    return off > on ? [[on - from, off - from]] : [];
  });
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
  return { doors: trace.doors.map((track) => pieceOf(track, from, to)), duration: to - from, strokes, repeats, lines };
}

/** The end of a piece of a trace, µs: one further where a door moves at that very instant, in no time, for a piece ends before its end. */
export const throughEnd = ({ doors }: Trace, end: number): number =>
  doors.some(({ moves }) => moves.some((move) => move.t === end)) ? end + 1 : end;

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
  const { trace, repeat, pattern } = stroke;
  const { from, to } = patternRange(stroke);
  const repeats = pattern !== null && repeat !== null;
  return patternOf(rig, trace, from, to, repeats ? Math.max(1, stroke.strokesPerPeriod) : 1, repeats);
}

/** The part of the trace of a stroke that is its pattern, µs. */
export function patternRange({ pattern, trace, starts, repeat, strokeEnds }: StrokeFacts): {
  from: number;
  to: number;
} {
  if (pattern === null || repeat === null) {
    return { from: trace.start, to: Math.max(strokeEnds ?? throughEnd(trace, trace.end), trace.start + 1) };
  }
  const period = pattern.to - pattern.from;
  const from = starts.find((t) => t >= pattern.from && t + period <= trace.end) ?? pattern.from;
  return { from, to: from + period };
}
