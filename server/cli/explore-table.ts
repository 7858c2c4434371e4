/** Rows of an exploration read back from files, for merging, for the unbeaten choices and for pictures. */
import { UsageError } from './io';

export interface Table {
  readonly format: 'jsonl' | 'csv';
  readonly header: string | null;
  readonly axes: readonly string[];
  readonly measures: readonly string[];
  readonly rows: readonly Row[];
}

export interface Row {
  readonly index: number;
  readonly values: readonly number[];
  readonly measures: readonly (number | null)[];
  readonly failed: number;
  /** As it stands in the file, without the line end. */
  readonly line: string;
}

interface JsonRow {
  readonly index: number;
  readonly values: Record<string, number>;
  readonly measures: Record<string, number | null>;
  readonly failed: number;
}

/** Reads the text of a results file; a last line without line end (an interrupted run) is left out. */
export function readTable(name: string, text: string): Table {
  const lines = text.split('\n').slice(0, -1);
  if (lines.length === 0) throw new UsageError(`${name} holds no rows.`);
  return lines[0]!.startsWith('{') ? readJson(name, lines) : readCsv(name, lines);
}

const noTable = (name: string): UsageError => new UsageError(`${name} is not a table of results of caisson explore.`);

const isRow = (row: Partial<JsonRow> | null): boolean =>
  Number.isInteger(row?.index) &&
  typeof row?.failed === 'number' &&
  [row.values, row.measures].every((of) => typeof of === 'object' && of !== null);

function readJson(name: string, lines: readonly string[]): Table {
  const parsed = lines.map((line) => {
    try {
      return JSON.parse(line) as JsonRow;
    } catch {
      throw new UsageError(`${name} is not a table of results: a line is not JSON.`);
    }
  });
  const first = parsed[0]!;
  if (!parsed.every(isRow)) throw noTable(name);
  const rows = parsed.map((r, k) => ({
    index: r.index,
    values: Object.values(r.values),
    measures: Object.values(r.measures),
    failed: r.failed,
    line: lines[k]!,
  }));
  return {
    format: 'jsonl',
    header: null,
    axes: Object.keys(first.values),
    measures: Object.keys(first.measures),
    rows,
  };
}

/** Cells of a line; quoted ones hold commas. */
const cellsOf = (line: string): string[] =>
  [...line.matchAll(/("(?:[^"]|"")*"|[^,]*)(?:,|$)/g)]
    .slice(0, line.endsWith(',') ? undefined : -1)
    .map((m) => m[1]!.replace(/^"|"$/g, '').replace(/""/g, '"'));

function readCsv(name: string, [header, ...lines]: readonly string[]): Table {
  const names = cellsOf(header!);
  if (names[0] !== 'index' || names.at(-1) !== 'failed') throw noTable(name);
  const isMeasure = (n: string): boolean => n.includes('(');
  const own = names.slice(1, -1);
  const axes = own.filter((n) => !isMeasure(n));
  const rows = lines.map((line) => {
    const cells = line.split(',');
    const numbers = cells.map((c) => (c === '' ? null : Number(c)));
    if (numbers.length !== names.length || numbers.some((n) => Number.isNaN(n)) || numbers[0] === null)
      throw noTable(name);
    return {
      index: numbers[0]!,
      values: numbers.slice(1, 1 + axes.length) as number[],
      measures: numbers.slice(1 + axes.length, -1),
      failed: numbers.at(-1)!,
      line,
    };
  });
  return { format: 'csv', header: header!, axes, measures: own.filter(isMeasure), rows };
}

/** One table of several: rows by number; the same row in two files is a mistake of use. */
export function mergeTables(tables: readonly Table[]): Table {
  const [first] = tables;
  if (
    tables.some(
      (t) =>
        t.format !== first!.format ||
        t.axes.join() !== first!.axes.join() ||
        t.measures.join() !== first!.measures.join(),
    )
  )
    throw new UsageError('These files are of different explorations: their columns differ.');
  const rows = tables.flatMap((t) => t.rows).sort((a, b) => a.index - b.index);
  rows.forEach((row, k) => {
    if (row.index !== k)
      throw new UsageError(
        row.index < k ? `Choice ${row.index} is in two of these files.` : `Choice ${k} is in none of these files.`,
      );
  });
  return { ...first!, rows };
}

export const tableText = ({ header, rows }: Table): string =>
  [...(header === null ? [] : [header]), ...rows.map((r) => r.line)].map((l) => `${l}\n`).join('');
