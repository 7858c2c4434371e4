/** The line above each rig: repeat interval, requirements, problems; and an offer to prove. Needs the checked phase. */
import type { RigDocument } from '../document/document';
import { overriddenConstants } from '../document/overrides';
import { requirementValue, spareText } from '../metrics/requirement-value';
import { relativeSlack } from '../metrics/slack';
import { formatTime } from '../units/units';
import { strokeMassText } from './hover-flow';
import { isIncomplete, mainStroke } from './lookup';
import type { CheckedRig } from '../document/check-rig';
import { say } from '../words/say';

export interface Lens {
  /** `overview` opens the preview, `prove` starts a proof, `tune` looks for better values. */
  readonly kind: 'overview' | 'prove' | 'tune';
  readonly start: number;
  readonly end: number;
  /** Name of the rig. */
  readonly rig: string;
  readonly title: string;
}

/**
 * Three lenses per `rig` statement of the tree, whatever its state, so that the lines stay put while the text is broken. `proofOf`: what a
 * proof of exactly this text found about a rig, null where there is none.
 */
export function lenses(document: RigDocument, proofOf: (rig: string) => string | null = () => null): Lens[] {
  const { rigs } = document.resolved();
  const checked = document.checked();
  const found: Lens[] = [];
  for (const statement of document.parsed().tree.statements) {
    if (statement.kind !== 'rig') continue;
    const index = rigs.findIndex((r) => r.whole.start === statement.span.start && r.whole.uri === document.uri);
    const title = index < 0 ? say`not resolved` : titleOf(document, index, checked.rigs[index]);
    const place = { start: statement.keywordSpan.start, end: statement.name.span.end, rig: statement.name.text };
    found.push(
      { kind: 'overview', ...place, title },
      { kind: 'prove', ...place, title: proofOf(place.rig) ?? say`prove` },
      { kind: 'tune', ...place, title: say`tune` },
    );
  }
  return found;
}

function titleOf(document: RigDocument, index: number, checked: CheckedRig | undefined): string {
  const rig = document.resolved().rigs[index]!;
  const parts = [
    strokeText(document, index),
    strokeMassText(document.factsOf(index)),
    requirementText(checked),
    leastText(document, index),
  ];
  if (overriddenConstants(document.resolved()).length > 0) parts.unshift(say`constants from outside`);
  const problems = document
    .checked()
    .problems.filter((p) => p.severity === 'error' || p.severity === 'warning')
    .filter((p) => p.at.start >= rig.whole.start && p.at.end <= rig.whole.end).length;
  if (problems > 0) parts.push(problems === 1 ? say`1 problem` : say`${problems} problems`);
  return parts.filter((p) => p !== '').join(' · ');
}

function strokeText(document: RigDocument, index: number): string {
  const facts = document.factsOf(index);
  if (isIncomplete(facts.rig)) return say`mistakes in the control`;
  const stroke = mainStroke(facts);
  if (!stroke) return facts.rig.doors.length > 0 ? say`no trigger` : '';
  if (stroke.repeat === null) return say`does not repeat`;
  const every = say`repeats every ${formatTime(stroke.repeat)}`;
  return stroke.strokeCount === null ? every : `${every}, ${say`${stroke.strokeCount} times`}`;
}

function requirementText(checked: CheckedRig | undefined): string {
  const verdicts = checked?.verdicts ?? [];
  if (verdicts.length === 0) return '';
  const met = verdicts.filter((v) => v.state === 'met').length;
  return verdicts.length === 1 ? say`${met} of 1 requirement met` : say`${met} of ${verdicts.length} requirements met`;
}

/** The requirement that holds with the least to spare, in proportion to its bound. */
function leastText(document: RigDocument, index: number): string {
  const facts = document.factsOf(index);
  if (isIncomplete(facts.rig)) return '';
  const held = facts.rig.requirements.flatMap((requirement) => {
    const { comparison } = requirement;
    const found = requirementValue(facts, requirement);
    if (!comparison || found.value === null || found.slack === null || found.slack < 0) return [];
    return [{ found, share: relativeSlack(comparison, found.value) }];
  });
  if (held.length === 0) return '';
  const least = held.reduce((a, b) => (b.share < a.share ? b : a)).found;
  return `${least.requirement.metric}: ${spareText(least.slack!, least.dimension!)}`;
}
