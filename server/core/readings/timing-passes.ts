/** The iterations of a fit of times: edges laid beside those of the engine, the equations they give, and one step along them. */
import type { Trace } from '../timing/trace';
import { align, type Alignment, type EdgePair, type MeasuredLog } from './align';
import { solve } from './least-squares';
import { medianOf } from './statistics';
import { follow } from './stimulus';
import { dependence, type Dependence } from './timing-model';
import type { Setting } from './timing-setting';

/** Deviation, µs, that a time has before the fit. */
export const OPEN = 10e6;
const ROUNDS = 10;
/**
 * Moments that a logger shows as multiples of its step are taken as this much less certain than an even spread over the step would make
 * them. Chosen so that 95 % intervals of seeded logs hold the truth (tests/readings); the spread of a difference of two such moments
 * depends on where they fall within a step.
 */
export const STEPPED = Math.sqrt(1.2);

export interface State {
  /** One per `asked`. */
  values: number[];
  /** Moments of the operations that the log shows, µs of the stimulus. */
  moments: number[];
  /** Time of the log minus time of the trace; null before it is found. */
  offset: number | null;
}

/** One observed edge: what it depends on and by how much it is off. */
export interface Row {
  readonly track: number;
  readonly opens: boolean;
  readonly on: Dependence;
  /** Measured minus expected, and the deviation of it, µs. */
  readonly off: number;
  readonly sigma: number;
}

export interface Pass {
  readonly rows: readonly Row[];
  readonly trace: Trace;
  readonly pairs: readonly EdgePair[];
  readonly measured: MeasuredLog;
}

export function settled(setting: Setting, measured: MeasuredLog, state: State): Pass {
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

export function equations(setting: Setting, rows: readonly Row[], state: State, extra: readonly Row[] = []): Equations {
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
