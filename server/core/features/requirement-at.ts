/** The requirement that a statement of the text states, with its value. */
import type { Span } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import { requirementValue, type RequirementValue } from '../metrics/requirement-value';
import { isIncomplete, rigAt } from './lookup';

/** Null where it is in a part (several rigs or places may have it), cannot be read, or its rig has mistakes in its control. */
export function requirementAt(document: RigDocument, span: Span): RequirementValue | null {
  const rig = rigAt(document, span.start);
  if (rig < 0) return null;
  const resolved = document.resolved().rigs[rig]!;
  if (isIncomplete(resolved)) return null;
  const found = resolved.requirements.filter(({ at }) => at.uri === document.uri && at.start === span.start);
  return found.length === 1 ? requirementValue(document.factsOf(rig), found[0]!) : null;
}
