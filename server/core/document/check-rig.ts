/** The last phase for one rig: checks and verdicts of its requirements. */
import { runChecks } from '../checks/registry';
import { evaluateRequirement } from '../metrics/evaluate';
import type { Verdict } from '../metrics/verdict';
import type { Problem } from '../model/problem';
import type { Resolution } from '../model/resolution';
import type { RigFacts } from '../run/facts';

export interface CheckedRig {
  readonly problems: readonly Problem[];
  /** One per requirement, in order. */
  readonly verdicts: readonly Verdict[];
}

/** Runs every check on a rig's facts. @param text text of a file of the resolution */
export function checkRig(
  facts: RigFacts,
  resolution: Resolution,
  text: (uri: string) => string | undefined,
): CheckedRig {
  return {
    problems: runChecks({ rig: facts.rig, facts, resolution, text }),
    verdicts: facts.rig.requirements.map((requirement) => evaluateRequirement(facts, requirement)),
  };
}
