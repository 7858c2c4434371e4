/** Beginnings of logs: up to a gap, or as much as is worth computing. */
import type { Rig } from '../model/rig';
import type { RigLog } from './log';
import { rampsOf } from './ramps';

const MOST_PASSAGES = 240;

/** The log up to a moment, µs of its clock. */
export function cutLog(log: RigLog, to: number): RigLog {
  let n = log.times.findIndex((t) => t > to);
  if (n < 0) n = log.times.length;
  return {
    ...log,
    times: log.times.subarray(0, n),
    doors: log.doors.map((d) => ({ ...d, openings: d.openings.subarray(0, n) })),
    readings: log.readings.map((r) => ({ ...r, values: r.values.subarray(0, n) })),
    states: log.states.map((s) => ({ ...s, states: s.states.subarray(0, n) })),
    gaps: log.gaps.filter((g) => g.to <= to),
  };
}

/** The beginning of the log, with enough passages of doors to judge by. */
export function cutStrokes(rig: Rig, log: RigLog): RigLog {
  const halves = log.doors.flatMap((column) => rampsOf(log, column).map((r) => r.half)).sort((a, b) => a - b);
  const limit = MOST_PASSAGES * Math.max(1, rig.doors.length / 3);
  return halves.length <= limit ? log : cutLog(log, halves[limit]!);
}
