/**
 * What every cell of a followed run holds, stretch by stretch, so that pictures can say what flows at any moment of it. Kept as it comes
 * and read only when drawn; of long runs the beginning.
 */
import { cellPressure } from '../flow/loads';
import type { FlowModel } from '../flow/rig-model';
import { flowsThrough } from '../flow/stroke-course';
import type { Contents } from '../flow/contents';
import type { Recorder } from './record';

/** Moments that are kept of a run: some hundreds of strokes. What is counted and not followed takes none. */
const MOST = 6_000;

/** Two stretches are one where contents and volumes between them are off an even change by less than this part of the greatest. */
const EVEN = 1e-3;

/** The cells at a moment of a run, and what has come since the moment before. */
export interface RunMoment {
  /** µs; two at one time where something happens at once. */
  readonly t: number;
  /** Per cell (chambers, then pockets): kg, K and m3. */
  readonly mass: Float64Array;
  readonly temperature: Float64Array;
  readonly volume: Float64Array;
  /** Doors away from shut since the moment before. */
  readonly notShut: readonly boolean[];
  /** kg that feeds and draws have brought each cell since then; null where the time since then was counted, not followed. */
  readonly brought: Float64Array | null;
}

export class FlowCourse {
  readonly moments: RunMoment[] = [];
  /** Whether there was more than is kept. */
  isCut = false;
  private lines: Float64Array;

  constructor(
    private readonly model: FlowModel,
    private readonly contents: Contents,
    private readonly record: Recorder,
  ) {
    this.lines = record.lines.slice();
  }

  /** Keeps the cells at `t`; where everything goes on as evenly as since the moment before, in place of that. */
  keep(t: number, volume: Float64Array, notShut: readonly boolean[]): void {
    if (this.isCut) return;
    const { moments } = this;
    const last = moments.at(-1);
    if (last?.t === t && last.mass.every((m, cell) => m === this.contents.mass[cell])) return;
    const moment = this.moment(t, volume, notShut);
    if (last && goesOn(moments.at(-2), last, moment)) {
      moments.pop();
      last.brought!.forEach((m, cell) => (moment.brought![cell]! += m));
    } else if (moments.length >= MOST) {
      this.isCut = true;
      return;
    }
    moments.push(moment);
  }

  /** Goes on at `t` after a time that was counted. */
  resume(t: number, volume: Float64Array): void {
    if (this.isCut || this.moments.length >= MOST) return;
    this.moments.push({ ...this.moment(t, volume, []), brought: null });
  }

  private moment(t: number, volume: Float64Array, notShut: readonly boolean[]): RunMoment {
    const { mass, temperature } = this.contents;
    const brought = new Float64Array(mass.length);
    this.model.lines.forEach(({ chamber, sign }, k) => {
      brought[chamber] = brought[chamber]! + sign * (this.record.lines[k]! - this.lines[k]!);
    });
    this.lines = this.record.lines.slice();
    return {
      t,
      mass: mass.slice(),
      temperature: temperature.slice(),
      volume: volume.slice(),
      notShut: [...notShut],
      brought,
    };
  }
}

/** Whether the same doors are away from shut as in the stretch before, and contents and volumes change as fast. */
function goesOn(before: RunMoment | undefined, last: RunMoment, now: RunMoment): boolean {
  if (!before || !last.brought || now.t === last.t || last.t === before.t) return false;
  if (now.notShut.some((away, door) => away !== last.notShut[door])) return false;
  const share = (last.t - before.t) / (now.t - before.t);
  return isBetween(before.volume, last.volume, now.volume, share) && isMassBetween(before, last, now, share);
}

/** Whether `middle` is this share of the way from `a` to `b`, in every cell. */
function isBetween(a: Float64Array, middle: Float64Array, b: Float64Array, share: number): boolean {
  let [most, off] = [0, 0];
  for (let cell = 0; cell < a.length; cell++) {
    const way = b[cell]! - a[cell]!;
    most = Math.max(most, Math.abs(way));
    off = Math.max(off, Math.abs(middle[cell]! - a[cell]! - share * way));
  }
  return off <= EVEN * most;
}

/** The same of what the cells hold, without what feeds and draws brought. */
function isMassBetween(before: RunMoment, last: RunMoment, now: RunMoment, share: number): boolean {
  let [most, off] = [0, 0];
  for (let cell = 0; cell < now.mass.length; cell++) {
    const first = last.mass[cell]! - before.mass[cell]! - last.brought![cell]!;
    const way = first + now.mass[cell]! - last.mass[cell]! - now.brought![cell]!;
    most = Math.max(most, Math.abs(way));
    off = Math.max(off, Math.abs(first - share * way));
  }
  return off <= EVEN * most;
}

/** Per cell what presses in it, Pa; null where nothing could. */
export const pressuresOf = (model: FlowModel, { mass, temperature, volume }: RunMoment): (number | null)[] =>
  Array.from(mass, (_, cell) => cellPressure(model, { mass, temperature }, cell, volume[cell]!));

/** Per link of the network kg/s downstream between two moments; 0 in no time, null where links join in a ring or the time between was counted. */
export function flowsBetween({ network, leaks }: FlowModel, before: RunMoment, now: RunMoment): (number | null)[] {
  const { brought } = now;
  if (!brought) return network.links.map(() => null);
  const seconds = (now.t - before.t) / 1e6;
  if (seconds <= 0) return network.links.map(() => 0);
  const gains = Array.from(now.mass, (m, cell) => (m - before.mass[cell]! - brought[cell]!) / seconds);
  return flowsThrough(network, gains, leaks ? now.notShut.map(() => true) : now.notShut);
}
