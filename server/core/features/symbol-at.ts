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

interface Index {
  /** Each place once; a declaration wins over a use at the same place. */
  readonly all: readonly Occurrence[];
  /** Those in the resolution's own file, by their first offset. */
  readonly byStart: ReadonlyMap<number, Occurrence>;
  /** The same in order of their first offset. */
  readonly inOrder: readonly Occurrence[];
}

const indexes = new WeakMap<Resolution, Index>();

/** Computed once per resolution. */
function indexOf(resolution: Resolution): Index {
  const known = indexes.get(resolution);
  if (known) return known;
  const byStart = new Map<number, Occurrence>();
  const foreign = new Map<string, Occurrence>();
  const put = (occurrence: Occurrence): void => {
    if (occurrence.at.uri === resolution.uri) byStart.set(occurrence.at.start, occurrence);
    else foreign.set(placeKey(occurrence.at), occurrence);
  };
  const byId = new Map(resolution.declarations.map((d) => [d.id, d]));
  for (const use of resolution.uses) {
    const declaration = byId.get(use.declaration);
    if (declaration) put({ at: use.at, role: use.role, declaration });
  }
  for (const declaration of resolution.declarations) put({ at: declaration.at, role: 'declaration', declaration });
  const inOrder = [...byStart.values()].sort((a, b) => a.at.start - b.at.start);
  const index = { all: [...inOrder, ...foreign.values()], byStart, inOrder };
  indexes.set(resolution, index);
  return index;
}

/** Every occurrence in the resolution's own file by its first offset. */
export function occurrencesByStart(resolution: Resolution): ReadonlyMap<number, Occurrence> {
  return indexOf(resolution).byStart;
}

/** Every occurrence in the resolution's own file that begins in `[start, end)`, in order. */
export function occurrencesIn(resolution: Resolution, { start, end }: Span): readonly Occurrence[] {
  const { inOrder } = indexOf(resolution);
  const from = firstFrom(inOrder, start);
  return inOrder.slice(from, firstFrom(inOrder, end));
}

/** Index of the first occurrence that begins at `offset` or later. */
function firstFrom(inOrder: readonly Occurrence[], offset: number): number {
  let low = 0;
  let high = inOrder.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (inOrder[middle]!.at.start < offset) low = middle + 1;
    else high = middle;
  }
  return low;
}

function placeKey(at: Source): string {
  return `${at.uri}#${at.start}#${at.end}`;
}

/** No name is looked for further back than this. */
const LONGEST_NAME = 1000;

/** The occurrence that covers `offset` (its end included, so that a cursor right after a name still finds it), or null. */
export function occurrenceAt(document: RigDocument, offset: number): Occurrence | null {
  let best: Occurrence | null = null;
  for (const occurrence of occurrencesIn(document.resolved(), { start: offset - LONGEST_NAME, end: offset + 1 })) {
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
  return indexOf(resolution)
    .all.filter((o) => declarationKey(o.declaration) === key)
    .sort((a, b) => (a.at.uri === b.at.uri ? a.at.start - b.at.start : a.at.uri < b.at.uri ? -1 : 1));
}
