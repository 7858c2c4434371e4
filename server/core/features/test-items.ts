/** Requirements as tests: file › rig › requirement, with verdicts. Needs the checked phase. */
import type { RigDocument } from '../document/document';
import { requirementValue, valueText } from '../metrics/requirement-value';
import type { Verdict } from '../metrics/verdict';
import type { Requirement, Rig } from '../model/rig';
import { isIncomplete } from './lookup';

export interface TestItem {
  /** `RIG/TEXT`, with `#2`, `#3` … where the same text stands several times. */
  readonly id: string;
  readonly label: string;
  readonly start: number;
  readonly end: number;
  readonly verdict: Verdict;
  /** Value and slack as text; empty for a rig with mistakes in its control. */
  readonly value: string;
}

export interface TestGroup {
  readonly name: string;
  readonly start: number;
  readonly end: number;
  readonly items: readonly TestItem[];
}

/** Every rig of the file with its requirements in order of the text. */
export function testGroups(document: RigDocument): TestGroup[] {
  const checked = document.checked();
  return document.resolved().rigs.map((rig, index) => ({
    name: rig.name,
    start: rig.at.start,
    end: rig.at.end,
    items: itemsOf(document, rig, index, checked.rigs[index]?.verdicts ?? []),
  }));
}

function itemsOf(document: RigDocument, rig: Rig, rigIndex: number, verdicts: readonly Verdict[]): TestItem[] {
  const seen = new Map<string, number>();
  const items: TestItem[] = [];
  rig.requirements.forEach((requirement: Requirement, index) => {
    const verdict = verdicts[index];
    if (!verdict || requirement.at.uri !== document.uri) return;
    const label = requirement.text.replace(/^require\s+/, '');
    const count = (seen.get(label) ?? 0) + 1;
    seen.set(label, count);
    const id = count === 1 ? `${rig.name}/${label}` : `${rig.name}/${label}#${count}`;
    const value = isIncomplete(rig) ? '' : valueText(requirementValue(document.factsOf(rigIndex), requirement));
    items.push({ id, label, start: requirement.at.start, end: requirement.at.end, verdict, value });
  });
  return items;
}
