/** Worst-case ranges of door movements, worked out when first asked for and kept with the facts they belong to. */
import type { RigFacts } from '../run/facts';
import type { NamedRanges } from '../run/edge-ranges';
import { edgeRanges } from '../run/edge-ranges';
import type { TimingFacts } from '../timing/facts';

const known = new WeakMap<TimingFacts, readonly NamedRanges[]>();

/** Ranges of the main stroke by name of the change: `door:upper/opens/0`. Empty without tolerances. */
export function mainRanges(facts: RigFacts): NamedRanges {
  let all = known.get(facts.timing);
  if (!all) known.set(facts.timing, (all = edgeRanges(facts.rig, facts.timing)));
  return all[0] ?? new Map();
}
