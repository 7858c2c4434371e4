/** Worst-case ranges of door movements in the first stroke. */
import type { RigFacts } from '../run/facts';
import { edgeRanges, type NamedRanges } from '../run/edge-ranges';

/** Ranges of the main stroke by name of the change: `door:upper/opens/0`. Empty without tolerances. */
export function mainRanges({ rig, timing }: RigFacts): NamedRanges {
  return edgeRanges(rig, timing)[0] ?? new Map();
}
