/** The last phase for one rig: checks and verdicts of its requirements. */
import type { CheckContext } from '../checks/check';
import { CHECKS, checkSteps, type CheckStep, more, wiringErrors } from '../checks/registry';
import { requirementProblem } from '../metrics/arguments';
import { evaluateRequirement } from '../metrics/evaluate';
import type { Verdict } from '../metrics/verdict';
import type { Problem } from '../model/problem';
import type { Requirement, Rig } from '../model/rig';
import type { Resolution } from '../model/resolution';
import type { RigFacts } from '../run/facts';
import { patiently } from '../work/work';
import { say } from '../words/say';

export interface CheckedRig {
  readonly problems: readonly Problem[];
  /** One per requirement, in order. */
  readonly verdicts: readonly Verdict[];
}

/** A requirement and how it stands. */
export interface JudgedRequirement {
  readonly rig: Rig;
  readonly requirement: Requirement;
  readonly verdict: Verdict;
}

/** The requirements of all rigs, in order, with what was found of each. */
export const judged = (rigs: readonly Rig[], checked: readonly CheckedRig[]): JudgedRequirement[] =>
  rigs.flatMap((rig, i) =>
    rig.requirements.map((requirement, j) => ({ rig, requirement, verdict: checked[i]!.verdicts[j]! })),
  );

const unread = (): Verdict => ({
  state: 'undecided',
  code: 'require/undecided',
  actual: null,
  expected: '',
  found: '',
  message: say`Not decided: the rig has mistakes in its control.`,
  places: [],
});

/** Problems that do not rest on the facts: how a requirement is written. */
const WITHOUT_FACTS: ReadonlySet<string> = new Set(['require/arguments', 'name/unknown']);

/** Findings that rest on what chambers hold. */
const OF_CONTENTS: ReadonlySet<string> = new Set(CHECKS.map((c) => c.code).filter((code) => code.startsWith('flow/')));

/** Findings that ask what the text states as meant. */
const OF_INTENT: ReadonlySet<string> = new Set(CHECKS.filter((c) => c.asksIntent).map((c) => c.code));

/** A problem that names none of the findings of intent as its cause: they are not reported. */
function withoutIntent(problem: Problem): Problem {
  const related = problem.related?.filter(({ cause }) => cause === undefined || !OF_INTENT.has(cause));
  return related === undefined || related.length === problem.related?.length ? problem : { ...problem, related };
}

const isIncomplete = ({ incomplete }: Rig): boolean => incomplete !== undefined && incomplete.length > 0;

/** What `checkRig` finds of errors of the wiring, and nothing else: what is read to decide whether a rig has a control at all. */
export function checkWiring(
  facts: RigFacts,
  resolution: Resolution,
  files: Pick<CheckContext, 'text' | 'tree'>,
): Problem[] {
  return isIncomplete(facts.rig) ? [] : wiringErrors({ rig: facts.rig, facts, resolution, ...files });
}

/**
 * Runs every check on a rig's facts, in steps. Where a statement of the control could not be read, the facts are of another rig than
 * the one that is meant: then nothing that rests on them is reported, and no requirement is decided. Where a requirement could not be
 * read, nothing is reported that it may state as meant.
 * @param files text and tree of each file of the resolution
 */
export function* checkRig(
  facts: RigFacts,
  resolution: Resolution,
  files: Pick<CheckContext, 'text' | 'tree'>,
): Generator<CheckStep, CheckedRig, void> {
  const { rig } = facts;
  const incomplete = isIncomplete(rig);
  const unreadIntent =
    !incomplete && (rig.unreadIntent === true || rig.requirements.some((r) => requirementProblem(rig, r) !== null));
  const kept = (problems: readonly Problem[]): readonly Problem[] => {
    if (incomplete) return problems.filter((problem) => WITHOUT_FACTS.has(problem.code));
    // What was left of the contents is not what is meant.
    const rest = rig.unreadContents ? problems.filter((problem) => !OF_CONTENTS.has(problem.code)) : problems;
    return unreadIntent ? rest.filter((problem) => !OF_INTENT.has(problem.code)).map(withoutIntent) : rest;
  };
  const steps = checkSteps({ rig, facts, resolution, ...files });
  for (;;) {
    const step = steps.next();
    if (step.done) {
      const verdicts: Verdict[] = [];
      for (const requirement of rig.requirements) {
        const work = patiently(() => (incomplete ? unread() : evaluateRequirement(facts, requirement)));
        verdicts.push(yield* more(work));
        yield { stage: 'more' };
      }
      return { problems: kept(step.value), verdicts };
    }
    yield step.value.stage === 'early' ? { stage: 'early', problems: kept(step.value.problems) } : step.value;
  }
}
