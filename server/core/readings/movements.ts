/** What the doors of the built rig did, as the flow engine needs it: their logged passages, or the rig's own where a door has no column. */
import type { DoorMotion, DoorPath } from '../flow/pattern';
import type { Rig } from '../model/rig';
import type { Trace } from '../timing/trace';
import type { RigLog } from './log';
import { rampsOf } from './ramps';
import { travelFit } from './travel-fit';

export interface Movements {
  /** One per door; times from the first moment of the log. */
  readonly doors: readonly DoorPath[];
  /** Doors whose movements are those of the rig as it should be. */
  readonly assumed: readonly number[];
}

/**
 * Null where a door has neither a column nor an expected movement and may not be left shut. `expected`: the rig's own trace, its clock that
 * of the log; `still`: doors whose movements nothing depends on.
 */
export function movementsOf(
  rig: Rig,
  log: RigLog,
  expected: Trace | null,
  still: ReadonlySet<number>,
): Movements | null {
  const origin = log.times[0]!;
  const assumed: number[] = [];
  const doors: DoorPath[] = [];
  for (const [door] of rig.doors.entries()) {
    const column = log.doors.find((c) => c.door === door);
    if (column) doors.push(loggedPath(rig, log, column, origin));
    else if (expected) {
      assumed.push(door);
      doors.push(expectedPath(expected, door, origin));
    } else if (still.has(door)) doors.push({ initial: 0, moves: [] });
    else return null;
  }
  return { doors, assumed };
}

function loggedPath(rig: Rig, log: RigLog, column: RigLog['doors'][number], origin: number): DoorPath {
  const ramps = rampsOf(log, column);
  const { opensIn, closesIn } = rig.doors[column.door]!;
  const [opening, closing] = [true, false].map(
    (opens) => travelFit(log, column, opens, ramps).travel?.value ?? (opens ? opensIn : closesIn).nominal,
  ) as [number, number];
  const first = column.openings.find((x) => !Number.isNaN(x)) ?? 0;
  let free = 0;
  const moves = ramps.flatMap(({ opens, half }): DoorMotion[] => {
    const takes = opens ? opening : closing;
    const t = Math.max(free, Math.round(half - origin - takes / 2));
    const arrives = Math.max(t, Math.round(half - origin + takes / 2));
    free = arrives;
    return [{ t, from: opens ? 0 : 1, to: opens ? 1 : 0, arrives }];
  });
  return { initial: first > 0.5 ? 1 : 0, moves };
}

/** A door of a trace as the flow engine needs it; times from `origin` of its clock. */
export function expectedPath(trace: Trace, door: number, origin: number): DoorPath {
  const { initial, moves } = trace.doors[door]!;
  const before = moves.filter((m) => m.arrives <= origin);
  const later = moves.filter((m) => m.t >= origin);
  return {
    initial: before.length > 0 ? before.at(-1)!.to : initial,
    moves: later.map((m) => ({ t: m.t - origin, from: m.from, to: m.to, arrives: m.arrives - origin })),
  };
}

/** Stretches in which every door stands shut. */
export function quietStretches(doors: readonly DoorPath[], end: number): { from: number; to: number }[] {
  const away: [number, number][] = doors.flatMap((path): [number, number][] => {
    const list: [number, number][] = [];
    let open: number | null = path.initial > 0 ? 0 : null;
    for (const m of path.moves) {
      if (m.to === 1) open ??= m.t;
      else if (open !== null) {
        list.push([open, m.arrives]);
        open = null;
      }
    }
    if (open !== null) list.push([open, end]);
    return list;
  });
  away.sort((a, b) => a[0] - b[0]);
  const quiet: { from: number; to: number }[] = [];
  let free = 0;
  for (const [from, to] of away) {
    if (from > free) quiet.push({ from: free, to: from });
    free = Math.max(free, to);
  }
  if (free < end) quiet.push({ from: free, to: end });
  return quiet;
}
