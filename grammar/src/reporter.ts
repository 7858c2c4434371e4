/** Collects mistakes: in the order of the text, at most 200 a file, at most one for each statement, property or step. */
import type { Span, SyntaxProblem } from './ast';
import type { SyntaxCodeName } from './syntax-codes';
import { say } from './say';

/** Most mistakes listed for one file; one more says that there are others. */
export const PROBLEM_LIMIT = 200;

/** A repair of one place, in short form. */
export interface Repair {
  readonly title: string;
  readonly span: Span;
  readonly text: string;
}

/** A mistake; `repairs` become its fixes. */
export function syntaxProblem(
  code: SyntaxCodeName,
  message: string,
  span: Span,
  repairs: readonly Repair[] = [],
): SyntaxProblem {
  if (repairs.length === 0) return { code, message, span };
  const fixes = repairs.map((r) => ({ title: r.title, edits: [{ span: r.span, text: r.text }] }));
  return { code, message, span, fixes };
}

/** All mistakes of all stages, sorted, one for each place, capped. */
export function sortProblems(problems: readonly SyntaxProblem[]): SyntaxProblem[] {
  const sorted = [...problems].sort((a, b) => a.span.start - b.span.start || a.span.end - b.span.end);
  const kept = sorted.filter((p, i) => {
    const before = sorted[i - 1];
    return !before || before.span.start !== p.span.start || before.span.end !== p.span.end;
  });
  if (kept.length <= PROBLEM_LIMIT) return kept;
  const rest = kept.length - PROBLEM_LIMIT;
  const last = kept[PROBLEM_LIMIT]!;
  return [
    ...kept.slice(0, PROBLEM_LIMIT),
    syntaxProblem(
      'syntax/too-many',
      say`There are ${rest} more mistakes in this file; mend some of these first.`,
      last.span,
    ),
  ];
}
