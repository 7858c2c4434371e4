/**
 * Columns: neighbouring lines of the same form get their names, `=`, `{` and values below each other, and comments at the
 * ends of neighbouring lines stand in one column.
 */
import type { FormatLine } from './format-lines';
import { Comment, Equal, LeftBrace, type RigToken } from './tokens';

/** Cells wider than this stand out instead of pushing their neighbours apart. */
const WIDEST = 32;
const LINK_WORDS: ReadonlySet<string> = new Set(['into', 'from', 'on']);
const LINKED: ReadonlySet<string> = new Set(['feed', 'draw', 'sensor', 'sequence']);
const ALIGNED: ReadonlySet<string> = new Set([
  'chamber',
  'door',
  'let',
  'signal',
  'drive',
  'switch',
  'place',
  'feed',
  'draw',
  'sensor',
]);

/** East Asian wide and full-width characters, and emoji, take two columns in editors. */
const WIDE =
  /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6]|\p{Extended_Pictographic}/u;

/** Columns a text takes in a fixed-width font. */
export function displayWidth(text: string): number {
  if (/^[\x20-\x7e]*$/.test(text)) return text.length;
  let width = 0;
  for (const c of text) width += /\p{M}/u.test(c) ? 0 : WIDE.test(c) ? 2 : 1;
  return width;
}

/** Where cells begin on a line, by token index, and the form that neighbours must share to stand in columns with it. */
interface Cells {
  readonly form: string;
  readonly starts: readonly number[];
  /** Blanks between a full cell and the next. */
  readonly gap: number;
}

const isSeveral = (tokens: readonly RigToken[], kind: 'property' | 'keyword'): boolean =>
  tokens.filter((t) => t.kind === kind).length > 1;

/** `keyword name [link name] [= …] [{ … }]`; feeds and draws stand in the same columns. */
function statementCells(tokens: readonly RigToken[]): Cells | null {
  const keyword = tokens[0]!.image;
  if (!ALIGNED.has(keyword) || isSeveral(tokens, 'keyword')) return null;
  const starts: number[] = [];
  let form = keyword === 'draw' ? 'feed' : keyword;
  for (let i = 2; i < tokens.length; i++) {
    const token = tokens[i]!;
    const link = LINKED.has(keyword) && starts.length === 0 && LINK_WORDS.has(token.image) && i === 2;
    if (!link && token.tokenType !== Equal && token.tokenType !== LeftBrace) continue;
    starts.push(i);
    form += link ? ' link' : ' ' + token.image;
    if (!link) break;
  }
  return starts.length > 0 ? { form, starts, gap: 1 } : null;
}

/** One property alone on its line: its keyword, then the rest. */
function propertyCells(tokens: readonly RigToken[]): Cells | null {
  if (tokens.length < 2 || tokens[1]!.tokenType === Comment || isSeveral(tokens, 'property')) return null;
  return { form: 'property', starts: [1], gap: 2 };
}

/** `at 40 min  feed digester off`: the time, then what happens. */
function stepCells(tokens: readonly RigToken[]): Cells | null {
  const action = tokens.findIndex((t, i) => i > 1 && t.kind === 'word' && t.image !== 'at');
  return action > 1 ? { form: 'at', starts: [action], gap: 2 } : null;
}

function cellsOf(line: FormatLine): Cells | null {
  const first = line.tokens[0]!;
  if (line.continues) return null;
  if (first.kind === 'keyword') return statementCells(line.tokens);
  if (first.kind === 'property') return propertyCells(line.tokens);
  return first.kind === 'word' && first.image === 'at' ? stepCells(line.tokens) : null;
}

/** A statement that goes on over several lines keeps to itself. */
function isWhole(line: FormatLine): boolean {
  let depth = 0;
  for (const token of line.tokens) {
    if (token.tokenType === LeftBrace) depth++;
    else if (token.image === '}') depth--;
  }
  return depth === 0 || (depth < 0 && line.tokens[0]!.kind === 'property');
}

function cellWidth(line: FormatLine, from: number, to: number): number {
  let width = displayWidth(line.tokens[from]!.image);
  for (let i = from + 1; i < to; i++) width += line.gaps[i]!.length + displayWidth(line.tokens[i]!.image);
  return width;
}

interface Row {
  readonly line: FormatLine;
  readonly cells: Cells;
}

function alignRun(rows: readonly Row[]): void {
  const { starts, gap } = rows[0]!.cells;
  if (rows.length < 2 && rows[0]!.cells.form !== 'at') return;
  starts.forEach((_, column) => {
    const widths = rows.map(({ line, cells }) => {
      const from = column === 0 ? 0 : cells.starts[column - 1]!;
      return cellWidth(line, from, cells.starts[column]!);
    });
    const widest = Math.max(...widths.map((w) => (w > WIDEST ? 0 : w)));
    rows.forEach(({ line, cells }, i) => {
      line.gaps[cells.starts[column]!] = ' '.repeat(Math.max(gap, widest - widths[i]! + gap));
    });
  });
}

const propertyStarts = (line: FormatLine): number[] =>
  line.tokens.flatMap((token, i) => (token.kind === 'property' ? [i] : []));

/**
 * Properties in braces on one line, below each other as long as all lines that have one in that place have the same. Lines
 * that already have fewer take no part.
 */
function alignProperties(rows: readonly Row[]): void {
  let open = rows.map(({ line }) => ({ line, starts: propertyStarts(line) }));
  for (let place = 0; open.length > 1; place++) {
    const keywords = new Set(open.map(({ line, starts }) => line.tokens[starts[place] ?? -1]?.image));
    if (keywords.size > 1) return;
    const width = ({ line, starts }: (typeof open)[number]) => cellWidth(line, starts[place]!, starts[place + 1]!);
    open = open.filter(({ starts }) => starts.length > place + 1);
    const widest = Math.max(...open.map(width).map((w) => (w > WIDEST ? 0 : w)));
    for (const row of open) row.line.gaps[row.starts[place + 1]!] = ' '.repeat(Math.max(2, widest - width(row) + 2));
  }
}

function closeRun(rows: readonly Row[]): void {
  alignRun(rows);
  if (rows[0]!.cells.form.endsWith('{')) alignProperties(rows);
}

/** Sets runs of neighbouring lines of one form in columns. Changes the lines' gaps. */
export function alignColumns(lines: readonly FormatLine[]): void {
  let run: Row[] = [];
  lines.forEach((line, i) => {
    const cells = isWhole(line) && !lines[i + 1]?.continues ? cellsOf(line) : null;
    const goesOn = cells && run.length > 0 && line.breaks === 1 && run[0]!.cells.form === cells.form;
    if (!goesOn && run.length > 0) closeRun(run);
    if (!goesOn) run = [];
    if (cells) run.push({ line, cells });
  });
  if (run.length > 0) closeRun(run);
}

const endsInComment = (line: FormatLine): boolean =>
  line.tokens.length > 1 && line.tokens[line.tokens.length - 1]!.tokenType === Comment;

/** Width of a line up to its comment. */
function codeWidth(line: FormatLine): number {
  return line.gaps[0]!.length + cellWidth(line, 0, line.tokens.length - 1);
}

/** Sets the comments at the ends of neighbouring lines in one column. Changes the lines' gaps. */
export function alignComments(lines: readonly FormatLine[]): void {
  let run: FormatLine[] = [];
  const close = () => {
    const widest = Math.max(...run.map(codeWidth));
    for (const line of run) line.gaps[line.tokens.length - 1] = ' '.repeat(widest - codeWidth(line) + 2);
    run = [];
  };
  for (const line of lines) {
    if (run.length > 0 && (line.breaks !== 1 || !endsInComment(line))) close();
    if (endsInComment(line)) run.push(line);
  }
  if (run.length > 0) close();
}
