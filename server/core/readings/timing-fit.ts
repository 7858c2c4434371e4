/**
 * Presets and responses of a built control from the edges of its doors and signals. The event engine is run with the values found so far,
 * its edges are laid beside those of the log, and the values are moved by weighted linear least squares (Gauss and Newton): first over one
 * stroke, then over more and more, so that a time far from the stated one shifts no stroke beyond recognition.
 *
 * Moments of triggers and travels of doors are unknowns, too, with what the log says about them as their prior. A value that the edges do
 * not move apart from others is not given; what reading would determine it is found by adding each signal as a column and asking again.
 */
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { Trace } from '../timing/trace';
import { align, type Alignment, type EdgePair, type MeasuredLog } from './align';
import { cutLog } from './cut-log';
import { inverseOf, solve } from './least-squares';
import type { RigLog } from './log';
import { momentDeviation, rampsOf, travelFit } from './ramps';
import { chiSquareLimit, estimate, medianOf, type Estimate } from './statistics';
import { follow, stimulusOf, type Stimulus } from './stimulus';
import {
  controlTimes,
  dependence,
  dependenceOfEdge,
  type ControlTime,
  type ControlTimes,
  type Dependence,
} from './timing-model';
import { measuredTracks, type MeasuredTrack } from './tracks';

export type TimingKind = 'presets' | 'response';

export interface FittedTime {
  readonly time: ControlTime;
  readonly estimate: Estimate | null;
  /** Where there is none: why, and what would determine it. */
  readonly why: string;
}

export interface TimingFit {
  readonly fitted: readonly FittedTime[];
  /** One sentence on how well the edges are met. */
  readonly verdict: string;
  readonly notes: readonly string[];
}

/** Deviation, µs, that a time has before the fit. A time that the fit leaves with more than a part of it is not determined. */
const OPEN = 10e6;
const DETERMINED = 0.03 * OPEN;
/** A time known to less than this part of itself is not reported. */
const POOR = 0.2;
const ROUNDS = 10;
/** Edges of one column at most, and of the whole log. */
const MOST_OF_COLUMN = 150;
/** Residuals of so many times their deviations (squared) mean that something else than what is fitted is not as the rig says. */
const FAR = 9;
/**
 * A difference of two moments that a logger shows as multiples of its step scatters between nothing and √1.5 of what independent moments
 * would, by where it falls within a step: on the average of usual cases by this.
 */
const STEPPED = Math.sqrt(1.2);
/** More edges than this without a counterpart: the rig is not the one that was logged. */
const STRANGE = 1 / 3;

interface Setting {
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

interface State {
  /** One per `asked`. */
  values: number[];
  /** Moments of the operations that the log shows, µs of the stimulus. */
  moments: number[];
  /** Time of the log minus time of the trace; null before it is found. */
  offset: number | null;
}

/** One observed edge: what it depends on and by how much it is off. */
interface Row {
  readonly track: number;
  readonly opens: boolean;
  readonly on: Dependence;
  /** Measured minus expected, and the deviation of it, µs. */
  readonly off: number;
  readonly sigma: number;
}

/** Null where nothing starts a stroke or the rig has none of what is asked for. */
export function fitTiming(facts: RigFacts, log: RigLog, kinds: readonly TimingKind[]): TimingFit | null {
  const stimulus = stimulusOf(facts.rig, facts.timing, log, null);
  if (!stimulus) return null;
  const all = controlTimes(facts.rig);
  const asked = all.times.flatMap(({ kind }, k) =>
    kinds.includes(kind === 'preset' ? 'presets' : 'response') ? [k] : [],
  );
  if (asked.length === 0) return null;
  const setting = settingOf(facts.rig, log, stimulus, all, asked);
  const state: State = {
    values: asked.map((k) => all.times[k]!.stated.nominal),
    moments: stimulus.operations.map((o) => o.t),
    offset: stimulus.given.size > 0 ? log.times[0]! : null,
  };
  let pass: Pass | null = null;
  for (const window of windowsOf(setting, facts)) pass = settled(setting, window, state);
  return pass ? reported(setting, state, pass) : null;
}

// ---------------------------------------------------------------- what is read

function settingOf(rig: Rig, log: RigLog, stimulus: Stimulus, all: ControlTimes, asked: readonly number[]): Setting {
  const tracks = measuredTracks(log, stimulus.given, MOST_OF_COLUMN);
  const travels = log.doors.map((column) => {
    const ramps = rampsOf(log, column);
    return { column, ramps, found: [true, false].map((opens) => travelFit(log, column, opens, ramps).travel) };
  });
  const better: Rig = {
    ...rig,
    doors: rig.doors.map((door, d) => {
      const own = travels.find((t) => t.column.door === d);
      const [opens, closes] = own?.found ?? [];
      const exactly = (time: typeof door.opensIn, v: number) => ({ ...time, nominal: v, min: v, max: v });
      return {
        ...door,
        opensIn: opens ? exactly(door.opensIn, Math.round(opens.value)) : door.opensIn,
        closesIn: closes ? exactly(door.closesIn, Math.round(closes.value)) : door.closesIn,
      };
    }),
  };
  const ofDoor = <T>(track: MeasuredTrack, read: (t: (typeof travels)[number], opens: boolean) => T): [T, T] => {
    const own = travels.find((t) => t.column.door === track.index)!;
    return [read(own, true), read(own, false)];
  };
  return {
    rig: better,
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
function windowsOf({ log, tracks }: Setting, { timing }: RigFacts): MeasuredLog[] {
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

// ---------------------------------------------------------------- iterations

interface Pass {
  readonly rows: readonly Row[];
  readonly trace: Trace;
  readonly pairs: readonly EdgePair[];
  readonly measured: MeasuredLog;
}

function settled(setting: Setting, measured: MeasuredLog, state: State): Pass {
  for (let round = 0; round < ROUNDS; round++) {
    const pass = passOf(setting, measured, state);
    const moved = improve(setting, pass, state);
    if (moved < 20) break;
  }
  return passOf(setting, measured, state);
}

function passOf(setting: Setting, measured: MeasuredLog, state: State): Pass {
  const { asked, all, stimulus, log } = setting;
  const rig = asked.reduce((r, k, i) => all.times[k]!.put(r, state.values[i]!), setting.rig);
  const operations = stimulus.operations.map((o, k) => ({ ...o, t: Math.max(0, Math.round(state.moments[k]!)) }));
  const length = measured.log.times.at(-1)! - log.times[0]! + 1_000_000;
  const trace = follow(rig, rig, { ...stimulus, operations }, Math.max(stimulus.length, length));
  const laid: Alignment = align({ ...measured, offset: state.offset }, trace, true);
  state.offset = laid.offset;
  const scan = rig.controller.style === 'scan' ? rig.controller.time.nominal : 0;
  const rows = laid.pairs.flatMap((pair): Row[] => {
    const { measured: m, expected: e, of, index } = pair;
    if (!m || !e) return [];
    const track = measured.tracks.findIndex((t) => t.of === of && t.index === index);
    const on = dependence(rig, trace, all, pair);
    // What began before the log, with power, has no moment in it.
    if (!on.root && stimulus.given.size > 0) return [];
    const seen =
      of === 'signal' ? Math.max(1, (STEPPED * m.within) / Math.sqrt(3)) : setting.known[track]![e.open ? 0 : 1];
    // Where a scan begins is not known: a moment is off by up to one.
    const sigma = Math.hypot(seen, scan / Math.sqrt(6));
    return [{ track, opens: e.open, on, off: m.t - e.t - laid.offset, sigma }];
  });
  return { rows, trace, pairs: laid.pairs, measured };
}

/** Columns: times asked for; then the offset, or the moment of each operation; then the lag of each track, opening and closing. */
interface Equations {
  readonly normal: number[][];
  readonly gradient: number[];
}

function columnsOf({ asked, stimulus, tracks }: Setting, state: State) {
  const place = new Map(asked.map((k, i) => [k, i]));
  const roots = stimulus.given.size > 0 ? state.moments.length : 1;
  const width = asked.length + roots + 2 * tracks.length;
  const row = ({ on, track, opens }: Pick<Row, 'on' | 'track' | 'opens'>): [number, number][] => {
    const own = [...on.counts].flatMap(([k, n]): [number, number][] => (place.has(k) ? [[place.get(k)!, n]] : []));
    const root =
      stimulus.given.size === 0
        ? 0
        : stimulus.operations.findIndex(
            (o, k) => o.net === on.root?.net && Math.round(state.moments[k]!) === on.root.t,
          );
    if (root >= 0) own.push([asked.length + root, 1]);
    if (track >= 0) own.push([asked.length + roots + 2 * track + (opens ? 0 : 1), 1]);
    return own;
  };
  return { width, roots, row };
}

/** Rows whose readings fall at the same moment of the logger's step, stroke after stroke, say the same again and nothing more. */
function repeated(rows: readonly Row[], { tracks }: Setting): readonly number[] {
  const groups = new Map<string, number[]>();
  rows.forEach(({ track, opens, on }, k) => {
    if (tracks[track]!.of !== 'signal') return;
    const key = `${track} ${opens} ${[...on.counts].join(' ')}`;
    groups.set(key, [...(groups.get(key) ?? []), k]);
  });
  const times = rows.map(() => 1);
  for (const own of groups.values()) {
    if (own.length < 3) continue;
    const mean = own.reduce((s, k) => s + rows[k]!.off, 0) / own.length;
    const spread = Math.sqrt(own.reduce((s, k) => s + (rows[k]!.off - mean) ** 2, 0) / (own.length - 1));
    if (spread < 0.3 * rows[own[0]!]!.sigma) for (const k of own) times[k] = own.length;
  }
  return times;
}

function equations(setting: Setting, rows: readonly Row[], state: State, extra: readonly Row[] = []): Equations {
  const { asked, all, stimulus, log, lags } = setting;
  const { width, roots, row } = columnsOf(setting, state);
  const normal = Array.from({ length: width }, () => new Array<number>(width).fill(0));
  const gradient = new Array<number>(width).fill(0);
  const times = repeated(rows, setting);
  const typical = Math.max(1, medianOf(rows.map((r) => Math.abs(r.off) / r.sigma)) / 0.6745 || 1);
  const put = (r: Row, n: number): void => {
    const own = row(r);
    const far = Math.abs(r.off) / r.sigma / typical;
    const weight = (far > 3 ? 3 / far : 1) / (r.sigma * r.sigma * n);
    for (const [i, a] of own) {
      gradient[i]! += weight * a * r.off;
      for (const [j, b] of own) normal[i]![j]! += weight * a * b;
    }
  };
  rows.forEach((r, k) => put(r, times[k]!));
  for (const r of extra) put(r, 1);
  const prior = (i: number, deviation: number, off: number): void => {
    normal[i]![i]! += 1 / deviation ** 2;
    gradient[i]! += off / deviation ** 2;
  };
  asked.forEach((k, i) => prior(i, OPEN, all.times[k]!.stated.nominal - state.values[i]!));
  const most = Math.max(1, ...times);
  for (let k = 0; k < roots; k++) {
    const seen = stimulus.operations[k]?.t ?? 0;
    if (stimulus.given.size === 0) prior(asked.length + k, 1e3 * OPEN, 0);
    else prior(asked.length + k, STEPPED * (log.step / Math.sqrt(12)) * Math.sqrt(most), seen - state.moments[k]!);
  }
  lags.forEach((own, t) => own.forEach((lag, side) => prior(asked.length + roots + 2 * t + side, Math.max(lag, 1), 0)));
  return { normal, gradient };
}

/** One step; gives the largest move of a time, µs. */
function improve(setting: Setting, { rows }: Pass, state: State): number {
  const { normal, gradient } = equations(setting, rows, state);
  const step = scaledSolve(normal, gradient);
  if (!step) return 0;
  const n = state.values.length;
  let moved = 0;
  state.values = state.values.map((v, i) => {
    const next = Math.max(0, v + step[i]!);
    moved = Math.max(moved, Math.abs(next - v));
    return next;
  });
  if (setting.stimulus.given.size === 0) state.offset = Math.round(state.offset! + step[n]!);
  else state.moments = state.moments.map((m, k) => m + step[n + k]!);
  return moved;
}

/** By unit diagonal: times and offsets differ in size. */
function scaledSolve(normal: readonly (readonly number[])[], right: readonly number[]): number[] | null {
  const scale = normal.map((row, i) => Math.sqrt(row[i]!));
  const scaled = normal.map((row, i) => row.map((v, j) => v / scale[i]! / scale[j]!));
  const found = solve(
    scaled,
    right.map((v, i) => v / scale[i]!),
  );
  return found && found.map((v, i) => v / scale[i]!);
}

// ---------------------------------------------------------------- what is reported

function reported(setting: Setting, state: State, pass: Pass): TimingFit {
  const { asked, all, rig } = setting;
  const { rows, pairs } = pass;
  const lone = pairs.filter((p) => !p.measured || !p.expected).length;
  const strange = lone > STRANGE * pairs.length;
  const { normal } = equations(setting, rows, state);
  const inverse = inverseOf(normal);
  const free = rows.length - asked.length;
  const square = rows.reduce((sum, r) => sum + Math.min((r.off / r.sigma) ** 2, 400), 0);
  const excess = free >= 6 ? square / free : 1;
  const isLoose = free >= 6 && excess > chiSquareLimit(free);
  const scan = rig.controller.style === 'scan' ? rig.controller.time.nominal : 0;
  const fitted = asked.map((k, i): FittedTime => {
    const time = all.times[k]!;
    if (strange) return { time, estimate: null, why: strangeWords(setting, lone, pairs.length) };
    if (free >= 6 && excess > FAR) return { time, estimate: null, why: farWords(setting, rows) };
    const spread = Math.sqrt(inverse?.[i]?.[i] ?? Infinity);
    const count = rows.filter((r) => r.on.counts.has(k)).length;
    if (!(spread < DETERMINED)) return { time, estimate: null, why: openWords(setting, state, pass, k, i, count) };
    const deviation = Math.hypot(spread * Math.sqrt(Math.max(1, excess)), scan / Math.sqrt(3));
    const value = state.values[i]!;
    if (deviation > POOR * value)
      return {
        time,
        estimate: null,
        why: `edges of this log show it to no better than ± ${shortTime(2 * deviation)}; readings in shorter steps would determine it`,
      };
    return { time, estimate: estimate(value, deviation, isLoose ? free : 1e6, count), why: '' };
  });
  return { fitted, verdict: verdictOf(rows, pairs.length, lone), notes: [] };
}

const shortTime = (us: number): string => `${Number((us / 1000).toPrecision(2))} ms`;

function strangeWords(setting: Setting, lone: number, of: number): string {
  const other = othersOf(setting);
  const both = other ? `; if the ${other} are not as stated either, fit both: --only presets,response` : '';
  return `${lone} of ${of} edges have no counterpart in the rig as written; compare and diagnose show where they part${both}`;
}

/** What is not fitted and taken as stated, where the rig has it. */
function othersOf({ asked, all }: Setting): 'presets' | 'responses' | null {
  const kinds = new Set(asked.map((k) => all.times[k]!.kind));
  if (all.times.every(({ kind }) => kinds.has(kind))) return null;
  return kinds.has('preset') ? 'responses' : 'presets';
}

function farWords(setting: Setting, rows: readonly Row[]): string {
  const missed = shortTime(medianOf(rows.map((r) => Math.abs(r.off))));
  const other = othersOf(setting);
  return other
    ? `with ${other} as stated the edges are missed by ${missed} and more; fit both: --only presets,response`
    : `the edges are missed by ${missed} and more whatever it is; compare and diagnose show where`;
}

function verdictOf(rows: readonly Row[], edges: number, lone: number): string {
  const rms = Math.sqrt(rows.reduce((s, r) => s + r.off ** 2, 0) / Math.max(1, rows.length));
  const rest = lone > 0 ? `; ${lone} have no counterpart` : '';
  return `The fit meets ${rows.length} of ${edges} edges of doors and signals to ${shortTime(rms)} (root mean square)${rest}.`;
}

/** Why a time is not determined, and the column that would determine it. */
function openWords(setting: Setting, state: State, pass: Pass, time: number, place: number, count: number): string {
  const { all, rig } = setting;
  if (count === 0 && all.times[time]!.kind === 'preset' && !ranOut(setting, pass, time))
    return 'it does not run out in this log; a longer log, or a stroke in which it does, would determine it';
  const nets = rig.network.nets.map((_, net) => net).filter((net) => !setting.log.states.some((s) => s.net === net));
  const single = nets.find((net) => isDetermined(setting, state, pass, place, [net]));
  const why = count === 0 ? 'no edge of this log depends on it' : 'the edges show it only in sums with other times';
  if (single !== undefined) return `${why}; a column of ${rig.network.nets[single]!.name} would determine it`;
  if (isDetermined(setting, state, pass, place, nets))
    return `${why}; columns of the signals and of the trigger would determine it`;
  return `${why}; it takes a log in which the other times differ`;
}

const ranOut = ({ all, rig }: Setting, { trace }: Pass, time: number): boolean =>
  trace.edges.some((e) => {
    const net = rig.network.nets[e.net]!;
    return e.preset > 0 && net.kind === 'element' && all.presets[net.index] === time;
  });

/** Whether it would be determined, were these nets logged as well. */
function isDetermined(
  setting: Setting,
  state: State,
  { rows, trace, measured }: Pass,
  place: number,
  nets: readonly number[],
): boolean {
  const { rig, all, log, stimulus } = setting;
  const sigma = log.step / Math.sqrt(12);
  const until = measured.log.times.at(-1)! - (state.offset ?? 0);
  const from = log.times[0]! - (state.offset ?? 0);
  const extra = trace.edges.flatMap((e, k): Row[] => {
    if (!nets.includes(e.net) || e.t < from || e.t > until) return [];
    const on = dependenceOfEdge(rig, trace, all, k);
    return !on.root && stimulus.given.size > 0 ? [] : [{ track: -1, opens: e.value, on, off: 0, sigma }];
  });
  if (extra.length === 0) return false;
  const inverse = inverseOf(equations(setting, rows, state, extra).normal);
  return Math.sqrt(inverse?.[place]?.[place] ?? Infinity) < DETERMINED;
}
