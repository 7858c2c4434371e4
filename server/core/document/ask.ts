/** Asking a rig for a metric, or for a requirement, that its text does not hold. */
import { requirementValue, type RequirementValue } from '../metrics/requirement-value';
import { measureMetric, type Measurement } from '../metrics/measure';
import type { Rig } from '../model/rig';
import { createDocument, type DocumentSettings, type RigDocument } from './document';

export type Answer =
  | { readonly kind: 'measured'; readonly text: string; readonly measurement: Measurement }
  | { readonly kind: 'judged'; readonly value: RequirementValue }
  /** The question cannot be read; one sentence. */
  | { readonly kind: 'problem'; readonly message: string };

/**
 * Reads `question` (`strokes_to(store, 6 bar)`, or with a comparison) as if it stood in the rig's text after `require`, and measures it.
 */
export function askRig(document: RigDocument, rig: Rig, question: string, settings: DocumentSettings = {}): Answer {
  const asked = question.trim().replace(/^require\s+/, '');
  if (asked === '' || /[\r\n{}]/.test(asked))
    return { kind: 'problem', message: 'A question is one metric, such as gap(upper, lower) or repeat() <= 18 s.' };
  const at = rig.whole.end - 1;
  const lead = '\nrequire ';
  const text = `${document.text.slice(0, at)}${lead}${asked}\n${document.text.slice(at)}`;
  const copy = createDocument({ uri: document.uri, version: document.version, text }, document.readText, settings);
  const index = copy.resolved().rigs.findIndex((r) => r.name === rig.name);
  const found = copy.resolved().rigs[index];
  const start = at + lead.length;
  const inside = (p: { readonly at: { readonly start: number; readonly uri: string } }): boolean =>
    p.at.uri === document.uri && p.at.start >= start - 1 && p.at.start <= start + asked.length + 1;
  const problem = [
    ...copy.parsed().problems.map((p) => ({ message: p.message, at: { uri: document.uri, start: p.span.start } })),
  ]
    .concat(copy.resolved().problems.filter((p) => p.severity === 'error'))
    .find(inside);
  if (problem) return { kind: 'problem', message: problem.message };
  const requirement = found?.requirements.find(
    (r) => r.at.uri === document.uri && r.at.start >= at && r.at.end <= start + asked.length,
  );
  if (!requirement && document.parsed().problems.length > 0)
    return {
      kind: 'problem',
      message:
        'The text has syntax errors, so nothing can be asked of it. Correct those first; caisson check lists them.',
    };
  if (!requirement)
    return {
      kind: 'problem',
      message: `${asked} is not a metric; one is written as in repeat() or gap(upper, lower).`,
    };
  const facts = copy.factsOf(index);
  if (requirement.comparison) return { kind: 'judged', value: requirementValue(facts, requirement) };
  return { kind: 'measured', text: requirement.text, measurement: measureMetric(facts, requirement) };
}
