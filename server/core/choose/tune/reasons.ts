/** Why each value is as suggested: what the rig would lose with the present one, everything else as suggested. */
import { requirementValue, type RequirementValue } from '../../metrics/requirement-value';
import { relativeSlack } from '../../metrics/slack';
import { patiently, type Work } from '../../work/work';
import type { TuneAnswer } from './answer';
import type { TuneProblem } from './problem';
import { EVERYTHING, scoreWork, type Score } from './score';

export type Reason =
  /** Of the requirements that would have less to spare, the one that would have least, with the value it would have. */
  | { readonly kind: 'requirement'; readonly would: RequirementValue }
  /** A preference, by its index, that would be served less. */
  | { readonly kind: 'preference'; readonly preference: number }
  /** The rig could not be computed. */
  | { readonly kind: 'gone' }
  /** Nothing would be lost. */
  | { readonly kind: 'free' };

/** One a chosen value, in their order; null for a value that stays. */
export function* reasonsOf(problem: TuneProblem, answer: TuneAnswer): Work<(Reason | null)[]> {
  const { best } = answer.tuned;
  const reasons: (Reason | null)[] = [];
  for (const [k, { variable, value }] of answer.chosen.entries()) {
    if (value === variable.now) {
      reasons.push(null);
      continue;
    }
    const values = best.values.map((v, other) => (other === k ? variable.now : v));
    const without = yield* scoreWork(problem, values, EVERYTHING);
    reasons.push(without ? yield* patiently(() => lostBy(best, without)) : { kind: 'gone' });
  }
  return reasons;
}

/** A little more than rounding, in proportion to the bound. */
const NOTHING = 1e-6;

function lostBy(best: Score, without: Score): Reason {
  const losses = without.facts.rig.requirements.flatMap((requirement, k) => {
    const would = requirementValue(without.facts, requirement);
    const is = requirementValue(best.facts, best.facts.rig.requirements[k]!);
    const loss = share(is) - share(would);
    return loss > NOTHING ? [{ would, left: share(would) }] : [];
  });
  const most = losses.sort((a, b) => a.left - b.left)[0];
  const aim = best.aims.findIndex((a, k) => a > (without.aims[k] ?? -Infinity));
  // What is preferred decides only among choices that keep what is required.
  if (most && (most.would.verdict.state !== 'met' || aim < 0)) return { kind: 'requirement', would: most.would };
  if (aim >= 0) return { kind: 'preference', preference: aim };
  return { kind: 'free' };
}

/** Slack in proportion to the bound; what only holds or fails counts as one or none. */
function share({ requirement, value, verdict }: RequirementValue): number {
  if (requirement.comparison && value !== null) return relativeSlack(requirement.comparison, value);
  return verdict.state === 'met' ? 1 : 0;
}
