/** Plain text tables: columns as wide as their widest cell, two blanks between, no trailing blanks. */

export type Align = 'left' | 'right';

/** Rows of equal length; the first is the heading. Cells of `right` columns are aligned at their right end. */
export function textTable(rows: readonly (readonly string[])[], align: readonly Align[], indent = '  '): string[] {
  const widths = align.map((_, column) => Math.max(...rows.map((row) => displayWidth(row[column] ?? ''))));
  return rows.map((row) => {
    const cells = widths.map((width, column) => pad(row[column] ?? '', width, align[column] ?? 'left'));
    return (indent + cells.join('  ')).trimEnd();
  });
}

function pad(text: string, width: number, align: Align): string {
  const fill = ' '.repeat(Math.max(0, width - displayWidth(text)));
  return align === 'right' ? fill + text : text + fill;
}

/** Columns a terminal gives a text: combining marks none, East Asian wide characters two. */
export function displayWidth(text: string): number {
  let width = 0;
  for (const character of text) {
    if (/\p{M}/u.test(character)) continue;
    width +=
      /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6]|\p{Extended_Pictographic}/u.test(
        character,
      )
        ? 2
        : 1;
  }
  return width;
}

/** Columns that have a figure in some row; a column of dashes says nothing about this rig. */
export function withoutEmpty(rows: readonly string[][]): string[][] {
  const used = rows[0]!.map((_, column) => rows.slice(1).some((row) => row[column] !== '-'));
  return rows.map((row) => row.filter((_, column) => used[column]));
}
