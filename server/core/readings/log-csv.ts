/**
 * Readings of a built rig as text: comma, semicolon or tab separated, a heading (headings.ts) and one line per moment. Lines that begin
 * with `#` are comments; an empty cell is a reading not taken. With semicolons or tabs a decimal comma is understood. The text may come in
 * pieces, so that logs of millions of lines need no second copy.
 */
import Papa from 'papaparse';
import type { Rig } from '../model/rig';
import { formatTime } from '../units/units';
import { cellValue, clockTime, decimalsOf } from './cells';
import { readHeadings, scaleOf, type Heading } from './headings';
import { finish, type Work } from '../work/work';
import type { LogProblem, LogReading } from './log';
import { keep, logOf, rawColumn, type RawColumn } from './log-columns';
import { say } from '../words/say';

/** Problems listed at most. */
export const MOST_PROBLEMS = 20;
const HALF_DAY = 43_200e6;
const DAY = 86_400e6;

/** Reads a log for a rig. Every mistake is named with its line; nothing is guessed. */
export const readLog = (rig: Rig, text: string): LogReading => finish(readLogWork(rig, text));

/** Characters taken in one step: some hundred lines. */
const PIECE = 1 << 14;

/** The same in steps. */
export function* readLogWork(rig: Rig, text: string): Work<LogReading> {
  const reader = new LogReader(rig);
  for (let at = 0; at < text.length && reader.push(text.slice(at, at + PIECE)); at += PIECE) yield;
  return reader.end();
}

/** A log that comes in pieces of any length. */
export class LogReader {
  private rest = '';
  /** A line grew so long that nothing after it is read. */
  private endless = false;
  /** Lines end with a carriage return alone. */
  private returns = false;
  private hasUnits = false;
  private headingLine = 1;
  private line = 0;
  private separator = ',';
  private columns: RawColumn[] | null = null;
  private time = 0;
  private last = -Infinity;
  private lastCell = '';
  private day = 0;
  private rows = 0;
  private firstRow = 1;
  private readonly problems: LogProblem[] = [];
  /** A line that is not whole: excused where it is the last one. */
  private short: { readonly at: number; readonly message: string } | null = null;
  private readonly notes: string[] = [];

  constructor(private readonly rig: Rig) {}

  /** Whether more is wanted: not after too many mistakes. */
  push(text: string): boolean {
    if (this.isFull()) return false;
    if (this.line === 0 && this.rest === '' && isOldMac(text)) this.returns = true;
    if (this.returns) text = text.replace(/\r/g, '\n');
    const whole = this.rest + (this.line === 0 && this.rest === '' ? text.replace(/^\uFEFF/, '') : text);
    const end = whole.lastIndexOf('\n') + 1;
    this.rest = whole.slice(end);
    if (end > 0) this.take(whole.slice(0, end - 1));
    else if (this.rest.length > LONGEST_LINE) {
      this.fail(this.line + 1, say`The line has no end; is this a text of readings?`);
      this.endless = true;
    }
    return !this.isFull();
  }

  end(): LogReading {
    if (this.rest !== '' && !this.isFull()) this.take(this.rest);
    this.lacksUnits();
    if (this.problems.length === 0 && !this.columns) this.fail(1, say`The log is empty.`);
    if (this.short && this.problems.length === 0) this.notes.push(say`The last line is not whole and is left out.`);
    if (this.problems.length === 0 && this.rows < 3)
      this.fail(
        this.firstRow,
        this.rows === 1
          ? say`The log has 1 line of readings; at least 3 are needed.`
          : say`The log has ${this.rows} lines of readings; at least 3 are needed.`,
      );
    if (this.problems.length > 0) return { ok: false, problems: this.problems.slice(0, MOST_PROBLEMS) };
    return logOf(this.rig, this.columns!, this.time, { notes: this.notes, line: this.headingLine });
  }

  private isFull(): boolean {
    return this.endless || this.problems.length >= MOST_PROBLEMS || (this.problems.length > 0 && !this.columns);
  }

  private fail(line: number, message: string): void {
    this.problems.push({ line, message });
  }

  /** Whole lines, without the last line end. */
  private take(text: string): void {
    if (this.line === 0 && isBinary(text)) return this.fail(1, binaryWords(text));
    let body = text;
    while (!this.columns) {
      const end = body.indexOf('\n');
      const head = end < 0 ? body : body.slice(0, end);
      this.line++;
      // `sep=;` is how some spreadsheets state the separator.
      if (head.trim() !== '' && !head.startsWith('#') && !/^sep=.\r?$/i.test(head))
        this.heading(head.replace(/\r$/, ''));
      if (this.isFull() || end < 0) return;
      body = body.slice(end + 1);
    }
    const { data } = Papa.parse(body.includes('\r') ? body.replace(/\r\n?/g, '\n') : body, {
      delimiter: this.separator,
      skipEmptyLines: false,
    });
    for (const cells of data) {
      this.line++;
      const [first] = cells;
      const over = cells.reduce((n, c) => n + c.split('\n').length - 1, 0);
      if (over > 0) {
        this.fail(
          this.line,
          say`A quotation mark opens a cell that does not end in its line; a log has one line a moment.`,
        );
        this.line += over;
        if (this.isFull()) return;
        continue;
      }
      if (first !== undefined && (first.startsWith('#') || (cells.length === 1 && first.trim() === ''))) continue;
      this.row(cells);
      if (this.isFull()) return;
    }
  }

  private heading(head: string): void {
    const outside = head.replace(/"[^"]*"/g, '');
    this.separator = ['\t', ';', ','].find((s) => outside.includes(s)) ?? ',';
    const cells = (Papa.parse(head, { delimiter: this.separator, skipEmptyLines: false }).data[0] ?? []).map((c) =>
      c.trim(),
    );
    while (cells.length > 1 && cells.at(-1) === '') cells.pop();
    this.headingLine = this.line;
    this.open(cells);
  }

  private open(cells: readonly string[]): void {
    const { columns, problems } = readHeadings(this.rig, cells, this.line);
    if (problems.length > 0) {
      this.problems.push(...problems);
      return;
    }
    this.time = columns.findIndex((c) => c.kind === 'time');
    this.columns = columns.map(rawColumn);
    this.firstRow = this.line + 1;
  }

  /** A second line of the heading with a unit a column: `s;%;bar`. */
  private unitsLine(cells: readonly string[]): boolean {
    const columns = this.columns!;
    if (this.rows > 0 || this.hasUnits || columns[this.time]!.heading.unit !== null || cells.length !== columns.length)
      return false;
    const bare = cells.map((c) => c.trim().replace(/^[[(]|[\])]$/g, ''));
    if (scaleOf(bare[this.time]!)?.dimension !== 'time') return false;
    this.hasUnits = true;
    this.open(
      columns.map(({ heading: h }, k) => (h.unit === null && bare[k] !== '' ? `${h.heading} [${bare[k]}]` : h.heading)),
    );
    return true;
  }

  /** Whether a column still has no unit now that the line below the heading has been seen; says so and gives the log up. */
  private lacksUnits(): boolean {
    if (this.rows > 0 || !this.columns) return false;
    const found = this.columns.flatMap(({ heading }) => heading.lacks ?? []);
    for (const message of found) this.fail(this.headingLine, message);
    if (found.length > 0) this.columns = null;
    return found.length > 0;
  }

  private row(cells: readonly string[]): void {
    if (this.unitsLine(cells)) return;
    if (this.lacksUnits()) return;
    if (this.short) this.fail(this.short.at, this.short.message);
    this.short = null;
    const columns = this.columns!;
    const extra = cells.slice(columns.length).some((c) => c.trim() !== '');
    if (cells.length < columns.length || extra) {
      const commas =
        this.separator === ',' && cells.length > columns.length
          ? say` Decimal commas need semicolons between the cells.`
          : '';
      const message = say`The line has ${cells.length} cells where the heading has ${columns.length}.${commas}`;
      if (extra) this.fail(this.line, message);
      else this.short = { at: this.line, message };
      return;
    }
    const t = this.timeOf(columns[this.time]!.heading, cells[this.time]!.trim());
    if (typeof t === 'string') return this.fail(this.line, t);
    if (t <= this.last) return this.fail(this.line, this.clockWords(t, cells[this.time]!.trim()));
    const values: number[] = [];
    for (let k = 0; k < columns.length; k++) {
      const value = k === this.time ? t : cellValue(columns[k]!.heading, cells[k]!.trim());
      if (typeof value === 'string') return this.fail(this.line, value);
      values.push(value);
    }
    this.last = t;
    this.lastCell = cells[this.time]!.trim();
    this.rows++;
    columns.forEach((column, k) => {
      keep(column, values[k]!);
      if (Number.isNaN(values[k]!)) column.missing++;
      else if (this.rows <= DIGITS_READ) column.decimals = Math.max(column.decimals, decimalsOf(cells[k]!.trim()));
    });
  }

  /** µs, or a sentence. */
  private timeOf(heading: Heading, cell: string): number | string {
    if (cell === '') return say`The line has no time.`;
    const clock = clockTime(cell);
    if (clock) {
      if (!clock.isDate && clock.t + this.day < this.last - HALF_DAY) {
        this.day += DAY;
        this.notes.push(say`The clock passes midnight at line ${this.line}.`);
      }
      return clock.isDate ? clock.t : clock.t + this.day;
    }
    // A cell that holds a comma between commas was quoted: then it is a decimal comma, too.
    const seconds = cellValue(heading, cell);
    if (typeof seconds === 'string')
      return say`\`${cell.slice(0, 40)}\` is not a time: write seconds, a clock time (06:30:00.25) or ISO 8601.`;
    if (heading.unit === null)
      return say`The column \`${heading.heading}\` has no unit; write for instance [s], [ms], or clock times in its cells.`;
    if (Math.abs(seconds) > LONGEST_TIME) return say`\`${cell.slice(0, 40)}\` is not a valid clock time.`;
    return Number.isFinite(seconds) ? Math.round(seconds * 1e6) : say`The line has no time.`;
  }

  private clockWords(t: number, cell: string): string {
    if (t === this.last) return say`The clock stands still: the time ${cell} comes twice; are its decimals cut off?`;
    const back = say`The clock goes back: ${cell} comes after ${this.lastCell}`;
    return say`${back}, by ${formatTime(Math.min(this.last - t, 8.64e13))}; sort the lines, or cut the log where the clock was set.`;
  }
}

const LONGEST_LINE = 1 << 20;
/** Seconds to the year 2200: beyond it µs are not whole numbers for long. */
const LONGEST_TIME = 7.3e9;
/** Rows whose digits are looked at for the resolution of a column. */
const DIGITS_READ = 200;

const isOldMac = (text: string): boolean => {
  const head = text.slice(0, 4096);
  return head.includes('\r') && !head.includes('\n');
};

const isBinary = (text: string): boolean =>
  ['\u0000', '\uFFFD'].some((c) => text.slice(0, 4096).includes(c)) || text.startsWith('PK\u0003');

const binaryWords = (text: string): string =>
  text.startsWith('PK')
    ? say`This is a packed or spreadsheet file and no text; save the readings as CSV.`
    : say`This is binary data and no text; save the readings as CSV.`;
