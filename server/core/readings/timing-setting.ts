/** What a log of a built control tells before anything is fitted: tracks, how well their moments are known, and in which pieces it is read. */
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { MeasuredLog } from './align';
import { cutLog } from './cut-log';
import type { RigLog } from './log';
import { rampsOf } from './ramps';
import type { Stimulus } from './stimulus';
import type { ControlTimes } from './timing-model';
import { measuredTracks, type MeasuredTrack } from './tracks';
import { momentDeviation, travelFit } from './travel-fit';

/** Edges of one column that are read at most. */
const MOST_OF_COLUMN = 150;

export interface Setting {
  readonly rig: Rig;
  readonly log: RigLog;
  readonly stimulus: Stimulus;
  readonly tracks: readonly MeasuredTrack[];
  readonly all: ControlTimes;
  /** Indices into `all.times` of those that are fitted. */
  readonly asked: readonly number[];
  /** Deviation of a moment of each track, opening and closing, µs. */
  readonly known: readonly (readonly [opens: number, closes: number])[];
  /** Half of what is not known about the travel of the doors of each track, µs. */
  readonly lags: readonly (readonly [opens: number, closes: number])[];
}

/** The travel of a measured door, both ways, by the line through the readings of each of its passages. */
interface MeasuredTravel {
  readonly column: RigLog['doors'][number];
  readonly ramps: ReturnType<typeof rampsOf>;
  /** Opening and closing. */
  readonly found: readonly ReturnType<typeof travelFit>['travel'][];
}

function travelOf(log: RigLog, column: RigLog['doors'][number]): MeasuredTravel {
  const ramps = rampsOf(log, column);
  return { column, ramps, found: [true, false].map((opens) => travelFit(log, column, opens, ramps).travel) };
}

/** The rig with the travels that were measured, exactly, in place of the stated ones. */
function withTravels(rig: Rig, travels: readonly MeasuredTravel[]): Rig {
  const exactly = (time: Rig['doors'][number]['opensIn'], v: number) => ({ ...time, nominal: v, min: v, max: v });
  return {
    ...rig,
    doors: rig.doors.map((door, d) => {
      const [opens, closes] = travels.find((t) => t.column.door === d)?.found ?? [];
      return {
        ...door,
        opensIn: opens ? exactly(door.opensIn, Math.round(opens.value)) : door.opensIn,
        closesIn: closes ? exactly(door.closesIn, Math.round(closes.value)) : door.closesIn,
      };
    }),
  };
}

export function settingOf(
  rig: Rig,
  log: RigLog,
  stimulus: Stimulus,
  all: ControlTimes,
  asked: readonly number[],
): Setting {
  const tracks = measuredTracks(log, stimulus.given, MOST_OF_COLUMN);
  const travels = log.doors.map((column) => travelOf(log, column));
  const ofDoor = <T>(track: MeasuredTrack, read: (t: MeasuredTravel, opens: boolean) => T): [T, T] => {
    const own = travels.find((t) => t.column.door === track.index)!;
    return [read(own, true), read(own, false)];
  };
  return {
    rig: withTravels(rig, travels),
    log,
    stimulus,
    all,
    asked,
    // Half passages by the line through all readings on the way, where there is one.
    tracks: tracks.map((track) => {
      if (track.of === 'signal') return track;
      const { ramps } = travels.find((t) => t.column.door === track.index)!;
      const nearest = (t: number) => ramps.find((r) => Math.abs(r.half - t) < 2 * log.step);
      return { ...track, edges: track.edges.map((e) => ({ ...e, t: Math.round(nearest(e.t)?.half ?? e.t) })) };
    }),
    known: tracks.map((track): [number, number] =>
      track.of === 'signal'
        ? [log.step / Math.sqrt(12), log.step / Math.sqrt(12)]
        : ofDoor(track, ({ column, ramps }, opens) =>
            Math.max(
              1,
              momentDeviation(
                log,
                column,
                ramps.filter((r) => r.opens === opens),
              ),
            ),
          ),
    ),
    lags: tracks.map((track): [number, number] => {
      if (track.of === 'signal') return [0, 0];
      const { opensIn, closesIn } = rig.doors[track.index]!;
      return ofDoor(track, ({ found }, opens) => {
        const travel = found[opens ? 0 : 1];
        const stated = opens ? opensIn : closesIn;
        return 0.5 * (travel ? travel.deviation : (stated.max - stated.min) / Math.sqrt(12));
      });
    }),
  };
}

/** Logs of the first stroke, of two, of four … and the whole one. */
export function windowsOf({ log, tracks }: Setting, { timing }: RigFacts): MeasuredLog[] {
  const moments = tracks.flatMap((t) => t.edges.map((e) => e.t)).sort((a, b) => a - b);
  const stroke = timing.strokes[0];
  const length = 1.15 * (stroke?.strokeEnds ?? stroke?.repeat ?? 10e6) + log.step;
  const [first, end] = [moments[0] ?? log.times[0]!, log.times.at(-1)!];
  const sigma = Math.max(15_000, log.step / 2);
  // Where a column has more edges than are read, the log ends with them.
  const full = tracks.filter((t) => t.edges.length >= MOST_OF_COLUMN).map((t) => t.edges.at(-1)!.t);
  const last = Math.min(end, ...full);
  const found: MeasuredLog[] = [];
  for (let to = first + length; ; to = first + 2 * (to - first)) {
    const until = to >= last ? last : to;
    const cut = until >= end ? log : cutLog(log, until);
    const own = tracks.map((t) => ({ ...t, edges: t.edges.filter((e) => e.t <= until) }));
    if (cut.times.length >= 3) found.push({ log: cut, tracks: own, sigma, offset: null });
    if (until >= last) return found;
  }
}
