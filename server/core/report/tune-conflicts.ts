/** What cannot hold, or cannot hold together, in words: requirements with the line that each stands in and the nearest that was found. */
import type { Contradiction } from '../choose/tune/answer';
import { valueText, type RequirementValue } from '../metrics/requirement-value';
import type { Source } from '../model/problem';
import { say } from '../words/say';

/** The line of a place in the text, from 1; null where it stands in another file. */
export type LineOf = (at: Source) => number | null;

/** One paragraph a kind: those that cannot hold alone, then each set that cannot hold together. */
export function conflictLines(conflicts: readonly Contradiction[], lineOf: LineOf): string[] {
  const alone = conflicts.filter((c) => c.length === 1).flat();
  const together = conflicts.filter((c) => c.length > 1);
  const row = (value: RequirementValue, words: string): string =>
    `    ${placeText(value, lineOf)}${value.requirement.text}: ${words}`;
  return [
    ...(alone.length === 0
      ? []
      : [say`  No choice within the ranges was found that keeps ${aloneText(alone.length)}:`]),
    ...alone.map((value) => row(value, atBest(value))),
    ...together.flatMap((set) => [
      say`  No choice within the ranges was found that keeps these ${set.length} together; with any of them left out, the others can hold. The closest:`,
      ...set.map((value) => row(value, valueText(value))),
    ]),
  ];
}

const aloneText = (count: number): string =>
  count === 1 ? say`this requirement` : say`any of these requirements, even alone`;

const placeText = ({ requirement }: RequirementValue, lineOf: LineOf): string => {
  const line = lineOf(requirement.at);
  return line === null ? '' : say`line ${line}: `;
};

const atBest = (value: RequirementValue): string =>
  value.value === null ? valueText(value) : say`at best ${valueText(value)}`;
