/** Outline of a document and names for the workspace-wide list. Needs the analysed phase for the details, else the parsed one. */
import type { Span, Statement, Tree } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import type { ItemKind } from '../model/rig';
import { leavesAt } from '../timing/course';
import { formatTime } from '../units/units';
import { finish, type Work } from '../work/work';
import { firstStrokeWindows, itemsDeclaredAt, mainStroke, onTimes } from './lookup';
import { say } from '../words/say';

export type OutlineKind = ItemKind | 'stack';

export interface OutlineEntry {
  readonly name: string;
  readonly kind: OutlineKind;
  /** Door windows, signal on-times, constants' values; may be empty. */
  readonly detail: string;
  readonly whole: Span;
  readonly nameAt: Span;
  readonly children: readonly OutlineEntry[];
}

/** The outline: rigs and parts with the items in them. Statements without a name are listed under their keyword. */
export const outline = (document: RigDocument): OutlineEntry[] => finish(outlineWork(document));

/** The same in steps of one statement. */
export const outlineWork = (document: RigDocument): Work<OutlineEntry[]> =>
  entries(document, document.parsed().tree.statements);

function* entries(document: RigDocument, statements: readonly Statement[]): Work<OutlineEntry[]> {
  const found: OutlineEntry[] = [];
  for (const statement of statements) {
    const entry = yield* entryOf(document, statement);
    if (entry) found.push(entry);
    yield;
  }
  return found;
}

function* entryOf(document: RigDocument, statement: Statement): Work<OutlineEntry | null> {
  switch (statement.kind) {
    case 'error':
    case 'import':
    case 'require':
    case 'prefer':
    case 'drive':
    case 'supply':
    case 'atmosphere':
    case 'controller':
      return null;
    case 'stack': {
      const name = statement.members.map((m) => m.text).join(' > ');
      return simple(statement, 'stack', name || 'stack', statement.keywordSpan, '');
    }
    case 'rig':
    case 'part': {
      const detail = statement.kind === 'rig' ? (statement.title?.value ?? '') : '';
      const base = simple(statement, statement.kind, statement.name.text, statement.name.span, detail);
      return { ...base, children: yield* entries(document, statement.body) };
    }
    default: {
      const detail = detailOf(document, statement.name.span, statement);
      return simple(statement, statement.kind, statement.name.text, statement.name.span, detail);
    }
  }
}

function simple(statement: Statement, kind: OutlineKind, name: string, at: Span, detail: string): OutlineEntry {
  const inside = at.start >= statement.span.start && at.end <= statement.span.end;
  const nameAt = inside && name !== '' ? at : statement.keywordSpan;
  return { name: name || say`(${kind} without a name)`, kind, detail, whole: statement.span, nameAt, children: [] };
}

function detailOf(document: RigDocument, at: Span, statement: Statement): string {
  if (statement.kind === 'let') return document.text.slice(statement.value.span.start, statement.value.span.end);
  if (statement.kind !== 'door' && statement.kind !== 'signal') return '';
  const found = itemsDeclaredAt(document, { uri: document.uri, ...at })[0];
  if (!found) return '';
  const facts = document.factsOf(found.rig);
  const stroke = mainStroke(facts);
  if (!stroke) return '';
  if (found.kind === 'door') {
    return firstStrokeWindows(stroke, found.index)
      .map((w) => span(leavesAt(w), w.notShut.to))
      .join(', ');
  }
  const signal = facts.rig.signals[found.index];
  return signal
    ? onTimes(stroke, signal.net)
        .slice(0, 3)
        .map((t) => span(t.from, t.to))
        .join(', ')
    : '';
}

function span(from: number | null, to: number | null): string {
  if (from === null) return to === null ? say`all the time` : say`until ${formatTime(to)}`;
  return to === null ? say`from ${formatTime(from)}` : `${formatTime(from)} – ${formatTime(to)}`;
}

/** A name of the workspace. */
export interface WorkspaceName {
  readonly name: string;
  readonly kind: ItemKind;
  readonly uri: string;
  readonly start: number;
  readonly end: number;
  readonly container: string;
}

/** All names that a text declares, from its tree alone: nothing is computed and no other file is read. */
export function declaredNames(uri: string, tree: Tree): WorkspaceName[] {
  return namesIn(uri, tree.statements, '');
}

function namesIn(uri: string, statements: readonly Statement[], container: string): WorkspaceName[] {
  return statements.flatMap((statement): WorkspaceName[] => {
    if (!('name' in statement) || statement.name.text === '') return [];
    const { name } = statement;
    const own = { name: name.text, kind: statement.kind, uri, start: name.span.start, end: name.span.end, container };
    return 'body' in statement ? [own, ...namesIn(uri, statement.body, name.text)] : [own];
  });
}

/** Whether the letters of `query` stand in `name` in order, ignoring case. */
export function matchesName(name: string, query: string): boolean {
  const wanted = [...query.toLowerCase()];
  let next = 0;
  for (const letter of name.toLowerCase()) if (letter === wanted[next]) next++;
  return next >= wanted.length;
}
