/**
 * Colours by meaning. Words come from the lexer and names from the resolution, so half-written text keeps its colours: a name
 * that cannot be bound is coloured by the statement that declares it, or as unknown. Needs the resolved phase.
 */
import type { Token } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import type { ItemKind } from '../model/rig';
import type { Occurrence } from './symbol-at';
import { occurrencesByStart } from './symbol-at';

/** Names as in the legend of `server/protocol/messages.ts`. */
export type SemanticType =
  | 'keyword'
  | 'property'
  | 'function'
  | 'number'
  | 'unit'
  | 'string'
  | 'comment'
  | 'operator'
  | 'namespace'
  | 'chamber'
  | 'door'
  | 'flowLine'
  | 'input'
  | 'signal'
  | 'constant'
  | 'event'
  | 'unknownName';

export type SemanticModifier = 'declaration' | 'readonly' | 'modification';

export interface SemanticToken {
  readonly start: number;
  readonly end: number;
  readonly type: SemanticType;
  readonly modifiers: readonly SemanticModifier[];
}

const BY_ITEM: Readonly<Record<ItemKind, SemanticType>> = {
  chamber: 'chamber',
  door: 'door',
  feed: 'flowLine',
  draw: 'flowLine',
  switch: 'input',
  sensor: 'input',
  signal: 'signal',
  sequence: 'event',
  scenario: 'event',
  part: 'namespace',
  place: 'namespace',
  rig: 'namespace',
  let: 'constant',
  medium: 'constant',
  parameter: 'constant',
};

const BY_TOKEN: Readonly<Partial<Record<Token['kind'], SemanticType>>> = {
  keyword: 'keyword',
  property: 'property',
  word: 'keyword',
  function: 'function',
  number: 'number',
  unit: 'unit',
  string: 'string',
  comment: 'comment',
  operator: 'operator',
};

/** The tokens that lie in `[from, to)`, in order; a whole document by default. Never null, whatever the text. */
export function semanticTokens(document: RigDocument, from = 0, to = document.text.length): SemanticToken[] {
  const occurrences = occurrencesByStart(document.resolved());
  const found: SemanticToken[] = [];
  let previous: Token | null = null;
  for (const token of document.parsed().tokens) {
    if (token.span.start >= to) break;
    if (token.span.end > from) pushToken(found, token, previous, occurrences);
    previous = token;
  }
  return found;
}

function pushToken(
  found: SemanticToken[],
  token: Token,
  previous: Token | null,
  occurrences: ReadonlyMap<number, Occurrence>,
): void {
  const occurrence = occurrences.get(token.span.start);
  if (occurrence && (token.kind === 'name' || occurrence.at.end === token.span.end)) {
    found.push(ofOccurrence(token, occurrence));
    return;
  }
  const type = token.kind === 'name' ? unboundType(token, previous) : BY_TOKEN[token.kind];
  if (type) found.push({ start: token.span.start, end: token.span.end, type, modifiers: [] });
}

function ofOccurrence(token: Token, { declaration, role }: Occurrence): SemanticToken {
  const type = BY_ITEM[declaration.kind];
  const modifiers: SemanticModifier[] = [];
  if (role === 'declaration') modifiers.push('declaration');
  if (role === 'write') modifiers.push('modification');
  if (type === 'constant') modifiers.push('readonly');
  return { start: token.span.start, end: token.span.end, type, modifiers };
}

/** A name right after the keyword of its statement is that statement's kind even where nothing could be resolved. */
function unboundType(_token: Token, previous: Token | null): SemanticType {
  if (previous?.kind !== 'keyword') return 'unknownName';
  return BY_ITEM[previous.text as ItemKind] ?? 'unknownName';
}
