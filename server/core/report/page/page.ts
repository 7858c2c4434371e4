/** A page to read or print as plain data: what sheet, report and diff are made of before they become Markdown or HTML. */

export interface PageTable {
  readonly kind: 'table';
  readonly caption: string;
  readonly columns: readonly string[];
  /** A line end in a cell begins a new line of it. */
  readonly rows: readonly (readonly string[])[];
  /** Columns whose cells are numbers or times: aligned right. */
  readonly numeric?: readonly number[];
  /** Widths of the columns in percent; absent: as their cells need. */
  readonly widths?: readonly number[];
  /** On a page with a script the rows can be put in order by a column. */
  readonly sortable?: boolean;
}

/** Steps to do in order, each with a box to tick; `see` is what must be seen then, empty where nothing. */
export interface PageSteps {
  readonly kind: 'steps';
  readonly items: readonly { readonly todo: string; readonly see: string }[];
}

export interface CodeColour {
  readonly start: number;
  readonly end: number;
  readonly type: string;
}

export type PageBlock =
  | { readonly kind: 'heading'; readonly level: 1 | 2 | 3; readonly text: string }
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'caution'; readonly text: string }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  /** Text as it is, with an accessible name; `colours` names the class of stretches of it, in order, not meeting one another. */
  | { readonly kind: 'code'; readonly name: string; readonly text: string; readonly colours?: readonly CodeColour[] }
  /** SVG text made by this program; `dark` the same on a dark ground, where there is one. `alt` says in a sentence what it shows. */
  | {
      readonly kind: 'picture';
      readonly name: string;
      readonly alt: string;
      readonly svg: string;
      readonly dark?: string;
    }
  | PageTable
  | PageSteps;

export interface Page {
  readonly title: string;
  readonly blocks: readonly PageBlock[];
}

export const heading = (level: 1 | 2 | 3, text: string): PageBlock => ({ kind: 'heading', level, text });
export const text = (words: string): PageBlock => ({ kind: 'text', text: words });

/** A table, or a sentence in its place where there are no rows. */
export function tableOr(table: Omit<PageTable, 'kind'>, none: string): PageBlock {
  return table.rows.length === 0 ? text(none) : { kind: 'table', ...table };
}
