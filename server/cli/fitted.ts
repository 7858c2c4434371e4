/** Tables on a terminal: lines wider than it go on below their last column, instead of breaking at its edge. */
import { displayWidth } from '../core/report/text-table';

/** What is left for a column that goes on below itself; with less, a line stays as it is. */
const LEAST = 16;

/** A line that begins this far in is a cell of its own, below others. */
const CELL = 4;

/** Escape sequences of colours take no room. */
// eslint-disable-next-line no-control-regex -- escape sequences begin so
const COLOUR = /\u001b\[\d+m/g;

const widthOf = (text: string): number => displayWidth(text.replace(COLOUR, ''));

/** Every line of a table that is wider than `columns` in several; JSON, mark-up and prose stay as they are. */
export function fitted(text: string, columns: number): string {
  if (/^\s*[[{<]/.test(text)) return text;
  return text
    .split('\n')
    .map((line) => (widthOf(line) <= columns ? line : broken(line, columns)))
    .join('\n');
}

/** Columns are two blanks or more apart (a line far in begins with one); the last that leaves room for itself is where a line goes on. */
function broken(line: string, columns: number): string {
  const margin = line.search(/\S/);
  const gaps = [...line.matchAll(/(?<=\S) {2,}(?=\S)/g)].map((gap) => gap.index + gap[0].length);
  const starts = margin >= CELL ? [margin, ...gaps] : gaps;
  const roomy = starts.filter((at) => widthOf(line.slice(0, at)) <= columns - LEAST).at(-1);
  // What begins so far in that no column has room goes on where it begins, however little room that is, and broken at any blank.
  const start = roomy ?? (margin >= CELL && margin < columns ? margin : undefined);
  if (start === undefined) return line;
  const indent = widthOf(line.slice(0, start));
  const lines: string[] = [];
  let now = '';
  for (const word of line.slice(start).split(roomy === undefined ? / +/ : /(?<=\S) (?=\S)/)) {
    const longer = now === '' ? word : `${now} ${word}`;
    if (now !== '' && indent + widthOf(longer) > columns) {
      lines.push(now);
      now = word;
    } else now = longer;
  }
  return line.slice(0, start) + [...lines, now].join(`\n${' '.repeat(indent)}`);
}
