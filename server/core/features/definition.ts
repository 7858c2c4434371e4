/** Go to definition: from a name, or from the path of an import. Needs the resolved phase. */
import type { Span } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import type { Source } from '../model/problem';
import { occurrenceAt } from './symbol-at';

export interface Definition {
  /** The text that was asked about. */
  readonly origin: Span;
  /** The declared name. */
  readonly name: Source;
  /** The whole declaring statement. */
  readonly whole: Source;
}

/** Where the name at `offset` is declared, or the file an import names; null where there is neither. */
export function definitionAt(document: RigDocument, offset: number): Definition | null {
  const occurrence = occurrenceAt(document, offset);
  if (occurrence)
    return { origin: occurrence.at, name: occurrence.declaration.at, whole: occurrence.declaration.whole };
  for (const { at, target } of document.resolved().imports) {
    if (target === null || at.uri !== document.uri || offset < at.start || offset > at.end) continue;
    const top = { uri: target, start: 0, end: 0 };
    return { origin: at, name: top, whole: top };
  }
  return null;
}
