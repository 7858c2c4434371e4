/**
 * Where on its way a door is when a column of two states changes. A limit switch at the seat changes as the door leaves and reaches it, one at
 * the far end as the door is fully open, a drive as it is given; only a log made of positions changes half way. A log does not say which:
 * the place is taken at which most edges of the doors come when the rig as written has them, and where no place does that it is unsure.
 */
import { say } from '../words/say';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { Trace } from '../timing/trace';
import { finish, type Work } from '../work/work';
import { alignWork, measuredLog, type EdgePair } from './align';
import { type DoorColumn, hasTwoStates, type RigLog } from './log';
import { medianOf } from './statistics';
import { follow, type Stimulus } from './stimulus';

type Place = 'half' | 'seat' | 'far end' | 'drive';

/** Parts of the travel between the change and the half of the way, opening and shutting: added to the moment of the change. */
const LEADS: Readonly<Record<Place, readonly [opens: number, closes: number]>> = {
  half: [0, 0],
  seat: [0.5, -0.5],
  'far end': [-0.5, 0.5],
  drive: [0.5, 0.5],
};

/** A median this part of a travel off still speaks for a place: places are half a travel apart. */
const NEAR = 0.25;
/** Part of the kinds of edges that must speak for one place, and kinds at least: two doors, both ways. */
const MOST_SPEAK = 2 / 3;
const LEAST_KINDS = 4;

/** The log with the place of each two-state column, as far as the edges show it; `scenario` of the stimulus that it is held against. */
export const withPlaces = (...asked: Parameters<typeof placesWork>): RigLog => finish(placesWork(...asked));

/** The same in steps. */
export function* placesWork({ rig }: RigFacts, log: RigLog, stimulus: Stimulus): Work<RigLog> {
  const columns = log.doors.filter((column) => hasTwoStates(column) && isCoarse(rig, log, column));
  if (columns.length === 0) return log;
  const trace = follow(rig, rig, stimulus, Math.max(stimulus.length, log.times.at(-1)! - log.times[0]!));
  const places = Object.keys(LEADS) as Place[];
  const found: Speaking[] = [];
  for (const place of places)
    found.push(yield* speaking(rig, placedAt(rig, log, columns, place), trace, stimulus, columns));
  const [half] = found;
  // Half way unless another place suits more of them.
  const best = places.reduce((best, _, k) => (found[k]!.near > found[best]!.near ? k : best), 0);
  const speaks = ({ near, of }: Speaking): boolean => near >= MOST_SPEAK * of;
  const { near, of } = found[best]!;
  const isKnown = best > 0 && of >= LEAST_KINDS && speaks({ near, of });
  if (!isKnown) return half!.of === 0 || speaks(half!) ? log : unsure(rig, log, columns);
  const placed = placedAt(rig, log, columns, places[best]!);
  return { ...placed, exclusions: [...log.exclusions, placeWords(rig, columns, places[best]!)] };
}

/** A log whose two-state columns may change anywhere, once for each place; otherwise itself alone. */
export function withEveryPlace(rig: Rig, log: RigLog): RigLog[] {
  const columns = log.doors.filter(({ lead }) => lead?.unsure);
  if (columns.length === 0) return [log];
  return (Object.keys(LEADS) as Place[]).map((place) => placedAt(rig, log, columns, place));
}

/** Whether half of the travel shows beside the steps of the log. */
function isCoarse(rig: Rig, { step }: RigLog, { door }: DoorColumn): boolean {
  const { opensIn, closesIn } = rig.doors[door]!;
  return Math.max(opensIn.nominal, closesIn.nominal) > step;
}

function placedAt(rig: Rig, log: RigLog, columns: readonly DoorColumn[], place: Place): RigLog {
  const doors = log.doors.map((column): DoorColumn => {
    if (!columns.includes(column)) return column;
    const { opensIn, closesIn } = rig.doors[column.door]!;
    const [opens, closes] = LEADS[place];
    return { ...column, lead: { opens: opens * opensIn.nominal, closes: closes * closesIn.nominal, unsure: false } };
  });
  return { ...log, doors };
}

const unsure = (rig: Rig, log: RigLog, columns: readonly DoorColumn[]): RigLog => ({
  ...log,
  exclusions: [...log.exclusions, openWords(rig, columns)],
  doors: log.doors.map((column) =>
    columns.includes(column) ? { ...column, lead: { opens: 0, closes: 0, unsure: true } } : column,
  ),
});

interface Speaking {
  readonly near: number;
  readonly of: number;
}

/**
 * Kinds of edges (a door, one way), and how many of them come when they are expected. The inputs that drive the rig are known to half a step: by so
 * much all may be off together.
 */
function* speaking(
  rig: Rig,
  log: RigLog,
  trace: Trace,
  { given }: Stimulus,
  columns: readonly DoorColumn[],
): Work<Speaking> {
  const { pairs, offset } = yield* alignWork(measuredLog(log, given), trace, true);
  const kinds = columns.flatMap(({ door }) => {
    const { opensIn, closesIn } = rig.doors[door]!;
    return [true, false].flatMap((open) => {
      const off = pairs.flatMap((p) => deviation(p, door, open, offset));
      return off.length === 0 ? [] : [{ off: medianOf(off), travel: (open ? opensIn : closesIn).nominal }];
    });
  });
  const most = log.step / 2;
  const together = Math.max(-most, Math.min(most, medianOf(kinds.map((k) => k.off))));
  return { near: kinds.filter((k) => Math.abs(k.off - together) <= NEAR * k.travel).length, of: kinds.length };
}

function deviation({ of, index, measured, expected }: EdgePair, door: number, open: boolean, offset: number): number[] {
  if (of !== 'door' || index !== door || !measured || !expected || measured.open !== open) return [];
  return [measured.t - offset - expected.t];
}

const openWords = (rig: Rig, columns: readonly DoorColumn[]): string =>
  say`The columns of ${namesOf(rig, columns)} do not show where on the way they change: an edge may be off by half of the travel.`;

const namesOf = (rig: Rig, columns: readonly DoorColumn[]): string =>
  columns.map(({ door }) => rig.doors[door]!.name).join(', ');

function placeWords(rig: Rig, columns: readonly DoorColumn[], place: Place): string {
  const names = namesOf(rig, columns);
  if (place === 'seat')
    return say`The columns of ${names} change as the door leaves and reaches its seat; they are read so.`;
  if (place === 'far end') return say`The columns of ${names} change at the open end of the travel; they are read so.`;
  return say`The columns of ${names} change with the drive, before the door moves; they are read so.`;
}
