/** The requirements that a statement of the text states, with their values. */
import type { Span } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import { requirementValue, type RequirementValue } from '../metrics/requirement-value';
import { isIncomplete } from './lookup';

/**
 * One requirement for a statement of a rig; as many as there are placements for one of a part, that with the least to spare first and those
 * that fail before all. Empty where it cannot be read, or where the rigs that have it have mistakes in their control.
 */
export function requirementsAt(document: RigDocument, span: Span): RequirementValue[] {
  const found = document.resolved().rigs.flatMap((rig, index) => {
    if (isIncomplete(rig)) return [];
    const stated = rig.requirements.filter(({ at }) => at.uri === document.uri && at.start === span.start);
    return stated.length === 0 ? [] : stated.map((r) => requirementValue(document.factsOf(index), r));
  });
  return found.length < 2 ? found : found.sort((a, b) => rank(a) - rank(b) || least(a) - least(b));
}

const rank = ({ verdict }: RequirementValue): number => ['failed', 'undecided', 'met'].indexOf(verdict.state);

const least = ({ slack }: RequirementValue): number => slack ?? 0;
