/** Near matches for mistyped words. Imports nothing. */

/**
 * Edits between two words: insertions, deletions, replacements and swaps of neighbours count one each (Damerau 1964, in the
 * restricted form that edits no piece twice).
 */
export function editDistance(a: string, b: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1;
      let best = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        best = Math.min(best, beforeLast[j - 2]! + 1);
      row.push(best);
    }
    beforeLast = last;
    last = row;
  }
  return last[b.length]!;
}

/** The candidate nearest to `word`, or null where none is near: one edit where either has up to 4 letters, two otherwise. */
export function nearMatch(word: string, candidates: Iterable<string>): string | null {
  if (word.length > 40) return null;
  const lower = word.toLowerCase();
  let best: string | null = null;
  let bestDistance = word.length <= 4 ? 2 : 3;
  for (const candidate of candidates) {
    if (Math.abs(candidate.length - word.length) >= bestDistance) continue;
    const distance = lower === candidate.toLowerCase() ? 0 : editDistance(lower, candidate.toLowerCase());
    if (distance >= bestDistance || distance >= word.length || (distance > 1 && candidate.length <= 4)) continue;
    best = candidate;
    bestDistance = distance;
  }
  return best;
}
