/**
 * When each stroke of a measured stack took its mass: as the stroke begins to open, unless the readings show the fall at another moment of
 * the stroke. The flow engine is given a first door that opens just then; the doors of a measured stack displace nothing.
 */
import { cellNetwork } from '../flow/cells';
import type { DoorPath } from '../flow/pattern';
import type { Rig } from '../model/rig';
import type { Column, RigLog } from './log';
import { scatterOf } from './log-columns';
import type { Movements } from './movements';
import { medianOf } from './statistics';

export interface MoveMoments {
  /** The path that the first door of a measured stack is given. */
  readonly paths: ReadonlyMap<number, DoorPath>;
  /** All moments, µs from the first of the log: contents jump there. */
  readonly jumps: readonly number[];
  /** By first door of a stack. */
  readonly falls: ReadonlyMap<number, Falls>;
}

export interface Falls {
  /** µs from the first of the log. */
  readonly moments: readonly number[];
  /** The part of those seen that fell somewhere within a step of the log, and at no movement of a door. */
  readonly loose: number;
}

export function moveMoments(rig: Rig, log: RigLog, { doors }: Movements): MoveMoments {
  const paths = new Map<number, DoorPath>();
  const jumps: number[] = [];
  const falls = new Map<number, Falls>();
  for (const { from, to, doors: own } of cellNetwork(rig).measured) {
    const first = own[0];
    // A door that serves another stack as well must move as it did.
    const shared = rig.stacks.filter((s) => s.members.some((m) => m.kind === 'door' && m.index === first)).length > 1;
    if (first === undefined) continue;
    const strokes = strokesOf(doors, own, log.times.at(-1)! - log.times[0]!);
    const seen = strokes.map((s) => (shared ? null : momentOf(log, doors, own, s, from, to)));
    // Strokes whose fall does not stand out are taken to fall as far into the stroke as the others.
    const found = seen.filter((m) => m !== null);
    const delay = found.length > 0 ? medianOf(strokes.flatMap((s, k) => (seen[k] ? [seen[k].t - s.from] : []))) : 0;
    const moments = strokes.map((s, k) => seen[k]?.t ?? Math.round(s.from + Math.max(0, delay)));
    const loose = found.filter((m) => !m.atMove).length / Math.max(1, found.length);
    falls.set(first, { moments, loose });
    jumps.push(...moments);
    if (shared) continue;
    // Open for an instant: the engine moves the fraction as the door leaves its seat.
    const moves = moments.flatMap((t) => [
      { t, from: 0, to: 1 as const, arrives: t },
      { t: t + 1, from: 1, to: 0 as const, arrives: t + 1 },
    ]);
    paths.set(first, { initial: 0, moves });
  }
  return { paths, jumps, falls };
}

interface Stroke {
  readonly from: number;
  /** All doors of the stack are shut again. */
  readonly to: number;
}

/** Strokes begin with the first door of the stack that is known to move. */
function strokesOf(doors: readonly DoorPath[], own: readonly number[], end: number): Stroke[] {
  const leading = own.find((d) => doors[d]!.moves.length > 0) ?? own[0]!;
  const starts = doors[leading]!.moves.filter((m) => m.to === 1).map((m) => m.t);
  return starts.map((from, k) => {
    const next = starts[k + 1] ?? end;
    const arrivals = own.flatMap((d) => doors[d]!.moves.filter((m) => m.to === 0 && m.t >= from && m.arrives <= next));
    return { from, to: Math.max(from, ...arrivals.map((m) => m.arrives)) };
  });
}

function momentOf(
  log: RigLog,
  doors: readonly DoorPath[],
  own: readonly number[],
  stroke: Stroke,
  from: number,
  to: number,
): { readonly t: number; readonly atMove: boolean } | null {
  const origin = log.times[0]!;
  const window = [stroke.from - log.step, stroke.to + 1.5 * log.step] as const;
  const falls = [from, to].flatMap((chamber, side) => {
    const column = log.readings.find((r) => r.chamber === chamber);
    const fall = column && largestJump(log, column.values, window, side === 0 ? -1 : 1);
    return fall ? [fall] : [];
  });
  const [fall] = falls.sort((a, b) => b.sureness - a.sureness);
  if (!fall) return null;
  const [before, after] = [log.times[fall.k - 1]! - origin, log.times[fall.k]! - origin];
  const near = 0.25 * (after - before);
  const events = own.flatMap((d) => doors[d]!.moves.flatMap((m) => [m.t, m.arrives]));
  const candidates = [stroke.from, stroke.to, ...events].filter((t) => t >= before - near && t <= after + near);
  const chosen = candidates[0] ?? Math.round(0.5 * (before + after));
  // Just inside the step that shows it.
  return { t: Math.min(Math.max(chosen, before + 1), after), atMove: candidates.length > 0 };
}

/** The step in which most of the change of a stroke happens; null where none stands out of the noise. */
function largestJump(
  log: RigLog,
  values: Column,
  [from, to]: readonly [number, number],
  sign: 1 | -1,
): { readonly k: number; readonly sureness: number } | null {
  const origin = log.times[0]!;
  const noise = Math.min(scatterOf(values), stillScatter(values)) * Math.SQRT2;
  let best: { k: number; change: number } | null = null;
  let all = 0;
  for (let k = 1; k < values.length; k++) {
    if (log.times[k]! - origin < from || log.times[k - 1]! - origin > to) continue;
    const change = sign * (values[k]! - values[k - 1]!);
    if (Number.isNaN(change)) continue;
    all += change;
    if (!best || change > best.change) best = { k, change };
  }
  if (!best || best.change < 0.5 * all || best.change < 6 * noise) return null;
  return { k: best.k, sureness: best.change / Math.max(noise, 1e-12) };
}

/** Noise from the smaller changes between neighbours (their lower quartile): steps of strokes, however many, do not count. */
function stillScatter(values: Column): number {
  const stride = Math.max(1, Math.floor(values.length / 20_000));
  const changes: number[] = [];
  for (let k = 1; k < values.length; k += stride) {
    const change = Math.abs(values[k]! - values[k - 1]!);
    if (!Number.isNaN(change)) changes.push(change);
  }
  changes.sort((a, b) => a - b);
  return (changes[changes.length >> 2] ?? 0) / (0.3186 * Math.SQRT2);
}
