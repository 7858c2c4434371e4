/** What leads to hardware says what the check finds in the rig: a sheet or an export does what the text says, its mistakes too. */
import type { Problem } from '../model/problem';
import { formatCount } from '../units/units';
import { say } from '../words/say';
import { listText } from '../timing/words';

export type OpenFinding = Pick<Problem, 'severity' | 'code' | 'message'>;

/** In one sentence; null where the check finds neither error nor warning. */
export function openFindingsWords(findings: readonly OpenFinding[]): string | null {
  const counts = (['error', 'warning'] as const).flatMap((severity) => {
    const n = findings.filter((f) => f.severity === severity).length;
    return n === 0 ? [] : [formatCount(n, severity)];
  });
  if (counts.length === 0) return null;
  const must = findings.some((f) => f.severity === 'error')
    ? say`: mend the errors before anything is built from it`
    : '';
  return say`The check finds ${listText(counts)} in this rig${must}.`;
}
