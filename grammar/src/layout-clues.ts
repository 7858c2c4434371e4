/** What single tokens and lines tell about the layout: clues that `layout.ts` decides by. Pure functions. */
import type { TokenType } from 'chevrotain';
import type { Span, SyntaxProblem } from './ast';
import { isBinary, isClosed, spanOf } from './lexer';
import { syntaxProblem } from './reporter';
import {
  Comma,
  In,
  isWord,
  LeftBrace,
  Minus,
  Not,
  RightBrace,
  STATEMENT_TYPES,
  StringText,
  type RigToken,
} from './tokens';
import { EVENT_WORDS, propertiesOf } from './vocabulary';
import { say } from './say';

/** Words that begin a step. */
const STEP_WORDS: ReadonlySet<string> = new Set(['at', 'for', 'repeat']);

/** Statements without a name. */
export const NAMELESS: ReadonlySet<string> = new Set(['supply', 'controller', 'atmosphere']);

/** Whether a statement's braces hold statements. */
export const isContainer = (keyword: string): boolean => keyword === 'rig' || keyword === 'part';

/** What is missing in the text, put into the parser's input: empty, just after `after`. */
export function missingToken(type: TokenType, after: RigToken): RigToken {
  const startOffset = spanOf(after).end;
  return {
    image: '',
    startOffset,
    tokenType: type,
    tokenTypeIdx: type.tokenTypeIdx!,
    kind: 'bracket',
    index: -1,
  };
}

/** An unclosed text in quotes at the end of whose line a block was to begin. */
export const swallowsBrace = (token: RigToken): boolean =>
  token.tokenType === StringText && /\{\s*$/.test(token.image) && !isClosed(token.image);

/** Opening braces without a closing one less closing ones without an opening one; null where all match. */
export function braceSurplus(tokens: readonly RigToken[]): number | null {
  let depth = 0;
  let crossed = false;
  for (const token of tokens) {
    if (token.tokenType === LeftBrace || swallowsBrace(token)) depth++;
    else if (token.tokenType === RightBrace && --depth < 0) crossed = true;
  }
  return depth === 0 && !crossed ? null : depth;
}

function lineStart(text: string, offset: number): number {
  let at = offset;
  while (at > 0 && text[at - 1] !== '\n' && text[at - 1] !== '\r') at--;
  return at;
}

/** Columns of blanks at the beginning of the line of `offset`; a tab counts as two. */
export function indentOf(text: string, offset: number): number {
  let columns = 0;
  for (let at = lineStart(text, offset); at < offset; at++) {
    const c = text[at]!;
    if (c.trim() !== '') break;
    columns += c === '\t' ? 2 : 1;
  }
  return columns;
}

/** Whether a statement seems to begin at a token: `door upper`, `import "…"`, `supply {`, but not `feed or …`. */
export function looksLikeStatement(tokens: readonly RigToken[], index: number): boolean {
  const token = tokens[index];
  if (!token || !isWord(token) || !STATEMENT_TYPES.has(token.image)) return false;
  const next = tokens[index + 1];
  if (!next) return false;
  if (next.tokenType === StringText) return token.image === 'import';
  if (next.tokenType === LeftBrace) return NAMELESS.has(token.image);
  return isWord(next) && !EVENT_WORDS.includes(next.image);
}

/** A token that a line may end with and go on. */
export const leadsOn = (t: RigToken): boolean =>
  isBinary(t) || t.tokenType === Comma || t.tokenType === Not || t.tokenType === In;

/** A token that a line may begin with and go on from the one before. */
export const joinsOn = (t: RigToken): boolean => (isBinary(t) && t.tokenType !== Minus) || t.tokenType === In;

/** Whether a token is the beginning of what a statement has in its braces. */
export function belongsInside(keyword: string, token: RigToken): boolean {
  if (isContainer(keyword)) return STATEMENT_TYPES.has(token.image);
  if (keyword === 'sequence' || keyword === 'scenario') return STEP_WORDS.has(token.image);
  return propertiesOf(keyword).some((p) => p.keyword === token.image);
}

/** The message about a bracket that closes nothing. */
export function unopened(token: RigToken, sign: string): SyntaxProblem {
  const span: Span = spanOf(token);
  return syntaxProblem('syntax/unopened', say`This ${sign} closes nothing; remove it.`, span, [
    { title: say`Remove this ${sign}`, span, text: '' },
  ]);
}
