/**
 * Readings of a built rig as text: comma, semicolon or tab separated, a heading and one line per moment. Columns are named in the
 * rig: `time [s]`; `DOOR` (opening 0 … 1, or shut, moving, open, off, on); `CHAMBER mass [kg]`, `CHAMBER pressure [bar]`,
 * `CHAMBER density [kg/m3]`, `CHAMBER level [m]` (or `door DOOR`, `mass CHAMBER [kg]`). Lines that begin with `#` are comments; an empty cell is a reading not taken. With
 * semicolons a decimal comma is understood.
 */
import { suggest } from '../model/near-match';
import type { Rig, Sensed } from '../model/rig';
import type { DimensionName } from '../units/dimensions';
import { describe } from '../units/dimensions';
import { toNumber } from '../units/rational';
import { formatTime, parseQuantity, unitsOf } from '../units/units';

export interface DoorColumn {
  readonly door: number;
  /** Opening 0 … 1; null where not taken. */
  readonly openings: readonly (number | null)[];
}

export interface ReadingColumn {
  readonly chamber: number;
  readonly sensed: Sensed;
  /** SI; null where not taken. */
  readonly values: readonly (number | null)[];
}

export interface RigLog {
  /** µs, rising. */
  readonly times: readonly number[];
  readonly doors: readonly DoorColumn[];
  readonly readings: readonly ReadingColumn[];
  /**
   * Stretches without readings, far longer than the usual step, in which something happened unseen (a door is not shut at both ends, or a
   * reading jumps by more than it does anywhere else): nothing is concluded across them. A quiet stretch is no gap.
   */
  readonly gaps: readonly { readonly from: number; readonly to: number }[];
  /** What was left out, in words. */
  readonly exclusions: readonly string[];
}

export interface LogProblem {
  /** 1 is the first line of the text. */
  readonly line: number;
  readonly message: string;
}

export type LogReading =
  { readonly ok: true; readonly log: RigLog } | { readonly ok: false; readonly problems: readonly LogProblem[] };

/** Problems listed at most. */
const MOST = 20;
/** A position sensor reads this far outside 0 … 1 (common practice, no source). */
const NOISE = 0.1;
/** Steps longer than this many usual ones are gaps. */
const GAP = 10;

interface Column {
  /** `other` names nothing of the rig and is ignored. */
  readonly kind: 'time' | 'door' | 'reading' | 'other';
  readonly heading: string;
  readonly index: number;
  readonly sensed?: Sensed;
  /** value = offset + factor · number */
  readonly factor: number;
  readonly offset: number;
}

const SENSED: ReadonlyMap<string, { readonly sensed: Sensed; readonly dimension: DimensionName }> = new Map([
  ['mass', { sensed: 'mass', dimension: 'mass' }],
  ['pressure', { sensed: 'pressure', dimension: 'pressure' }],
  ['density', { sensed: 'density', dimension: 'density' }],
  ['level', { sensed: 'level', dimension: 'length' }],
]);

/** Reads a log for a rig. Every mistake is named with its line; nothing is guessed. */
export function readLog(rig: Rig, text: string): LogReading {
  const lines = text.replace(/^\uFEFF/, '').split(/\r?\n/);
  const rows = lines
    .map((content, k) => ({ content, line: k + 1 }))
    .filter(({ content }) => content.trim() !== '' && !content.startsWith('#'));
  const head = rows[0];
  if (!head) return failed([{ line: 1, message: 'The log is empty.' }]);
  const separator = separatorOf(head.content);
  const columns = columnsOf(rig, cellsOf(head.content, separator), head.line);
  if (columns.problems.length > 0) return failed(columns.problems);
  return body(columns.columns, rows.slice(1), separator);
}

const failed = (problems: readonly LogProblem[]): LogReading => ({ ok: false, problems: problems.slice(0, MOST) });

const separatorOf = (heading: string): string => ['\t', ';', ','].find((s) => heading.includes(s)) ?? ',';

const cellsOf = (line: string, separator: string): string[] =>
  line.split(separator).map((cell) =>
    cell
      .trim()
      .replace(/^"(.*)"$/, '$1')
      .trim(),
  );

// ---------------------------------------------------------------- heading

function columnsOf(rig: Rig, headings: readonly string[], line: number): { columns: Column[]; problems: LogProblem[] } {
  const problems: LogProblem[] = [];
  const columns = headings.flatMap((heading) => {
    const column = columnOf(rig, heading);
    if (typeof column !== 'string') return [column];
    problems.push({ line, message: column });
    return [];
  });
  const times = columns.filter((c) => c.kind === 'time');
  if (problems.length === 0 && times.length !== 1) {
    problems.push({
      line,
      message: `The log needs one column \`time [s]\`; it has ${times.length === 0 ? 'none' : times.length}.`,
    });
  }
  columns.forEach((column, k) => {
    const same = columns.findIndex(
      (c) => c.kind === column.kind && c.index === column.index && c.sensed === column.sensed,
    );
    if (same < k && column.kind !== 'time' && column.kind !== 'other')
      problems.push({ line, message: `The column \`${column.heading}\` stands twice.` });
  });
  if (problems.length === 0 && columns.filter((c) => c.kind !== 'other').length < 2)
    problems.push({ line, message: 'The log has no column but the time.' });
  return { columns, problems };
}

function columnOf(rig: Rig, heading: string): Column | string {
  const match = /^(.*?)\s*(?:[[(]\s*([^\])]*?)\s*[\])])?$/.exec(heading)!;
  const [words, unit] = [inOrder(match[1]!.trim()), match[2] ?? null];
  if (words === '') return 'A column has no heading.';
  if (words.toLowerCase() === 'time') return scaled({ kind: 'time', heading, index: 0 }, 'time', unit);
  const door = rig.doors.findIndex((d) => d.name === words);
  if (door >= 0) {
    if (unit !== null && unit !== '%')
      return `The column \`${heading}\` is the opening of a door: it has no unit, or %.`;
    return { kind: 'door', heading, index: door, factor: unit === '%' ? 0.01 : 1, offset: 0 };
  }
  const [, name, word] = /^(.*?)[ .](\p{L}+)$/u.exec(words) ?? [null, words, ''];
  const chamber = rig.chambers.findIndex((c) => c.name === name);
  const kind = SENSED.get(word!.toLowerCase());
  if (chamber >= 0 && kind) {
    return scaled({ kind: 'reading', heading, index: chamber, sensed: kind.sensed }, kind.dimension, unit);
  }
  if (chamber >= 0 || rig.chambers.some((c) => c.name === words)) {
    return `The column \`${heading}\` must say what of the chamber was read: mass, pressure, density or level.`;
  }
  const names = [...rig.doors.map((d) => d.name), ...rig.chambers.map((c) => c.name)];
  const { question } = suggest(kind ? name! : words, names, { uri: '', start: 0, end: 0 });
  if (question === '') return { kind: 'other', heading, index: -1, factor: 1, offset: 0 };
  return `The column \`${heading}\` names no door and no chamber of the rig.${question}`;
}

/** `door upper` and `mass store` are understood as `upper` and `store mass`. */
function inOrder(words: string): string {
  const [, first, rest] = /^(\p{L}+)\s+(\S+)$/u.exec(words) ?? [];
  if (first === undefined || rest === undefined) return words;
  if (first.toLowerCase() === 'door') return rest;
  return SENSED.has(first.toLowerCase()) && !SENSED.has(rest.toLowerCase()) ? `${rest} ${first}` : words;
}

function scaled(
  column: Pick<Column, 'kind' | 'heading' | 'index' | 'sensed'>,
  dimension: DimensionName,
  unit: string | null,
): Column | string {
  const likely = unitsOf(dimension)
    .slice(0, 3)
    .map((u) => `[${u.name}]`);
  if (unit === null) return `The column \`${column.heading}\` has no unit; write for instance ${likely.join(', ')}.`;
  const [zero, one] = [parseQuantity('0', unit), parseQuantity('1', unit)];
  if (!zero.ok || !one.ok)
    return `The unit of the column \`${column.heading}\` is not known; ${likely.join(', ')} would do.`;
  if (one.dimension !== dimension) {
    return `The column \`${column.heading}\` is ${describe(dimension)} and cannot be in ${unit}, which is ${describe(one.dimension)}.`;
  }
  const offset = toNumber(zero.value);
  return { ...column, offset, factor: toNumber(one.value) - offset };
}

// ---------------------------------------------------------------- lines

function body(
  columns: readonly Column[],
  rows: readonly { content: string; line: number }[],
  separator: string,
): LogReading {
  const problems: LogProblem[] = [];
  const values: (number | null)[][] = columns.map(() => []);
  const timeColumn = columns.findIndex((c) => c.kind === 'time');
  const lineOf: number[] = [];
  for (const { content, line } of rows) {
    const cells = cellsOf(content, separator);
    if (cells.length !== columns.length) {
      problems.push({ line, message: `The line has ${cells.length} cells where the heading has ${columns.length}.` });
      continue;
    }
    const read = columns.map((column, k) => valueOf(column, cells[k]!, separator));
    const bad = read.findIndex((v) => typeof v === 'string');
    if (bad >= 0) problems.push({ line, message: read[bad] as string });
    else if (read[timeColumn] === null) problems.push({ line, message: 'The line has no time.' });
    else {
      read.forEach((v, k) => values[k]!.push(v as number | null));
      lineOf.push(line);
    }
    if (problems.length >= MOST) return failed(problems);
  }
  const times = values[timeColumn]!.map((t) => Math.round(t! * 1e6));
  problems.push(...clockProblems(times, lineOf));
  if (problems.length > 0) return failed(problems);
  if (times.length < 3)
    return failed([
      { line: rows[0]?.line ?? 1, message: `The log has ${times.length} lines of readings; at least 3 are needed.` },
    ]);
  return { ok: true, log: logOf(columns, values, times) };
}

function valueOf(column: Column, cell: string, separator: string): number | null | string {
  if (column.kind === 'other') return null;
  if (cell === '' || cell.toLowerCase() === 'nan') return null;
  if (column.kind === 'door') {
    const state = DOOR_WORDS.get(cell.toLowerCase());
    if (state !== undefined) return state;
  }
  const digits = separator === ',' ? cell : cell.replace(',', '.');
  if (!/^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$/.test(digits))
    return `\`${cell}\` in the column \`${column.heading}\` is no number.`;
  const value = column.offset + column.factor * Number(digits);
  if (column.kind === 'door' && (value < -NOISE || value > 1 + NOISE))
    return `\`${cell}\` in the column \`${column.heading}\` is no opening between 0 (shut) and 1 (open).`;
  if (column.kind === 'reading' && column.sensed === 'pressure' && value < 0)
    return `\`${cell}\` in the column \`${column.heading}\` is below zero${column.sensed === 'pressure' ? ' (absolute)' : ''}.`;
  return value;
}

const DOOR_WORDS: ReadonlyMap<string, number> = new Map(
  Object.entries({ shut: 0, closed: 0, off: 0, moving: 0.5, open: 1, on: 1 }),
);

function clockProblems(times: readonly number[], lines: readonly number[]): LogProblem[] {
  const k = times.findIndex((t, i) => i > 0 && t <= times[i - 1]!);
  if (k < 0) return [];
  const word = times[k] === times[k - 1] ? 'stands still' : 'goes back';
  return [
    {
      line: lines[k]!,
      message: `The clock ${word}: ${formatTime(times[k]!)} comes after ${formatTime(times[k - 1]!)}.`,
    },
  ];
}

function logOf(
  columns: readonly Column[],
  values: readonly (readonly (number | null)[])[],
  times: readonly number[],
): RigLog {
  const gaps = gapsOf(columns, values, times);
  const exclusions = gaps.map(
    ({ from, to }) =>
      `No readings from ${formatTime(from)} to ${formatTime(to)}: strokes in or across this gap are left out.`,
  );
  columns.forEach((column, k) => {
    const missing = values[k]!.filter((v) => v === null).length;
    if (column.kind === 'other')
      exclusions.push(`The column \`${column.heading}\` names nothing of the rig and is ignored.`);
    else if (missing > 0)
      exclusions.push(`${missing} readings of \`${column.heading}\` were not taken and are left out.`);
  });
  return {
    times,
    doors: columns.flatMap((c, k) => (c.kind === 'door' ? [{ door: c.index, openings: values[k]! }] : [])),
    readings: columns.flatMap((c, k) =>
      c.kind === 'reading' ? [{ chamber: c.index, sensed: c.sensed!, values: values[k]! }] : [],
    ),
    gaps,
    exclusions,
  };
}

function gapsOf(
  columns: readonly Column[],
  values: readonly (readonly (number | null)[])[],
  times: readonly number[],
): { from: number; to: number }[] {
  const steps = times.slice(1).map((t, k) => t - times[k]!);
  const usual = [...steps].sort((a, b) => a - b)[Math.floor(steps.length / 2)]!;
  const long = steps.map((step) => step > GAP * usual);
  const change = (column: number, k: number): number => {
    const [a, b] = [values[column]![k], values[column]![k + 1]];
    return a === null || b === null || a === undefined || b === undefined ? 0 : Math.abs(b - a);
  };
  // The largest change of each reading within a usual step.
  const largest = columns.map((_, c) =>
    long.reduce((most, isLong, k) => (isLong ? most : Math.max(most, change(c, k))), 0),
  );
  const unseen = (k: number): boolean =>
    columns.some((column, c) => {
      if (column.kind === 'door') return values[c]![k] !== 0 || values[c]![k + 1] !== 0;
      return column.kind === 'reading' && change(c, k) > largest[c]! * (1 + 1e-9);
    });
  return steps.flatMap((_, k) => (long[k] && unseen(k) ? [{ from: times[k]!, to: times[k + 1]! }] : []));
}
