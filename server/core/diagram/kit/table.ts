/** Every picture as a table too: for screen readers, for copying and for terminals. */
import type { Source } from '../../model/problem';

export interface TableRow {
  /** Stable: the id of the edge, lane, node or point that the row tells. */
  readonly id: string;
  readonly cells: readonly string[];
  /** Where in the text it comes from; null where nowhere. */
  readonly source: Source | null;
}

export interface Table {
  readonly caption: string;
  readonly columns: readonly string[];
  readonly rows: readonly TableRow[];
}

/** Tab-separated text with a heading line, for pasting into a spreadsheet; tabs and line ends inside cells become spaces. */
export function tableText(table: Table): string {
  const line = (cells: readonly string[]) => cells.map((c) => c.replace(/[\t\r\n]+/g, ' ')).join('\t');
  return [line(table.columns), ...table.rows.map((r) => line(r.cells))].join('\n') + '\n';
}
