/** What changed between two versions of a document, rig by rig; the table of `caisson diff` for the editor's comparison. */
import { diffWork, type DiffRow } from '../report/diff';
import type { Work } from '../work/work';
import type { RigDocument } from './document';

/** In steps, by name of the rig now; a rig without a partner of its name is compared with the first one before. Needs the checked phase of both. */
export function* documentDifferences(
  before: RigDocument,
  now: RigDocument,
): Work<Readonly<Record<string, readonly DiffRow[]>>> {
  const old = before.analysed();
  const found: [name: string, rows: readonly DiffRow[]][] = [];
  for (const facts of now.analysed()) {
    const partner = old.find((f) => f.rig.name === facts.rig.name) ?? old[0];
    if (!partner) continue;
    const sides = [
      { facts: partner, problems: problemsOf(before, partner.rig.whole) },
      { facts, problems: problemsOf(now, facts.rig.whole) },
    ] as const;
    found.push([facts.rig.name, (yield* diffWork(...sides)).rows]);
  }
  return Object.fromEntries(found);
}

function problemsOf(
  document: RigDocument,
  whole: { readonly uri: string; readonly start: number; readonly end: number },
) {
  return document
    .checked()
    .problems.filter((p) => p.at.uri === whole.uri && p.at.start >= whole.start && p.at.end <= whole.end);
}
