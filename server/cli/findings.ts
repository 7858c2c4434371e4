/** Problems of documents as rows that every report format prints. */
import type { Problem, Severity, TextEdit } from '../core/model/problem';
import type { AllowedProblem } from '../core/document/allowances';
import { shownUri, type Input } from './inputs';
import type { Io } from './io';
import { lineIndex, type LinePlace } from './lines';

export interface Finding {
  readonly path: string;
  readonly start: LinePlace;
  readonly end: LinePlace;
  readonly severity: Severity;
  readonly code: string;
  readonly message: string;
  readonly related: readonly RelatedRow[];
  readonly fixes: readonly string[];
  /** Why there is none although some were looked for. */
  readonly noFix?: string;
  /** Of an allowed finding: what its comment gives as the reason. */
  readonly why?: string;
  /** Lines before and after each of `fixes`; only where asked for. */
  readonly changes?: readonly (readonly LineChange[])[];
}

export interface RelatedRow {
  readonly path: string;
  readonly start: LinePlace;
  readonly message: string;
  /** Code of the finding there that may explain this one; causes come first. */
  readonly cause?: string;
}

/** Lines of a file that a quick fix changes. */
export interface LineChange {
  readonly path: string;
  /** Of the first line, from 1. */
  readonly line: number;
  readonly before: readonly string[];
  readonly after: readonly string[];
}

/**
 * All problems of the inputs, by file then place; a problem reported by several inputs (imports) stands once. `more`: problems that
 * the document does not look for by itself.
 */
export const findings = (
  io: Io,
  inputs: readonly Input[],
  more: (input: Input) => readonly Problem[] = () => [],
  withChanges = false,
): Finding[] => rowsOf(io, inputs, (input) => [...input.document.problems(), ...more(input)], withChanges);

/** What comments allow, in the same form and order. */
export const allowedFindings = (
  io: Io,
  inputs: readonly Input[],
  more: (input: Input) => readonly AllowedProblem[],
): Finding[] => rowsOf(io, inputs, (input) => [...input.document.checked().allowed, ...more(input)]);

/** The problems of the text alone, in the same form and order; no check is run. */
export const textFindings = (io: Io, inputs: readonly Input[]): Finding[] =>
  rowsOf(io, inputs, (input) => input.document.textProblems());

/** The same with errors of the wiring; no other check is run. */
export const controlFindings = (io: Io, inputs: readonly Input[]): Finding[] =>
  rowsOf(io, inputs, (input) => input.document.controlProblems());

function rowsOf(
  io: Io,
  inputs: readonly Input[],
  problemsOf: (input: Input) => readonly (Problem | AllowedProblem)[],
  withChanges = false,
): Finding[] {
  const places = new Map<string, (offset: number) => LinePlace>();
  for (const input of inputs) places.set(input.document.uri, lineIndex(input.document.text));
  const placesOf = (uri: string, input: Input): ((offset: number) => LinePlace) => {
    let index = places.get(uri);
    if (!index) places.set(uri, (index = lineIndex(input.document.readText(uri) ?? '')));
    return index;
  };
  const rows: Finding[] = [];
  const seen = new Set<string>();
  for (const input of inputs) {
    for (const problem of problemsOf(input)) {
      const key = `${problem.at.uri} ${problem.at.start} ${problem.at.end} ${problem.code} ${problem.message}`;
      if (seen.has(key)) continue;
      seen.add(key);
      const row = finding(io, problem, (uri) => placesOf(uri, input));
      rows.push(withChanges ? { ...row, changes: changesOf(io, input, problem) } : row);
    }
  }
  return rows;
}

function finding(
  io: Io,
  problem: Problem | AllowedProblem,
  places: (uri: string) => (offset: number) => LinePlace,
): Finding {
  const at = places(problem.at.uri);
  return {
    path: shownUri(io, problem.at.uri),
    start: at(problem.at.start),
    end: at(problem.at.end),
    severity: problem.severity,
    code: problem.code,
    message: problem.message,
    related: (problem.related ?? []).map((r) => ({
      path: shownUri(io, r.at.uri),
      start: places(r.at.uri)(r.at.start),
      message: r.message,
      ...(r.cause === undefined ? {} : { cause: r.cause }),
    })),
    fixes: (problem.fixes ?? []).map((fix) => fix.title),
    ...(problem.noFix === undefined ? {} : { noFix: problem.noFix }),
    ...('why' in problem ? { why: problem.why } : {}),
  };
}

/** What each quick fix of a problem changes, as whole lines: one change for each run of lines, file by file. */
function changesOf(io: Io, { document }: Input, { fixes = [] }: Problem): LineChange[][] {
  return fixes.map(({ edits }) =>
    [...new Set(edits.map((e) => e.at.uri))].flatMap((uri) => {
      const text = uri === document.uri ? document.text : document.readText(uri);
      if (text === undefined) return [];
      const own = edits.filter((e) => e.at.uri === uri).sort((a, b) => a.at.start - b.at.start);
      return inRuns(text, own).map((run) => changeOf(shownUri(io, uri), text, run));
    }),
  );
}

/** Edits in rising order, taken together where at most one line that stays lies between them. */
function inRuns(text: string, edits: readonly TextEdit[]): TextEdit[][] {
  const runs: TextEdit[][] = [];
  for (const edit of edits) {
    const run = runs.at(-1);
    const between = run ? text.slice(run.at(-1)!.at.end, edit.at.start).split(/\r\n|\r|\n/).length - 1 : Infinity;
    if (between <= 2) run!.push(edit);
    else runs.push([edit]);
  }
  return runs;
}

function changeOf(path: string, text: string, edits: readonly TextEdit[]): LineChange {
  const after = edits.reduceRight((t, { at, text: put }) => t.slice(0, at.start) + put + t.slice(at.end), text);
  const [old, fresh] = [text.split(/\r\n|\r|\n/), after.split(/\r\n|\r|\n/)];
  const least = Math.min(old.length, fresh.length);
  let head = 0;
  while (head < least && old[head] === fresh[head]) head++;
  let tail = 0;
  while (tail < least - head && old.at(-1 - tail) === fresh.at(-1 - tail)) tail++;
  return {
    path,
    line: head + 1,
    before: old.slice(head, old.length - tail),
    after: fresh.slice(head, fresh.length - tail),
  };
}
