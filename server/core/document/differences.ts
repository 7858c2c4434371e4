/** What changed between two versions of a document, rig by rig; the table of `caisson diff` for the editor's comparison. */
import { diffRigs, type DiffRow } from '../report/diff';
import type { RigDocument } from './document';

/** By name of the rig now; a rig without a partner of its name is compared with the first one before. Needs the checked phase of both. */
export function documentDifferences(
  before: RigDocument,
  now: RigDocument,
): Readonly<Record<string, readonly DiffRow[]>> {
  const old = before.analysed();
  const found = now.analysed().flatMap((facts) => {
    const partner = old.find((f) => f.rig.name === facts.rig.name) ?? old[0];
    if (!partner) return [];
    const sides = [
      { facts: partner, problems: problemsOf(before, partner.rig.whole) },
      { facts, problems: problemsOf(now, facts.rig.whole) },
    ] as const;
    return [[facts.rig.name, diffRigs(...sides).rows] as const];
  });
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
