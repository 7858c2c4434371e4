/** Joins the problems of all phases into the list that is shown for one file. */
import type { SyntaxProblem } from '../../../grammar/src/ast';
import { PROBLEM_CODES } from '../model/problem-codes';
import type { Problem, Severity, Source } from '../model/problem';
import { causesFirst } from '../checks/causes';
import type { Resolution } from '../model/resolution';
import type { DocumentInput } from './document';
import { say } from '../words/say';

const RANK: Readonly<Record<Severity, number>> = { error: 0, warning: 1, information: 2, hint: 3 };

const OF_RESOLUTION: ReadonlySet<string> = new Set([...PROBLEM_CODES.map(({ code }) => code), 'name/import-errors']);

/**
 * Whether a problem is an error of the text itself (form, names, units, values, imports), found before any check: every result is then
 * computed from what could be understood, and is not the one that is meant. Findings about a sound text are none.
 */
export function isTextError({ code, severity }: Pick<Problem, 'code' | 'severity'>): boolean {
  return severity === 'error' && (code.startsWith('syntax/') || OF_RESOLUTION.has(code));
}

/**
 * Lines of a text on which something was not understood. What resolving finds there besides (a missing argument, an unknown name) may
 * follow from that alone, and is found again once the line can be read.
 */
export function misreadLines(uri: string, text: string, problems: readonly SyntaxProblem[]): (p: Problem) => boolean {
  const lines = problems.filter((p) => p.misread).map(({ span }) => lineAround(text, span.start));
  if (lines.length === 0) return () => false;
  return ({ code, at }) =>
    !code.startsWith('syntax/') &&
    (OF_RESOLUTION.has(code) || code === 'require/arguments') &&
    at.uri === uri &&
    lines.some(({ start, end }) => at.start >= start && at.start <= end);
}

function lineAround(text: string, offset: number): { start: number; end: number } {
  const next = text.indexOf('\n', offset);
  return { start: text.lastIndexOf('\n', offset - 1) + 1, end: next < 0 ? text.length : next };
}

/** Mistakes in the form of the text as problems. */
export function syntaxProblems(uri: string, problems: readonly SyntaxProblem[]): Problem[] {
  return problems.map((p) => ({
    code: p.code,
    severity: 'error',
    message: p.message,
    at: { uri, start: p.span.start, end: p.span.end },
    fixes: p.fixes?.map((fix) => ({
      title: fix.title,
      edits: fix.edits.map((e) => ({ at: { uri, start: e.span.start, end: e.span.end }, text: e.text })),
      preferred: p.fixes!.length === 1,
    })),
  }));
}

/**
 * The problems to show for a file: its own, each once, sorted by place but causes before what follows from them; one line per import whose file has errors; where
 * there are more than `limit`, the more severe ones and a last line that says how many are left out.
 */
export function collectProblems(
  input: DocumentInput,
  all: readonly Problem[],
  imports: Resolution['imports'],
  limit: number,
): Problem[] {
  const own = unique([...all.filter((p) => p.at.uri === input.uri), ...importProblems(input.uri, all, imports)]);
  if (own.length <= limit) return causesFirst(own.sort(byPlace));
  const kept = own.sort(byGravity).slice(0, limit);
  const message = say`${own.length - limit} more problems in this file are not shown.`;
  const top: Source = { uri: input.uri, start: 0, end: 0 };
  return [...causesFirst(kept.sort(byPlace)), { code: 'syntax/more', severity: 'information', message, at: top }];
}

/** Errors of another file stand at the import that leads to it, unless a problem is reported there already. */
function importProblems(uri: string, all: readonly Problem[], imports: Resolution['imports']): Problem[] {
  const foreign = all.filter((p) => p.at.uri !== uri && p.severity === 'error');
  const found: Problem[] = [];
  for (const target of new Set(foreign.map((p) => p.at.uri))) {
    const there = foreign.filter((p) => p.at.uri === target);
    const link = imports.find((i) => i.target === target && i.at.uri === uri) ?? imports.find((i) => i.at.uri === uri);
    if (link && all.some((p) => p.at.uri === uri && p.at.start === link.at.start)) continue;
    const count = there.length === 1 ? say`an error` : `${there.length} errors`;
    found.push({
      code: 'name/import-errors',
      severity: 'error',
      message: say`The imported file has ${count}: ${there[0]!.message}`,
      at: link?.at ?? { uri, start: 0, end: 0 },
      related: there.slice(0, 10).map((p) => ({ at: p.at, message: p.message })),
    });
  }
  return found;
}

function unique(problems: readonly Problem[]): Problem[] {
  const seen = new Map<string, Problem>();
  for (const p of problems) seen.set(`${p.code} ${p.at.start} ${p.at.end} ${p.message}`, p);
  return [...seen.values()];
}

function byPlace(a: Problem, b: Problem): number {
  return (
    a.at.start - b.at.start || a.at.end - b.at.end || RANK[a.severity] - RANK[b.severity] || compare(a.code, b.code)
  );
}

function byGravity(a: Problem, b: Problem): number {
  return RANK[a.severity] - RANK[b.severity] || byPlace(a, b);
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
