/** The choices that no other beats: better in one measure means worse in another (Pareto). */

/** Indices of rows that are unbeaten; each measure so that more is better, null where there is none (such rows are left out). */
export function unbeaten(rows: readonly (readonly (number | null)[])[]): number[] {
  const sound = rows
    .map((measures, index) => ({ measures: measures as readonly number[], index }))
    .filter(({ measures }) => measures.length > 0 && measures.every((m) => m !== null));
  // Best first in the first measure: only those kept so far can beat what comes later.
  sound.sort((a, b) => compare(b.measures, a.measures));
  const kept: typeof sound = [];
  for (const row of sound) if (!kept.some((k) => beats(k.measures, row.measures))) kept.push(row);
  return kept.map((k) => k.index).sort((a, b) => a - b);
}

function compare(a: readonly number[], b: readonly number[]): number {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return a[k]! - b[k]!;
  return 0;
}

const beats = (a: readonly number[], b: readonly number[]): boolean =>
  a.every((x, k) => x >= b[k]!) && a.some((x, k) => x > b[k]!);
