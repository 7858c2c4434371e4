/**
 * The one way by which the text of a user is changed. Edits are applied together, the result is parsed and resolved, and where it
 * has an error that was not there before, or edits contradict each other, nothing is changed and the reason is given.
 */
import { parseSteps } from '../../../grammar/src/api';
import type { Expression } from '../../../grammar/src/ast';
import type { Problem, TextEdit } from '../model/problem';
import { resolveFile } from '../model/resolve';
import { finish, type Work } from '../work/work';
import type { ReadText } from './document';
import { createImports } from './imports';
import { syntaxProblems } from './problems';
import { say } from '../words/say';

export type Applied =
  | {
      readonly ok: true;
      /** New text of every file that changes. */
      readonly texts: ReadonlyMap<string, string>;
    }
  | {
      readonly ok: false;
      /** One sentence. */
      readonly reason: string;
    };

export interface ApplyOptions {
  /** Files that import what is changed and must not break either. */
  readonly users?: readonly string[];
  readonly overrides?: ReadonlyMap<string, Expression>;
  /** Errors of the texts before the edits, by URI: kept here for further edits of the same texts. */
  readonly known?: Map<string, readonly Problem[]>;
}

/**
 * The texts after edits, or why they are refused. Several insertions at one place stand in the order given; the same edit given
 * twice counts once.
 * @param readText texts before the edits, by URI
 */
export function applyEdits(edits: readonly TextEdit[], readText: ReadText, options: ApplyOptions = {}): Applied {
  return finish(applyEditsWork(edits, readText, options));
}

/** The same in steps: every text is parsed in one and resolved in another. */
export function* applyEditsWork(
  edits: readonly TextEdit[],
  readText: ReadText,
  options: ApplyOptions = {},
): Work<Applied> {
  const sorted = new Map<string, readonly TextEdit[]>();
  const texts = new Map<string, string>();
  for (const uri of new Set(edits.map((e) => e.at.uri))) {
    const before = readText(uri);
    if (before === undefined) return refuse(say`the text of ${uri} is not known`);
    const own = inOrder(edits.filter((e) => e.at.uri === uri));
    const trouble = contradiction(before, own);
    if (trouble !== null) return refuse(trouble);
    sorted.set(uri, own);
    texts.set(uri, edited(before, own));
  }
  const readAfter: ReadText = (uri) => texts.get(uri) ?? readText(uri);
  for (const uri of new Set([...texts.keys(), ...(options.users ?? [])])) {
    const before = options.known?.get(uri) ?? (yield* errorsOf(uri, readText, options));
    options.known?.set(uri, before);
    const added = newError(before, yield* errorsOf(uri, readAfter, options), (at) => sorted.get(at) ?? []);
    if (added) return refuse(say`the result would have a new error: ${added.message}`);
  }
  return { ok: true, texts };
}

function refuse(why: string): Applied {
  return { ok: false, reason: say`Nothing is changed, because ${why.replace(/\.$/, '')}.` };
}

/** Edits by place, equal places in the order given, each once. */
function inOrder(edits: readonly TextEdit[]): TextEdit[] {
  const seen = new Set<string>();
  const once = edits.filter(({ at, text }) => {
    const key = `${at.start} ${at.end} ${text}`;
    return seen.has(key) ? false : (seen.add(key), true);
  });
  return once.sort((a, b) => a.at.start - b.at.start || a.at.end - b.at.end);
}

function contradiction(text: string, edits: readonly TextEdit[]): string | null {
  let reached = 0;
  let last: TextEdit | null = null;
  for (const edit of edits) {
    const { start, end } = edit.at;
    if (!(start >= 0 && start <= end && end <= text.length)) return say`an edit is outside the text`;
    if (start < reached && last) {
      return say`two different changes concern the same place: ${quoted(last.text)} and ${quoted(edit.text)}`;
    }
    reached = end;
    last = edit;
  }
  return null;
}

function quoted(text: string): string {
  return `"${text.trim()}"`;
}

function edited(text: string, edits: readonly TextEdit[]): string {
  let result = '';
  let reached = 0;
  for (const { at, text: replacement } of edits) {
    result += text.slice(reached, at.start) + replacement;
    reached = at.end;
  }
  return result + text.slice(reached);
}

/** Errors of form, names and units of a file and what it imports. */
function* errorsOf(uri: string, readText: ReadText, options: ApplyOptions): Work<Problem[]> {
  const text = readText(uri);
  if (text === undefined) return [];
  const { tree, problems } = yield* parseSteps(text);
  yield;
  const resolution = resolveFile({ uri, tree, text }, createImports(readText).readTree, {
    overrides: options.overrides ?? new Map(),
  });
  yield;
  return [...syntaxProblems(uri, problems), ...resolution.problems].filter((p) => p.severity === 'error');
}

/** An error of `after` that no error of `before` with the same code explains, at the place where that one has moved to. */
function newError(
  before: readonly Problem[],
  after: readonly Problem[],
  editsIn: (uri: string) => readonly TextEdit[],
): Problem | null {
  const left = before.map(({ code, at }) => {
    const edits = editsIn(at.uri);
    return { code, uri: at.uri, start: movedOffset(at.start, edits, 'left'), end: movedOffset(at.end, edits, 'right') };
  });
  for (const problem of after) {
    const { start, end, uri } = problem.at;
    const known = left.findIndex((p) => p.code === problem.code && p.uri === uri && p.start <= end && p.end >= start);
    if (known < 0) return problem;
    left.splice(known, 1);
  }
  return null;
}

/** Where an offset is after edits; one inside or at the rim of an edit goes to the given side of what the edit puts there. */
function movedOffset(offset: number, edits: readonly TextEdit[], side: 'left' | 'right'): number {
  let shift = 0;
  for (const { at, text } of edits) {
    const passed = at.end < offset || (at.end === offset && side === 'right');
    if (!passed && at.start >= offset) break;
    if (!passed) return at.start + shift + (side === 'left' ? 0 : text.length);
    shift += text.length - (at.end - at.start);
  }
  return offset + shift;
}
