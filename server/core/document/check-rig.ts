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

const UNREAD: Verdict = {
  state: 'undecided',
  code: 'require/undecided',
  actual: null,
  expected: '',
  found: '',
  message: 'Not decided: the rig has mistakes in its control.',
  places: [],
};

/** Problems that do not rest on the facts: how a requirement is written. */
const WITHOUT_FACTS: ReadonlySet<string> = new Set(['require/arguments', 'name/unknown']);

/**
 * Runs every check on a rig's facts. Where a statement of the control could not be read, the facts are of another rig than the
 * one that is meant: then nothing that rests on them is reported, and no requirement is decided.
 * @param text text of a file of the resolution
 */
export function checkRig(
  facts: RigFacts,
  resolution: Resolution,
  text: (uri: string) => string | undefined,
): CheckedRig {
  if (facts.rig.incomplete !== undefined && facts.rig.incomplete.length > 0) {
    const problems = runChecks({ rig: facts.rig, facts, resolution, text });
    return {
      problems: problems.filter((problem) => WITHOUT_FACTS.has(problem.code)),
      verdicts: facts.rig.requirements.map(() => UNREAD),
    };
  }
  return {
    problems: runChecks({ rig: facts.rig, facts, resolution, text }),
    verdicts: facts.rig.requirements.map((requirement) => evaluateRequirement(facts, requirement)),
  };
}
