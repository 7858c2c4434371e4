/** Quick fixes from the repairs that problems carry, and one action that takes all preferred ones. Needs the checked phase. */
import type { Span } from '../../../grammar/src/ast';
import { ALLOWABLE } from '../document/allowances';
import { applyEditsWork } from '../document/apply-edits';
import type { ReadText, RigDocument } from '../document/document';
import type { Fix, Problem, TextEdit } from '../model/problem';
import { say } from '../words/say';
import { finish, type Work } from '../work/work';

export interface QuickFix {
  readonly title: string;
  readonly problem: Problem;
  readonly edits: readonly TextEdit[];
  readonly preferred: boolean;
}

/** Most repairs that are tried for one answer: whoever marks the whole of a long file reads no more of them. */
const MOST_TRIED = 40;

/** What is offered for a part of the text. */
export interface Offered {
  readonly fixes: readonly QuickFix[];
  /** Problems of that part whose repairs were not tried any more. */
  readonly left: number;
}

/** The repairs of every problem that touches `range`, in order of place, preferred ones first within a problem, harmful ones last. */
export function quickFixes(document: RigDocument, range: Span): readonly QuickFix[] {
  return finish(quickFixesWork(document, range)).fixes;
}

/** The same in steps of one repair that is tried. */
export function* quickFixesWork(document: RigDocument, range: Span): Work<Offered> {
  const touched = document.checked().problems.filter((p) => p.at.start <= range.end && p.at.end >= range.start);
  const known: Known = new Map();
  const fixes: QuickFix[] = [];
  let tried = 0;
  let left = 0;
  for (const problem of touched) {
    const own = sortedFixes(problem);
    if (tried + own.length > MOST_TRIED && tried > 0) {
      if (own.length > 0) left++;
      continue;
    }
    tried += own.length;
    for (const fix of own) if (yield* isSafe(document, problem, fix.edits, known)) fixes.push(toQuickFix(problem, fix));
    fixes.push(...allowing(document, problem));
  }
  return { fixes, left };
}

/** Errors of the texts as they are, for every repair that is tried on them. */
type Known = Map<string, readonly Problem[]>;

/** The comments that allow a finding, at its line and in the file; never taken without a person. */
function allowing({ uri, text }: RigDocument, problem: Problem): QuickFix[] {
  const { code, at } = problem;
  if (problem.severity === 'error' || !ALLOWABLE.includes(code)) return [];
  const start = text.lastIndexOf('\n', at.start - 1) + 1;
  const indent = /^[ \t]*/.exec(text.slice(start))![0];
  const put = (title: string, offset: number, line: string): QuickFix => {
    const edits = [{ at: { uri, start: offset, end: offset }, text: `${line}: ${say`say why`}\n` }];
    return { title, problem, edits, preferred: false };
  };
  return [
    put(say`Allow ${code} here`, start, `${indent}# allow ${code}`),
    put(say`Allow ${code} in this file`, 0, `# allow-file ${code}`),
  ];
}

/** Problems that touch `range` and have no repair although some were looked for, with the reason. */
export function withoutFix(
  document: RigDocument,
  range: Span,
): { readonly problem: Problem; readonly because: string }[] {
  return document
    .checked()
    .problems.flatMap((problem) =>
      problem.noFix !== undefined && problem.at.start <= range.end && problem.at.end >= range.start
        ? [{ problem, because: problem.noFix }]
        : [],
    );
}

/**
 * Whether a repair may be offered: its edits leave no new error behind. Repairs of errors of form may uncover errors of names that
 * the broken form hid, so for them it is enough that they are offered by the parser itself.
 */
function* isSafe(document: RigDocument, problem: Problem, edits: readonly TextEdit[], known: Known): Work<boolean> {
  if (problem.code.startsWith('syntax/')) return true;
  return (yield* applyEditsWork(edits, textsOf(document), { known })).ok;
}

function textsOf(document: RigDocument): ReadText {
  return (uri) => (uri === document.uri ? document.text : document.readText(uri));
}

function sortedFixes(problem: Problem): Fix[] {
  const rank = ({ preferred, costs }: Fix): number => (preferred ? 0 : costs ? 2 : 1);
  return [...(problem.fixes ?? [])].sort((a, b) => rank(a) - rank(b));
}

function toQuickFix(problem: Problem, fix: Fix): QuickFix {
  return { title: fix.title, problem, edits: fix.edits, preferred: fix.preferred ?? false };
}

/**
 * Edits of all preferred repairs of a document, in steps; a repair that would touch what an earlier one changes is left for later, and
 * so is what would break the text together with those before it.
 */
export function* fixAllWork(document: RigDocument): Work<readonly TextEdit[]> {
  const known: Known = new Map();
  const all: { readonly problem: Problem; readonly edits: readonly TextEdit[] }[] = [];
  for (const problem of document.checked().problems) {
    const edits = problem.fixes?.find((f) => f.preferred)?.edits;
    if (edits && !edits.some((e) => all.some((other) => other.edits.some((t) => collide(e, t)))))
      all.push({ problem, edits });
  }
  const together = all.flatMap(({ edits }) => edits);
  if (all.length === 0 || (yield* applyEditsWork(together, textsOf(document), { known })).ok) return together;
  const taken: TextEdit[] = [];
  for (const { problem, edits } of all)
    if (yield* isSafe(document, problem, [...taken, ...edits], known)) taken.push(...edits);
  return taken;
}

/** Whether two edits touch; two insertions at one place do. */
function collide(a: TextEdit, b: TextEdit): boolean {
  return a.at.uri === b.at.uri && a.at.start <= b.at.end && b.at.start <= a.at.end;
}

/** Rigs with a failed requirement that touches `range`, and how many of their constants may be chosen. */
export function tunable(document: RigDocument, range: Span): { readonly rig: string; readonly count: number }[] {
  return document.resolved().rigs.flatMap((rig, index) => {
    const failed = rig.requirements.some(
      ({ at }, k) =>
        at.uri === document.uri &&
        at.start <= range.end &&
        at.end >= range.start &&
        document.checked().rigs[index]?.verdicts[k]?.state === 'failed',
    );
    return failed ? [{ rig: rig.name, count: rig.choosable.filter((c) => !c.overridden).length }] : [];
  });
}
