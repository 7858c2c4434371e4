/** References and highlights of a name, over one or several documents. Needs the resolved phase. */
import type { RigDocument } from '../document/document';
import type { Source } from '../model/problem';
import type { Occurrence } from './symbol-at';
import { declarationKey, occurrenceAt, occurrencesOf } from './symbol-at';

/** Every place of the name at `offset` in `documents` (the asking one among them), each once. */
export function referencesAt(document: RigDocument, offset: number, documents: readonly RigDocument[]): Occurrence[] {
  const here = occurrenceAt(document, offset);
  if (!here) return [];
  return placesIn([document, ...documents], declarationKey(here.declaration));
}

/** Every place of a declaration in `documents`, each once, in order of file and offset. */
export function placesIn(documents: readonly RigDocument[], key: string): Occurrence[] {
  const found = new Map<string, Occurrence>();
  for (const document of documents) {
    for (const o of occurrencesOf(document.resolved(), key)) found.set(`${o.at.uri}#${o.at.start}`, o);
  }
  return [...found.values()].sort((a, b) => compare(a.at.uri, b.at.uri) || a.at.start - b.at.start);
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

export interface Highlight {
  readonly at: Source;
  readonly kind: 'read' | 'write';
}

/** Places of the name at `offset` in this document; a declaration, a drive and an operation count as writing. */
export function highlightsAt(document: RigDocument, offset: number): Highlight[] {
  return referencesAt(document, offset, [])
    .filter((o) => o.at.uri === document.uri)
    .map((o) => ({ at: o.at, kind: o.role === 'read' ? 'read' : 'write' }));
}
