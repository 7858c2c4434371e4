/** What the doors of the built rig did, as the flow engine needs it: their logged passages, or the rig's own where a door has no column. */
import type { DoorMotion, DoorPath } from '../flow/pattern';
import type { Door, Rig } from '../model/rig';
import type { Trace } from '../timing/trace';
import type { RigLog } from './log';
import { rampsOf, type Ramp } from './ramps';
import { travelFit } from './travel-fit';

export interface Movements {
  /** One per door; times from the first moment of the log. */
  readonly doors: readonly DoorPath[];
  /** Doors whose movements are those of the rig as it should be. */
  readonly assumed: readonly number[];
}

export type MovementReader = (rig: Rig, expected: Trace | null, still: ReadonlySet<number>) => Movements | null;

/**
 * Null where a door has neither a column nor an expected movement and may not be left shut. `expected`: the rig's own trace, its clock that
 * of the log; `still`: doors whose movements nothing depends on.
 */
export const movementsOf = (rig: Rig, log: RigLog, ...asked: [Trace | null, ReadonlySet<number>]): Movements | null =>
  movementReader(log)(rig, ...asked);

/** The same for one rig after the other: passages are looked for once. */
export function movementReader(log: RigLog): MovementReader {
  const origin = log.times[0]!;
  const logged = log.doors.map((column) => ({ door: column.door, path: loggedPaths(log, column, origin) }));
  return (rig, expected, still) => {
    const assumed: number[] = [];
    const doors: DoorPath[] = [];
    for (const [door, stated] of rig.doors.entries()) {
      const known = logged.find((c) => c.door === door);
      if (known) doors.push(known.path(stated));
      else if (expected) {
        assumed.push(door);
        doors.push(expectedPath(expected, door, origin));
      } else if (still.has(door)) doors.push({ initial: 0, moves: [] });
      else return null;
    }
    return { doors, assumed };
  };
}

/** The path of a door from its column; where that does not show how long it takes, as stated. */
function loggedPaths(log: RigLog, column: RigLog['doors'][number], origin: number): (stated: Door) => DoorPath {
  let read: { readonly ramps: readonly Ramp[]; readonly takes: readonly (number | undefined)[] } | null = null;
  const readOnce = () => {
    const ramps = rampsOf(log, column);
    return { ramps, takes: [true, false].map((opens) => travelFit(log, column, opens, ramps).travel?.value) };
  };
  const first = column.openings.find((x) => !Number.isNaN(x)) ?? 0;
  return ({ opensIn, closesIn }) => {
    const { ramps, takes } = (read ??= readOnce());
    const [opening, closing] = [takes[0] ?? opensIn.nominal, takes[1] ?? closesIn.nominal];
    let free = 0;
    const moves = ramps.map(({ opens, half }): DoorMotion => {
      const takes = opens ? opening : closing;
      const t = Math.max(free, Math.round(half - origin - takes / 2));
      const arrives = Math.max(t, Math.round(half - origin + takes / 2));
      free = arrives;
      return { t, from: opens ? 0 : 1, to: opens ? 1 : 0, arrives };
    });
    return { initial: first > 0.5 ? 1 : 0, moves };
  };
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
