/** What a requirement rests on that could not be read: of a text with mistakes nothing is decided by what was left of it. */
import type { Requirement, Rig } from '../model/rig';
import { say } from '../words/say';
import type { Metric } from './metric';

/** What of the text has mistakes, as a clause; null where all that a requirement rests on was read. */
export function unreadBasis(rig: Rig, requirement: Requirement, metric: Pick<Metric, 'kind'>): string | null {
  if ((rig.incomplete?.length ?? 0) > 0) return say`the rig has mistakes in its control`;
  const scenario = requirement.during === null ? undefined : rig.scenarios[requirement.during];
  if (scenario?.unread) return say`scenario ${scenario.name} has mistakes`;
  // The contents move the sensors of a scenario.
  if (!rig.unreadContents || (metric.kind !== 'flow' && requirement.during === null)) return null;
  return say`what the rig states of its contents has mistakes`;
}
