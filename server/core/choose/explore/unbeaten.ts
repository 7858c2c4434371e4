/** The choices that no other beats: better in one measure means worse in another (Pareto). */

interface Sound {
  readonly measures: readonly number[];
  readonly index: number;
}

/** Indices of rows that are unbeaten; each measure so that more is better, null where there is none (such rows are left out). */
export function unbeaten(rows: readonly (readonly (number | null)[])[]): number[] {
  const complete = rows
    .map((measures, index) => ({ measures: measures as readonly number[], index }))
    .filter(({ measures }) => measures.length > 0 && measures.every((m) => m !== null));
  const sound = withoutEqual(complete);
  // Best first in the first measure: only those kept so far can beat what comes later.
  sound.sort((a, b) => compare(b.measures, a.measures));
  const isBeaten = (sound[0]?.measures.length ?? 0) <= 3 ? createStairs() : createList();
  const kept = sound.filter((row) => !isBeaten(row.measures));
  return kept.map((k) => k.index).sort((a, b) => a - b);
}

/** Measures that are the same in every row tell nothing apart, and each of them makes the search longer. */
function withoutEqual(rows: readonly Sound[]): Sound[] {
  const [first] = rows;
  const telling = first?.measures.map((m, k) => rows.some((row) => row.measures[k] !== m)) ?? [];
  return rows.map(({ measures, index }) => ({ index, measures: measures.filter((_, k) => telling[k]) }));
}

function compare(a: readonly number[], b: readonly number[]): number {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return a[k]! - b[k]!;
  return 0;
}

/** Given rows best first: whether a row is beaten by an earlier one. Equal rows do not beat each other. */
type IsBeaten = (row: readonly number[]) => boolean;

/**
 * For up to three measures: of the rows so far, those that no other beats in the second and third, as stairs that rise in the second while
 * they fall in the third. One look at the stairs tells (H. T. Kung, F. Luccio, F. P. Preparata, Journal of the ACM 22, 469, 1975).
 */
function createStairs(): IsBeaten {
  const seconds: number[] = [];
  const stairs: (readonly number[])[] = [];
  return (row) => {
    const [, second = 0, third = 0] = row;
    const from = lowest(seconds, second);
    const above = stairs[from];
    if (above && (above[2] ?? 0) >= third) return compare(above, row) !== 0;
    // What the new stair covers lies below it in the second and no higher in the third.
    const end = seconds[from] === second ? from + 1 : from;
    let start = end;
    while (start > 0 && (stairs[start - 1]![2] ?? 0) <= third) start--;
    seconds.splice(start, end - start, second);
    stairs.splice(start, end - start, row);
    return false;
  };
}

/** Index of the first number, of rising ones, that is not below another. */
function lowest(rising: readonly number[], least: number): number {
  let [low, high] = [0, rising.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (rising[middle]! < least) low = middle + 1;
    else high = middle;
  }
  return low;
}

function createList(): IsBeaten {
  const kept: (readonly number[])[] = [];
  return (row) => {
    if (kept.some((k) => beats(k, row))) return true;
    kept.push(row);
    return false;
  };
}

function beats(a: readonly number[], b: readonly number[]): boolean {
  let better = false;
  for (let k = 0; k < a.length; k++) {
    if (a[k]! < b[k]!) return false;
    better ||= a[k]! > b[k]!;
  }
  return better;
}
