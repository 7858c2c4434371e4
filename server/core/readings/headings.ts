/**
 * The heading of a log: what each column is of. Columns are named as in the rig: `time [s]`, a door, a sensor, switch or signal, or a chamber
 * with what was read of it and its unit (`store pressure [bar]`). Whatever names nothing of the rig is ignored.
 */
import { suggest } from '../model/near-match';
import type { Rig, Sensed } from '../model/rig';
import type { DimensionName } from '../units/dimensions';
import { describe } from '../units/dimensions';
import { toNumber } from '../units/rational';
import { parseQuantity, unitsOf } from '../units/units';
import type { LogProblem } from './log';
import { say } from '../words/say';

export interface Heading {
  /** `other` names nothing of the rig and is ignored. */
  readonly kind: 'time' | 'door' | 'reading' | 'state' | 'other';
  readonly heading: string;
  /** Of the door, chamber or net. */
  readonly index: number;
  readonly sensed?: Sensed;
  readonly unit: string | null;
  /** value = offset + factor · number, SI. */
  readonly factor: number;
  readonly offset: number;
  /** ` Did you mean …?` for a column that is ignored. */
  readonly question?: string;
  /** What is wrong with it unless the line below the heading states its unit. */
  readonly lacks?: string;
}

const SENSED: readonly { readonly sensed: Sensed; readonly dimension: DimensionName; readonly words: RegExp }[] = [
  { sensed: 'mass', dimension: 'mass', words: /^(mass|weight|load)$/i },
  { sensed: 'pressure', dimension: 'pressure', words: /^(pressure|press|p)$/i },
  { sensed: 'density', dimension: 'density', words: /^density$/i },
  { sensed: 'level', dimension: 'length', words: /^(level|height)$/i },
];
const TIME_WORDS = /^(time|t|timestamp|time ?stamp|clock|date ?time|elapsed)$/i;
const DOOR_WORDS = /^(door|position|pos|opening|open|state|valve)$/i;
const STATE_WORDS = /^(signal|sensor|switch|state)$/i;

/** The columns of a heading, or why it cannot be read. */
export function readHeadings(
  rig: Rig,
  cells: readonly string[],
  line: number,
): { readonly columns: Heading[]; readonly problems: LogProblem[] } {
  const problems: LogProblem[] = [];
  const put = (message: string): void => void problems.push({ line, message });
  const columns = cells.map((cell): Heading => {
    const column = withHeading(headingOf(rig, cell), cell);
    if (typeof column !== 'string') return column;
    put(column);
    return other(cell);
  });
  if (problems.length > 0) return { columns, problems };
  const separator = wrongSeparator(cells);
  if (separator !== null) put(separator);
  else checkColumns(rig, columns, put);
  return { columns, problems };
}

/** Messages name a column as the file does. */
const withHeading = (column: Heading | string, heading: string): Heading | string =>
  typeof column === 'string' ? column : { ...column, heading };

function checkColumns(rig: Rig, columns: readonly Heading[], put: (message: string) => void): void {
  const times = columns.filter((c) => c.kind === 'time');
  if (times.length !== 1)
    return put(
      times.length === 0
        ? say`The log needs one column \`time [s]\`; it has none.${likelyTime(columns)}`
        : say`The log needs one column \`time [s]\`; it has ${times.length}.${likelyTime(columns)}`,
    );
  columns.forEach((column, k) => {
    const same = columns.findIndex(
      (c) => c.kind === column.kind && c.index === column.index && c.sensed === column.sensed,
    );
    if (same < k && column.kind !== 'other')
      put(
        say`The columns \`${columns[same]!.heading}\` and \`${column.heading}\` are of the same item; leave one out.`,
      );
  });
  if (columns.length < 2) return put(say`The log has no column but the time.`);
  const others = columns.filter((c) => c.kind === 'other');
  if (others.length < columns.length - 1) return;
  // What `caisson trace` writes has a line a change, not a line a moment.
  const isTrace = columns.length === 3 && ['name', 'value'].every((word) => others.some((c) => c.heading === word));
  const question = isTrace
    ? say` It has one change a line, as caisson trace writes them; a log has one moment a line, and a column for each door.`
    : (others.map((c) => c.question).find((q) => q) ?? say` Is it the log of another rig?`);
  put(
    say`No column of the log (${listed(others.map((c) => c.heading))}) names a door, chamber, sensor, switch or signal of ${rig.name}.${question}`,
  );
}

/** The first column is nearly always the time; where it names nothing else of the rig, it is asked about. */
function likelyTime(columns: readonly Heading[]): string {
  const [first] = columns;
  const isName = first?.kind === 'other' && !/^[-+\d.,\s]*$/.test(first.heading);
  return isName && columns.every((c) => c.kind !== 'time')
    ? say` If \`${first.heading}\` is the time, call it \`time [s]\`, or \`time\` where it holds clock times.`
    : '';
}

const listed = (names: readonly string[]): string =>
  [...names.slice(0, 5).map((n) => `\`${n}\``), ...(names.length > 5 ? ['…'] : [])].join(', ');

function wrongSeparator(cells: readonly string[]): string | null {
  const [only] = cells;
  if (cells.length !== 1 || only === undefined) return null;
  const seen = ['|', ':', '  ', ' '].find((s) => only.replace(/\s*[[(][^\])]*[\])]/g, '').includes(s));
  return seen === undefined || TIME_WORDS.test(only.trim())
    ? null
    : say`The heading \`${only.slice(0, 60)}\` is one single cell; separate the columns by commas, semicolons or tabs.`;
}

const other = (heading: string, question = ''): Heading => ({
  kind: 'other',
  heading,
  index: -1,
  unit: null,
  factor: 1,
  offset: 0,
  question,
});

function headingOf(rig: Rig, heading: string): Heading | string {
  const match = /^(.*?)\s*(?:[[(]\s*([^\])]*?)\s*[\])])?$/.exec(heading)!;
  const words = match[1]!.trim();
  const unit = match[2] === undefined || match[2] === '' ? null : match[2];
  if (words === '') return say`A column has no heading.`;
  const suffixed = unit === null ? unitAtEnd(rig, words) : null;
  if (suffixed) return headingOf(rig, suffixed);
  if (TIME_WORDS.test(words)) return timeHeading(heading, unit);
  return (
    doorHeading(rig, heading, words, unit) ??
    chamberHeading(rig, heading, words, unit) ??
    stateHeading(rig, heading, words) ??
    other(heading, questionFor(rig, words))
  );
}

/** `time_ms`, `store_pressure_bar`, `store pressure kPa`: the unit stands behind, without brackets. */
function unitAtEnd(rig: Rig, words: string): string | null {
  const parts = /^(.+?)[\s._-]+([^\s._-]+)$/.exec(words);
  if (!parts || nameIndex(allNames(rig), words) >= 0) return null;
  const [, before, unit] = parts as unknown as [string, string, string];
  const isTime = TIME_WORDS.test(before);
  const isReading =
    rig.chambers.length > 0 &&
    SENSED.some((s) =>
      itemIn(
        before,
        rig.chambers.map((c) => c.name),
        s.words,
      ),
    );
  const scale = scaleOf(unit);
  if (!scale || !(isTime ? scale.dimension === 'time' : isReading)) return null;
  return `${before} [${unit}]`;
}

const allNames = (rig: Rig): string[] => [
  ...rig.doors.map((d) => d.name),
  ...rig.chambers.map((c) => c.name),
  ...rig.network.nets.map((n) => n.name),
];

function timeHeading(heading: string, unit: string | null): Heading | string {
  const plain = { kind: 'time' as const, heading, index: 0 };
  // Without a unit: clock times or dates, which the cells must show.
  return unit === null ? { ...plain, unit, factor: 1, offset: 0 } : scaled(plain, 'time', unit);
}

/** `upper`, `door upper`, `upper position`, `upper_position`; the name of the item wins over any splitting. */
function itemIn(words: string, names: readonly string[], besides: RegExp): { index: number; rest: string } | null {
  const whole = nameIndex(names, words);
  if (whole >= 0) return { index: whole, rest: '' };
  for (const blank of [/[\s/:]+/, /[\s/:._-]+/]) {
    const parts = words.split(blank);
    for (const [name, rest] of [
      [words.slice(0, -parts.at(-1)!.length).replace(/[\s/:._-]+$/, ''), parts.at(-1)!],
      [words.slice(parts[0]!.length).replace(/^[\s/:._-]+/, ''), parts[0]!],
    ] as const) {
      const index = besides.test(rest) ? nameIndex(names, name) : -1;
      if (index >= 0) return { index, rest };
    }
  }
  return null;
}

function nameIndex(names: readonly string[], name: string): number {
  const exact = names.indexOf(name);
  if (exact >= 0) return exact;
  const same = names.flatMap((n, k) => (n.toLowerCase() === name.toLowerCase() ? [k] : []));
  return same.length === 1 ? same[0]! : -1;
}

function doorHeading(rig: Rig, heading: string, words: string, unit: string | null): Heading | string | null {
  const bare = words.endsWith('%') ? words.slice(0, -1).trim() : words;
  const found = itemIn(
    bare,
    rig.doors.map((d) => d.name),
    DOOR_WORDS,
  );
  if (!found) return null;
  const of = bare === words ? unit : '%';
  if (of !== null && !['%', '-', '1', '0..1', '0-1', '0…1'].includes(of))
    return say`The column \`${heading}\` is the opening of a door: it has no unit, or %.`;
  return { kind: 'door', heading, index: found.index, unit: of, factor: of === '%' ? 0.01 : 1, offset: 0 };
}

function chamberHeading(rig: Rig, heading: string, words: string, unit: string | null): Heading | string | null {
  const names = rig.chambers.map((c) => c.name);
  for (const { sensed, dimension, words: known } of SENSED) {
    const found = itemIn(words, names, known);
    if (found && found.rest !== '')
      return scaled({ kind: 'reading', heading, index: found.index, sensed }, dimension, unit);
  }
  const index = nameIndex(names, words);
  if (index < 0) return null;
  const one = unit === null ? null : parseQuantity('1', unit);
  const kind = one?.ok ? SENSED.find((s) => s.dimension === one.dimension) : undefined;
  if (kind) return scaled({ kind: 'reading', heading, index, sensed: kind.sensed }, kind.dimension, unit);
  return say`The column \`${heading}\` must say what of the chamber was read: mass, pressure, density or level.`;
}

function stateHeading(rig: Rig, heading: string, words: string): Heading | null {
  const names = rig.network.nets.map((n) => n.name);
  const found = itemIn(words, names, STATE_WORDS);
  return found && { kind: 'state', heading, index: found.index, unit: null, factor: 1, offset: 0 };
}

function questionFor(rig: Rig, words: string): string {
  const items = [...rig.doors, ...rig.chambers, ...rig.sensors, ...rig.switches, ...rig.signals].map((i) => i.name);
  const [first, last] = [words.split(/[\s._-]+/)[0]!, words.split(/[\s._-]+/).at(-1)!];
  for (const word of [words, first, last]) {
    const { question } = suggest(word, items, { uri: '', start: 0, end: 0 });
    if (question !== '' && word.length > 2) return question;
  }
  return '';
}

function scaled(
  column: Pick<Heading, 'kind' | 'heading' | 'index' | 'sensed'>,
  dimension: DimensionName,
  unit: string | null,
): Heading | string {
  const likely = unitsOf(dimension)
    .slice(0, 3)
    .map((u) => `[${u.name}]`);
  if (unit === null) {
    const lacks = say`The column \`${column.heading}\` has no unit; write for instance ${likely.join(', ')}.`;
    return { ...column, unit, offset: 0, factor: 1, lacks };
  }
  const scale = scaleOf(unit);
  if (!scale)
    return say`The unit of the column \`${column.heading}\` is not known; write for instance ${likely.join(', ')}.`;
  if (scale.dimension !== dimension) {
    return say`The column \`${column.heading}\` is ${describe(dimension)} and cannot be in ${unit}, which is ${describe(scale.dimension)}.`;
  }
  return { ...column, unit, offset: scale.offset, factor: scale.factor };
}

/** SI value = offset + factor · number; null for an unknown unit. */
export function scaleOf(
  unit: string,
): { readonly dimension: DimensionName; readonly offset: number; readonly factor: number } | null {
  const [zero, one] = [parseQuantity('0', unit), parseQuantity('1', unit)];
  if (!zero.ok || !one.ok) return null;
  const offset = toNumber(zero.value);
  return { dimension: one.dimension, offset, factor: toNumber(one.value) - offset };
}
