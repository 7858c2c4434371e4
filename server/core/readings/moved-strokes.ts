/**
 * Strokes in a log and what each moved: the inverse of a stack with `moves`. What the rig's own feeds and draws put in or take out is
 * subtracted first, by the lines of the forward model, so that what is left changes by strokes alone.
 */
import { modelFlow } from '../flow/flow-model';
import { lineMass } from '../flow/lines';
import type { Rig } from '../model/rig';
import type { MovedStroke } from './calibrate';
import type { RigLog } from './log-csv';

type Column = readonly (number | null)[];

/** A door has left shut once it has passed this opening, and is shut again below the other: noise between them is no stroke. */
const OPENED = 0.65;
const SHUT = 0.35;
/** Readings this near to an end of the travel, with neighbours as near, stand at the end; how far they scatter is the noise. */
const AT_END = 0.1;

export const inGap =
  (log: RigLog) =>
  (from: number, to: number): boolean =>
    log.gaps.some((gap) => gap.from < to && gap.to > from);

/** Openings with the noise at both ends removed: what stands at an end within its own scatter is 0 or 1. */
export function settled(openings: Column): (number | null)[] {
  const end = (x: number | null | undefined): 0 | 1 | null =>
    x === null || x === undefined ? null : x < AT_END ? 0 : x > 1 - AT_END ? 1 : null;
  const scatter = openings
    .flatMap((x, k) => {
      const at = end(x);
      return at !== null && end(openings[k - 1]) === at && end(openings[k + 1]) === at ? [Math.abs(x! - at)] : [];
    })
    .sort((a, b) => a - b);
  const band = Math.min(2 * AT_END, 2 * (scatter[Math.floor(0.95 * scatter.length)] ?? 0));
  return openings.map((x) => (x === null ? null : x <= band ? 0 : x >= 1 - band ? 1 : x));
}

/** A stroke: index of the first reading after its first door has left shut, and of the first at which all its doors are shut again. */
export interface StrokeSpan {
  readonly start: number;
  readonly shut: number;
}

/** Strokes of a stack, by the first of its doors that the log has; shut again when all logged doors of the stack are. */
export function strokeStarts(rig: Rig, log: RigLog, stack: number): StrokeSpan[] {
  const doors = rig.stacks[stack]!.members.filter((m) => m.kind === 'door').map((m) => m.index);
  const columns = doors.flatMap((door) => log.doors.filter((c) => c.door === door)).map((c) => settled(c.openings));
  const first = columns[0];
  if (!first) return [];
  const starts: number[] = [];
  let open: boolean | null = null;
  let leaves = 0;
  first.forEach((x, k) => {
    if (x === null) return;
    if (open === null) open = x > 0.5;
    if (x === 0) leaves = k + 1;
    if (!open && x > OPENED) starts.push(leaves);
    open = open ? x >= SHUT : x > OPENED;
  });
  return starts.map((start, i) => {
    const next = starts[i + 1] ?? log.times.length;
    let shut = next;
    while (shut > start && columns.every((c) => (c[shut - 1] ?? 0) === 0)) shut--;
    return { start, shut };
  });
}

export interface StackMasses {
  readonly from: number;
  readonly to: number;
  /** kg, as read. */
  readonly upstream: Column;
  readonly downstream: Column | null;
}

/**
 * What each stroke moved and what was above it when it took its mass, kg. Between two strokes the mass less what the lines did is one
 * figure: the mean of the later half of the readings while all doors are shut. What both ends say is averaged.
 */
export function movedStrokes(
  rig: Rig,
  log: RigLog,
  { from, to, upstream, downstream }: StackMasses,
  spans: readonly StrokeSpan[],
): MovedStroke[] {
  const up = withoutLines(rig, log, from, upstream);
  const down = downstream ? withoutLines(rig, log, to, downstream) : null;
  const level = (values: Column, i: number): number | null => {
    const end = spans[i]?.start ?? log.times.length;
    const shut = i === 0 ? 0 : spans[i - 1]!.shut;
    return meanOf(values.slice(Math.min(Math.floor((shut + end) / 2), end - 1), end)) ?? lastOf(values, end);
  };
  const change = (values: Column | null, i: number): number | null => {
    const [before, after] = values ? [level(values, i), level(values, i + 1)] : [null, null];
    return before === null || after === null ? null : after - before;
  };
  return spans.flatMap(({ start, shut }, i): MovedStroke[] => {
    const next = spans[i + 1]?.start ?? log.times.length;
    // After the last stroke something must be read with all doors shut.
    if (start === 0 || (i === spans.length - 1 && shut >= next)) return [];
    if (inGap(log)(log.times[start - 1]!, log.times[Math.min(next, log.times.length - 1)]!)) return [];
    const before = level(up.values, i);
    const [lost, gained] = [change(up.values, i), change(down?.values ?? null, i)];
    const told = [lost === null ? null : -lost, gained].filter((m): m is number => m !== null);
    if (before === null || told.length === 0) return [];
    const moved = told.reduce((a, b) => a + b, 0) / told.length;
    return [{ t: log.times[start]!, upstream: before + up.added[falls(up.values, start, next, moved) - 1]!, moved }];
  });
}

/**
 * Index of the reading at which the stroke has taken its mass: where at least half of it goes within one step. Where it goes little by
 * little, the start of the stroke, as the forward model has it.
 */
function falls(values: Column, start: number, next: number, moved: number): number {
  for (let k = start; k < next; k++) {
    const [before, after] = [values[k - 1], values[k]];
    if (typeof before === 'number' && typeof after === 'number' && before - after > moved / 2) return k;
  }
  return start;
}

/** A column less what the rig's lines had put into its chamber by then, and that sum (kg, one per reading). */
function withoutLines(rig: Rig, log: RigLog, chamber: number, column: Column): { values: Column; added: number[] } {
  const { model } = modelFlow(rig);
  const lines = model?.lines.filter((line) => line.chamber === chamber) ?? [];
  const vessel = model?.vessels[chamber];
  const added: number[] = [];
  let [sum, mass] = [0, 0];
  log.times.forEach((t, k) => {
    if (k > 0 && model && vessel) {
      const seconds = (t - log.times[k - 1]!) / 1e6;
      const contents = { mass: Float64Array.from(model.vessels, () => mass), temperature: temperatures(model.vessels) };
      for (const line of lines) sum += lineMass(line, seconds, model.law, vessel, contents);
    }
    mass = Math.max(0, column[k] ?? mass);
    added.push(sum);
  });
  return { values: column.map((v, k) => (v === null ? null : v - added[k]!)), added };
}

const temperatures = (vessels: readonly { readonly temperature: number }[]): Float64Array =>
  Float64Array.from(vessels, (v) => v.temperature);

function meanOf(values: Column): number | null {
  const taken = values.filter((v): v is number => v !== null);
  return taken.length === 0 ? null : taken.reduce((a, b) => a + b, 0) / taken.length;
}

function lastOf(values: Column, end: number): number | null {
  for (let k = end - 1; k >= 0; k--) if (values[k] !== null && values[k] !== undefined) return values[k]!;
  return null;
}
