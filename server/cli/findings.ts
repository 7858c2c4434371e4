/** Problems of documents as rows that every report format prints. */
import type { Problem, Severity } from '../core/model/problem';
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
  readonly related: readonly { readonly path: string; readonly start: LinePlace; readonly message: string }[];
  readonly fixes: readonly string[];
}

/**
 * All problems of the inputs, by file then place; a problem reported by several inputs (imports) stands once. `more`: problems that
 * the document does not look for by itself.
 */
export const findings = (
  io: Io,
  inputs: readonly Input[],
  more: (input: Input) => readonly Problem[] = () => [],
): Finding[] => rowsOf(io, inputs, (input) => [...input.document.problems(), ...more(input)]);

/** The problems of the text alone, in the same form and order; no check is run. */
export const textFindings = (io: Io, inputs: readonly Input[]): Finding[] =>
  rowsOf(io, inputs, (input) => input.document.textProblems());

function rowsOf(io: Io, inputs: readonly Input[], problemsOf: (input: Input) => readonly Problem[]): Finding[] {
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
      rows.push(finding(io, problem, (uri) => placesOf(uri, input)));
    }
  }
  return rows;
}

function finding(io: Io, problem: Problem, places: (uri: string) => (offset: number) => LinePlace): Finding {
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
    })),
    fixes: (problem.fixes ?? []).map((fix) => fix.title),
  };
}
