/** Rename with a check beforehand: refuses words of the language, clashes and names that would not be names. */
import { parse } from '../../../grammar/src/api';
import type { Span } from '../../../grammar/src/ast';
import { applyEditsWork } from '../document/apply-edits';
import type { RigDocument } from '../document/document';
import type { TextEdit } from '../model/problem';
import type { Declaration, Resolution } from '../model/resolution';
import { finish, type Work } from '../work/work';
import { placesIn } from './references';
import type { Occurrence } from './symbol-at';
import { declarationKey, occurrenceAt } from './symbol-at';
import { say } from '../words/say';

export type RenamePlace =
  | { readonly ok: true; readonly span: Span; readonly placeholder: string }
  | { readonly ok: false; readonly reason: string };

export type RenameEdits =
  { readonly ok: true; readonly edits: readonly TextEdit[] } | { readonly ok: false; readonly reason: string };

/** What would be renamed at `offset`, or why nothing can be. */
export function prepareRename(document: RigDocument, offset: number): RenamePlace {
  const here = occurrenceAt(document, offset);
  if (!here) return { ok: false, reason: refusal(document, offset) };
  if (here.declaration.at.start === here.declaration.at.end) {
    return { ok: false, reason: say`\`${here.declaration.name}\` is built in and cannot be renamed.` };
  }
  return { ok: true, span: nameSpan(document.text, here), placeholder: here.declaration.name };
}

function refusal(document: RigDocument, offset: number): string {
  const token = document.parsed().tokens.find((t) => offset >= t.span.start && offset < t.span.end);
  if (!token || token.kind === 'newline') return say`There is no name here.`;
  if (token.kind === 'name') return say`Nothing declares \`${token.text}\`, so it cannot be renamed.`;
  if (token.kind === 'keyword' || token.kind === 'property' || token.kind === 'word' || token.kind === 'function') {
    return say`\`${token.text}\` is a word of the language and cannot be renamed.`;
  }
  return say`There is no name here.`;
}

/**
 * Edits that rename the declaration at `offset` everywhere in `documents` (all files that may use it).
 * Refused with one sentence where the new text is not a name or is taken in a scope it would be seen in.
 */
export const renameAt = (...asked: Parameters<typeof renameWork>): RenameEdits => finish(renameWork(...asked));

/** The same in steps of one file. */
export function* renameWork(
  document: RigDocument,
  offset: number,
  newName: string,
  documents: readonly RigDocument[],
): Work<RenameEdits> {
  const place = prepareRename(document, offset);
  if (!place.ok) return place;
  const name = newName.normalize('NFC').trim();
  if (!isName(name)) return { ok: false, reason: say`\`${newName}\` cannot be a name.` };
  const declaration = occurrenceAt(document, offset)!.declaration;
  const all = [document, ...documents];
  let clash: Declaration | null = null;
  for (const d of all) {
    clash ??= findClash(d.resolved(), declaration, name);
    yield;
  }
  if (clash) return { ok: false, reason: say`\`${name}\` is already the name of a ${clash.kind} here.` };
  const texts = new Map(all.map((d) => [d.uri, d.text]));
  const edits: TextEdit[] = [];
  for (const occurrence of placesIn(all, declarationKey(declaration))) {
    const text = texts.get(occurrence.at.uri) ?? document.readText(occurrence.at.uri);
    if (text === undefined) continue;
    edits.push({ at: { uri: occurrence.at.uri, ...nameSpan(text, occurrence) }, text: name });
  }
  yield;
  const applied = yield* applyEditsWork(edits, (uri) => texts.get(uri) ?? document.readText(uri), {
    users: all.map((d) => d.uri),
  });
  return applied.ok ? { ok: true, edits } : applied;
}

/** The part of an occurrence that is the declared name itself (a use may be dotted: `gate.upper`). */
function nameSpan(text: string, occurrence: Occurrence): Span {
  const { start, end } = occurrence.at;
  let at = start;
  for (const segment of text.slice(start, end).split('.')) {
    if (segment.normalize('NFC').trim() === occurrence.declaration.name) return { start: at, end: at + segment.length };
    at += segment.length + 1;
  }
  return { start, end };
}

/** Whether the parser takes `text` as one plain name. */
export function isName(text: string): boolean {
  if (text === '' || /[\s.]/u.test(text)) return false;
  const { tree, problems } = parse(`rig r {\n  signal ${text} = on\n}\n`);
  const rig = tree.statements[0];
  if (problems.length > 0 || rig?.kind !== 'rig') return false;
  const signal = rig.body[0];
  return signal?.kind === 'signal' && signal.name.text === text;
}

/** A declaration of `name` in a scope that encloses the declaration or is enclosed by its scope, or null. */
function findClash(resolution: Resolution, declaration: Declaration, name: string): Declaration | null {
  const own = resolution.declarations.find((d) => declarationKey(d) === declarationKey(declaration));
  if (!own) return null;
  const byId = new Map(resolution.declarations.map((d) => [d.id, d]));
  const scopes = scopeChain(byId, own);
  for (const other of resolution.declarations) {
    if (other.name !== name || other.id === own.id) continue;
    if (scopes.includes(other.container) || scopeChain(byId, other).includes(own.container)) return other;
  }
  return null;
}

/** Ids of the scopes around a declaration, innermost first, the file (-1) last. */
function scopeChain(byId: ReadonlyMap<number, Declaration>, declaration: Declaration): number[] {
  const chain: number[] = [];
  let container = declaration.container;
  while (container !== -1 && !chain.includes(container)) {
    chain.push(container);
    container = byId.get(container)?.container ?? -1;
  }
  return [...chain, -1];
}
