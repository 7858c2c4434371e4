/** Pieces that all suggestions are made of: names in scope, operands, operators, words. */
import type { Span, Token } from '../../../grammar/src/ast';
import { FUNCTIONS } from '../../../grammar/src/vocabulary';
import type { RigDocument } from '../document/document';
import type { ItemKind } from '../model/rig';
import type { CursorContext } from './completion-context';
import type { Visible } from './scope';
import { dimensionOfLet, visibleNames } from './scope';
import { said, say } from '../words/say';

export type SuggestionKind =
  | 'keyword'
  | 'statement'
  | 'property'
  | 'word'
  | 'unit'
  | 'function'
  | 'metric'
  | 'chamber'
  | 'door'
  | 'line'
  | 'input'
  | 'signal'
  | 'constant'
  | 'event'
  | 'part'
  | 'file';

export interface Suggestion {
  readonly label: string;
  readonly kind: SuggestionKind;
  readonly detail: string;
  /** Markdown, shown for the chosen line. */
  readonly documentation: string;
  /** With tab stops, for editors that have them. */
  readonly snippet?: string;
  /** Where it is not the label. */
  readonly text?: string;
  readonly replace: Span;
}

/** A suggestion before it is known what it replaces. */
export type Draft = Omit<Suggestion, 'replace'>;

export interface CompletionOptions {
  /** Offer whole statements. */
  readonly snippets: boolean;
  /** Files that an import may name, as written in the text. */
  readonly importable: readonly string[];
  /** Asked because a blank was typed: where anything could begin, nothing is offered. */
  readonly afterBlank: boolean;
}

export interface Place {
  readonly document: RigDocument;
  readonly offset: number;
  readonly context: CursorContext;
  readonly options: CompletionOptions;
}

const KIND_OF: Readonly<Partial<Record<ItemKind, SuggestionKind>>> = {
  chamber: 'chamber',
  door: 'door',
  feed: 'line',
  draw: 'line',
  switch: 'input',
  sensor: 'input',
  signal: 'signal',
  let: 'constant',
  parameter: 'constant',
  medium: 'constant',
  sequence: 'event',
  scenario: 'event',
  part: 'part',
  place: 'part',
};

/** Names in scope; constants of another dimension than the wanted one are left out where that can be seen. */
export function names({ document, offset }: Place, kinds: readonly ItemKind[], dimension?: string): Draft[] {
  const fits = (v: Visible): boolean => {
    if (dimension === undefined || v.kind !== 'let') return true;
    const known = dimensionOfLet(document, v.name);
    return known === null || known === dimension;
  };
  return visibleNames(document, offset, kinds)
    .filter(fits)
    .map((v) => ({ label: v.name, kind: KIND_OF[v.kind] ?? 'signal', detail: v.detail, documentation: v.doc }));
}

/** What an expression of a signal may be made of. */
export function operands(place: Place): Draft[] {
  const calls = FUNCTIONS.map((f): Draft => {
    const stops = f.inputs.map((input, i) => `\${${i + 1}:${input}}`).join(', ');
    return {
      label: f.name,
      kind: 'function',
      detail: `${f.name}(${f.inputs.join(', ')})`,
      documentation: said(f.doc),
      snippet: `${f.name}(${stops})`,
    };
  });
  return [
    ...names(place, ['signal', 'sensor', 'switch', 'parameter']),
    ...calls,
    word('not', say`negation`),
    ...states(),
  ];
}

export function operators(): Draft[] {
  return [word('and', say`both`), word('or', say`one or both`), word('xor', say`exactly one`)];
}

export function states(): Draft[] {
  return [word('on', ''), word('off', '')];
}

export function word(label: string, doc: string): Draft {
  return { label, kind: 'word', detail: doc, documentation: '' };
}

export function isText(token: Token | undefined, text: string): boolean {
  return token?.text === text;
}

export function isComparison(token: Token): boolean {
  return ['<', '<=', '>', '>=', '=', '<>', 'in'].includes(token.text);
}

export function afterEquals(before: readonly Token[]): boolean {
  return isText(before.at(-1), '=');
}

/** Whether a value is to come: after an operator, a comma, an opening bracket. */
export function expectsOperand(before: readonly Token[]): boolean {
  const last = before.at(-1);
  if (!last) return true;
  return last.kind === 'operator' || last.kind === 'separator' || last.text === '(' || isComparison(last);
}
