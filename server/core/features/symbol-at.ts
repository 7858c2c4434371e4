/** Finds the declared name under the text cursor, and every place of a name, from a resolution. */
import type { Span } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import type { Source } from '../model/problem';
import type { Declaration, Resolution, Use } from '../model/resolution';

/** Where a name stands and what it does there. */
export type Role = 'declaration' | Use['role'];

/** One place of a declared name. */
export interface Occurrence {
  readonly at: Source;
  readonly role: Role;
  readonly declaration: Declaration;
}

/** Text that is the same for the same declaration, whichever file it was reached from. */
export function declarationKey(declaration: Declaration): string {
  return `${declaration.at.uri}#${declaration.at.start}`;
}

const indexes = new WeakMap<Resolution, ReadonlyMap<number, Occurrence>>();

/** Every occurrence in the resolution's own file by its first offset; worked out once per resolution. */
export function occurrencesByStart(resolution: Resolution): ReadonlyMap<number, Occurrence> {
  const known = indexes.get(resolution);
  if (known) return known;
  const index = new Map<number, Occurrence>();
  for (const occurrence of allOccurrences(resolution)) {
    if (occurrence.at.uri === resolution.uri) index.set(occurrence.at.start, occurrence);
  }
  indexes.set(resolution, index);
  return index;
}

/** Every occurrence of every name, each place once; a declaration wins over a use at the same place. */
export function allOccurrences(resolution: Resolution): Occurrence[] {
  const byPlace = new Map<string, Occurrence>();
  const byId = new Map(resolution.declarations.map((d) => [d.id, d]));
  for (const use of resolution.uses) {
    const declaration = byId.get(use.declaration);
    if (declaration) byPlace.set(placeKey(use.at), { at: use.at, role: use.role, declaration });
  }
  for (const declaration of resolution.declarations) {
    byPlace.set(placeKey(declaration.at), { at: declaration.at, role: 'declaration', declaration });
  }
  return [...byPlace.values()];
}

function placeKey(at: Source): string {
  return `${at.uri}#${at.start}#${at.end}`;
}

/** The occurrence that covers `offset` (its end included, so that a cursor right after a name still finds it), or null. */
export function occurrenceAt(document: RigDocument, offset: number): Occurrence | null {
  let best: Occurrence | null = null;
  for (const occurrence of occurrencesByStart(document.resolved()).values()) {
    const { start, end } = occurrence.at;
    if (offset < start || offset > end || start === end) continue;
    if (!best || isTighter(occurrence.at, best.at, offset)) best = occurrence;
  }
  return best;
}

/** Prefers the place that really contains the offset, then the shorter one. */
function isTighter(a: Span, b: Span, offset: number): boolean {
  const insideA = offset < a.end;
  const insideB = offset < b.end;
  if (insideA !== insideB) return insideA;
  return a.end - a.start < b.end - b.start;
}

/** All places of one declaration that this resolution knows, in order of file and offset. */
export function occurrencesOf(resolution: Resolution, key: string): Occurrence[] {
  return allOccurrences(resolution)
    .filter((o) => declarationKey(o.declaration) === key)
    .sort((a, b) => (a.at.uri === b.at.uri ? a.at.start - b.at.start : a.at.uri < b.at.uri ? -1 : 1));
}
