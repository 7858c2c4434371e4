/** Raw columns made into a log: ranges checked, lone outliers and gaps found, everything that is left out named. */
import type { Rig } from '../model/rig';
import { formatTime } from '../units/units';
import { grownNumbers, grownStates, type Grown } from './grown';
import type { Heading } from './headings';
import type { Column, DoorColumn, LogReading, ReadingColumn, RigLog, StateColumn } from './log';
import { say } from '../words/say';

export interface RawColumn {
  readonly heading: Heading;
  /** Of times, doors and readings; 8 bytes each. */
  readonly values: Grown<Float64Array>;
  /** Of states: 1, 0, or −1 where not taken; 1 byte each. */
  readonly states: Grown<Int8Array>;
  missing: number;
  /** Decimals that its cells show. */
  decimals: number;
}

export const rawColumn = (heading: Heading): RawColumn => ({
  heading,
  values: grownNumbers(),
  states: grownStates(),
  missing: 0,
  decimals: 0,
});

/** Of a column that is ignored nothing is kept. */
export function keep({ heading, values, states }: RawColumn, value: number): void {
  if (heading.kind === 'state') states.push(Number.isNaN(value) ? -1 : value > 0.5 ? 1 : 0);
  else if (heading.kind !== 'other') values.push(value);
}

/** A position sensor reads this far outside 0 … 1 (common practice, no source). */
const NOISE = 0.1;
/** Steps longer than this many usual ones are gaps. */
const GAP = 10;
/** Readings out of range are left out as faults of the logger up to this share of all. */
const FEW = 0.02;

/** `line`: that of the heading, where a mistake of a whole column is. */
export function logOf(
  rig: Rig,
  all: readonly RawColumn[],
  time: number,
  { notes, line }: { readonly notes: readonly string[]; readonly line: number },
): LogReading {
  const times = all[time]!.values.all;
  const empty = all.filter((c) => c.heading.kind !== 'other' && c.missing === times.length);
  const columns = all.filter((c) => !empty.includes(c));
  const wrong =
    columns.map(outOfRange).find((w) => w !== null) ??
    (columns.every((c) => c.heading.kind === 'time' || c.heading.kind === 'other')
      ? say`No reading was taken in any column: the cells of ${empty.map((c) => `\`${c.heading.heading}\``).join(', ')} are all empty.`
      : null);
  if (wrong) return { ok: false, problems: [{ line, message: wrong }] };
  const said: string[] = [
    ...notes,
    ...empty.map((c) => say`The column \`${c.heading.heading}\` holds no reading and is left out.`),
  ];
  const doors = columns.flatMap((c) => (c.heading.kind === 'door' ? [doorOf(c)] : []));
  const readings = columns.flatMap((c) => (c.heading.kind === 'reading' ? [readingOf(c)] : []));
  const states = columns.flatMap((c) => (c.heading.kind === 'state' ? [stateOf(c)] : []));
  for (const c of columns) {
    if (c.heading.kind === 'other')
      said.push(
        say`The column \`${c.heading.heading}\` names nothing of the rig and is ignored.${c.heading.question ?? ''}`,
      );
    else if (c.missing > 0)
      said.push(
        c.missing === 1
          ? say`1 reading of \`${c.heading.heading}\` was not taken and is left out.`
          : say`${c.missing} readings of \`${c.heading.heading}\` were not taken and are left out.`,
      );
  }
  const step = usualStep(times);
  doors.forEach((d, k) => {
    const { opensIn, closesIn } = rig.doors[d.door]!;
    // A door that needs longer than two steps for the way there and back cannot be seen open in one reading alone.
    if (opensIn.nominal + closesIn.nominal > 2 * step) noteLone(d.openings, nameOfDoor(columns, k), 5 * NOISE, said);
  });
  readings.forEach((r) => noteLone(r.values, r.heading, Math.max(20 * r.resolution, rangeOf(r.values) / 100), said));
  const gaps = gapsOf(times, doors, readings, step);
  for (const { from, to } of gaps)
    said.push(
      say`No readings from ${clock(times, from)} to ${clock(times, to)}: what happened in this gap is not judged.`,
    );
  const log: RigLog = { times, doors, readings, states, gaps, step, exclusions: [...new Set(said)] };
  return { ok: true, log };
}

const nameOfDoor = (columns: readonly RawColumn[], k: number): string =>
  columns.filter((c) => c.heading.kind === 'door')[k]!.heading.heading;

/** Moments of a clock or calendar are named from the start of the log. */
const clock = (times: Column, t: number): string =>
  t > 864e8 ? say`${formatTime(t - times[0]!)} after the start` : formatTime(t);

/** Cells out of range: a few are left out (set to NaN), more are a question. */
function outOfRange(column: RawColumn): string | null {
  const { heading, values } = column;
  const { all } = values;
  const limits =
    heading.kind === 'door'
      ? [-NOISE, 1 + NOISE]
      : heading.sensed === 'pressure'
        ? [pressureFloor(all), Infinity]
        : null;
  if (!limits) return null;
  const out: number[] = [];
  all.forEach((v, k) => {
    if (v < limits[0]! || v > limits[1]!) out.push(k);
  });
  if (out.length === 0) return null;
  if (out.length <= FEW * all.length) {
    for (const k of out) all[k] = NaN;
    column.missing += out.length;
    return null;
  }
  const cell = Number(((all[out[0]!]! - heading.offset) / heading.factor).toPrecision(6));
  if (heading.kind === 'door') {
    const percent = heading.unit === null && all.every((v) => Number.isNaN(v) || (v > -10 && v < 110));
    return say`${cell} in the column \`${heading.heading}\` is not an opening between 0 (shut) and 1 (open).${percent ? say` Are these per cent? Then write \`${heading.heading} [%]\`.` : ''}`;
  }
  return say`${cell} in the column \`${heading.heading}\` is below zero (absolute). Is it gauge pressure? Then write for instance [barg].`;
}

/** Noise of a sensor reaches a little below zero. */
function pressureFloor(all: Column): number {
  let most = 0;
  for (const v of all) if (v > most) most = v;
  return -0.05 * most;
}

function doorOf({ heading, values, decimals }: RawColumn): DoorColumn {
  const isStates = values.all.every((v) => Number.isNaN(v) || v === 0 || v === 0.5 || v === 1);
  const resolution = isStates && decimals === 0 ? 1 : heading.factor * 10 ** -decimals;
  return { door: heading.index, openings: values.all, isStates, resolution };
}

const readingOf = ({ heading, values, decimals }: RawColumn): ReadingColumn => ({
  chamber: heading.index,
  sensed: heading.sensed!,
  values: values.all,
  heading: heading.heading,
  unit: heading.unit!,
  resolution: heading.factor * 10 ** -decimals,
});

const stateOf = ({ heading, states }: RawColumn): StateColumn => ({ net: heading.index, states: states.all });

/** In fewer rows nothing can be called lone. */
const LEAST_ROWS = 20;

/** Lone readings far from all their neighbours (a Hampel filter over five) are set to NaN and named. */
function noteLone(values: Column, name: string, least: number, said: string[]): void {
  const spread = scatterOf(values);
  const limit = Math.max(12 * spread, least);
  if (!(limit > 0) || values.length < LEAST_ROWS) return;
  const lone: number[] = [];
  const near = [0, 0, 0, 0];
  for (let k = 0; k < values.length; k++) {
    const v = values[k]!;
    if (Number.isNaN(v)) continue;
    let n = 0;
    for (const d of [-2, -1, 1, 2]) {
      const w = values[k + d];
      if (w !== undefined && !Number.isNaN(w)) near[n++] = w;
    }
    if (n < 3) continue;
    let [low, high] = [Infinity, -Infinity];
    for (let i = 0; i < n; i++) {
      low = Math.min(low, near[i]!);
      high = Math.max(high, near[i]!);
    }
    // Beyond all of its neighbours by more than they differ among each other.
    const beyond = v > high ? v - high : low - v;
    if (beyond > limit && beyond > 3 * (high - low)) lone.push(k);
  }
  // Where many stand alone, they are what the column shows.
  if (lone.length === 0 || lone.length > FEW * values.length + 1) return;
  for (const k of lone) values[k] = NaN;
  said.push(
    lone.length === 1
      ? say`1 reading of \`${name}\` stands far from the readings before and after and is left out.`
      : say`${lone.length} readings of \`${name}\` stand far from the readings before and after and are left out.`,
  );
}

/** Between the 5th and the 95th of a hundred readings, by size; of a long column, of some twenty thousand. */
function rangeOf(values: Column): number {
  const stride = Math.max(1, Math.floor(values.length / 20_000));
  const taken: number[] = [];
  for (let k = 0; k < values.length; k += stride) if (!Number.isNaN(values[k]!)) taken.push(values[k]!);
  const sorted = taken.sort((a, b) => a - b);
  return sorted.length === 0
    ? 0
    : sorted[Math.floor(0.95 * sorted.length)]! - sorted[Math.floor(0.05 * sorted.length)]!;
}

/** Standard deviation of the noise: median of second differences (a line has none), over √6. */
export function scatterOf(values: Column): number {
  const found: number[] = [];
  const stride = Math.max(1, Math.floor(values.length / 20_000));
  for (let k = 1; k + 1 < values.length; k += stride) {
    const second = values[k - 1]! - 2 * values[k]! + values[k + 1]!;
    if (!Number.isNaN(second)) found.push(Math.abs(second));
  }
  if (found.length === 0) return 0;
  found.sort((a, b) => a - b);
  return found[Math.floor(found.length / 2)]! / 0.6745 / Math.sqrt(6);
}

function usualStep(times: Column): number {
  const stride = Math.max(1, Math.floor(times.length / 50_000));
  const steps: number[] = [];
  for (let k = 1; k < times.length; k += stride) steps.push(times[k]! - times[k - 1]!);
  return steps.sort((a, b) => a - b)[Math.floor(steps.length / 2)] ?? 0;
}

function gapsOf(
  times: Column,
  doors: readonly DoorColumn[],
  readings: readonly ReadingColumn[],
  step: number,
): { from: number; to: number }[] {
  const isLong = (k: number): boolean => times[k + 1]! - times[k]! > GAP * step;
  const long: number[] = [];
  for (let k = 0; k + 1 < times.length; k++) if (isLong(k)) long.push(k);
  if (long.length === 0) return [];
  const change = (v: Column, k: number): number => Math.abs(v[k + 1]! - v[k]!) || 0;
  // The largest change of each reading within a usual step.
  const largest = readings.map(({ values }) => {
    let most = 0;
    for (let k = 0; k + 1 < times.length; k++) if (!isLong(k)) most = Math.max(most, change(values, k));
    return most;
  });
  const isShut = (x: number): boolean => x < NOISE;
  return long.flatMap((k) => {
    const moved = doors.some(({ openings }) => !isShut(openings[k]!) || !isShut(openings[k + 1]!));
    const jumped = readings.some(({ values }, c) => change(values, k) > largest[c]! * (1 + 1e-9));
    return moved || jumped ? [{ from: times[k]!, to: times[k + 1]! }] : [];
  });
}
