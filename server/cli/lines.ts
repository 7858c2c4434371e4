/** Offsets to lines and columns for reports: both from 1, columns in UTF-16 units. */

export interface LinePlace {
  readonly line: number;
  readonly column: number;
}

/** Index of line starts (LF, CRLF and CR end lines). */
export function lineIndex(text: string): (offset: number) => LinePlace {
  const starts = [0];
  for (const match of text.matchAll(/\r\n|\n|\r/g)) starts.push(match.index + match[0].length);
  return (offset) => {
    let low = 0;
    let high = starts.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (starts[middle]! <= offset) low = middle;
      else high = middle - 1;
    }
    return { line: low + 1, column: offset - starts[low]! + 1 };
  };
}
