/** What stands before the text cursor, read from the tokens: works in half-written text, where a tree says little. */
import type { Span, Token } from '../../../grammar/src/ast';

/** An open call: `TON(start, |` has the callee `TON` and argument 1. */
export interface OpenCall {
  readonly callee: string;
  readonly argument: number;
  readonly at: Span;
}

export interface CursorContext {
  /** The begun word, replaced by what is chosen. */
  readonly replace: Span;
  readonly prefix: string;
  /** Keyword of the block around the cursor; `file` outside all blocks. */
  readonly block: string;
  /** Offset of the brace that opens the block, -1 for the file. */
  readonly blockStart: number;
  /** Tokens of the statement, property or step so far, the begun word left out. */
  readonly before: readonly Token[];
  /** The innermost open call, or null. */
  readonly call: OpenCall | null;
  /** The cursor is in a comment. */
  readonly inComment: boolean;
  /** The cursor is in a text in quotes: where its content begins, else -1. */
  readonly stringStart: number;
}

const BEGUN_WORD = /[\p{L}\p{Nl}_%][\p{L}\p{Nl}\p{M}\p{Nd}\p{Pc}./%]*$/u;

/** The context at `offset`; `tokens` are those of the whole text. */
export function contextAt(text: string, tokens: readonly Token[], offset: number): CursorContext {
  const covering = tokens.find((t) => t.span.start < offset && offset <= t.span.end);
  const inComment = covering?.kind === 'comment';
  const inString = covering?.kind === 'string' && !(offset === covering.span.end && /[^\\]"$/.test(covering.text));
  const prefix = BEGUN_WORD.exec(text.slice(0, offset))?.[0] ?? '';
  const start = offset - prefix.length;
  const left = tokens.filter((t) => t.span.end <= start && t.kind !== 'comment');
  const { block, blockStart, inside } = enclosingBlock(left);
  const before = lastStatement(inside);
  return {
    replace: { start, end: offset },
    prefix,
    block,
    blockStart,
    before,
    call: openCall(before),
    inComment,
    stringStart: inString ? covering!.span.start + 1 : -1,
  };
}

/** The block that is open at the end of `tokens`, and the tokens inside it. */
function enclosingBlock(tokens: readonly Token[]): { block: string; blockStart: number; inside: readonly Token[] } {
  let depth = 0;
  for (let i = tokens.length - 1; i >= 0; i--) {
    const token = tokens[i]!;
    if (token.text === '}' && token.kind === 'bracket') depth++;
    if (token.text !== '{' || token.kind !== 'bracket' || depth-- > 0) continue;
    return { block: keywordOfBlock(tokens.slice(0, i)), blockStart: token.span.start, inside: tokens.slice(i + 1) };
  }
  return { block: 'file', blockStart: -1, inside: tokens };
}

function keywordOfBlock(left: readonly Token[]): string {
  const head = lastStatement(left[left.length - 1]?.kind === 'newline' ? left.slice(0, -1) : left);
  return head.find((t) => t.kind === 'keyword')?.text ?? head[0]?.text ?? 'file';
}

/** Tokens since the last line end that ends a statement; a line goes on inside parentheses and after an operator. */
function lastStatement(tokens: readonly Token[]): Token[] {
  const found: Token[] = [];
  let braces = 0;
  for (let i = tokens.length - 1; i >= 0; i--) {
    const token = tokens[i]!;
    if (token.text === '}') braces++;
    if (token.text === '{' && token.kind === 'bracket') {
      if (braces === 0) break;
      braces--;
    }
    if (token.kind === 'newline') {
      if (braces === 0 && !goesOn(tokens, i)) break;
      continue;
    }
    found.unshift(token);
  }
  return found;
}

function goesOn(tokens: readonly Token[], newline: number): boolean {
  const before = tokens[newline - 1];
  if (before?.kind === 'operator' || before?.kind === 'separator') return true;
  return before?.text === '(';
}

function openCall(before: readonly Token[]): OpenCall | null {
  let depth = 0;
  let argument = 0;
  for (let i = before.length - 1; i >= 0; i--) {
    const token = before[i]!;
    if (token.text === ')') depth++;
    else if (token.text === ',' && depth === 0) argument++;
    else if (token.text === '(' && depth-- === 0) {
      const callee = before[i - 1];
      if (callee?.kind === 'function' || callee?.kind === 'name') {
        return { callee: callee.text, argument, at: callee.span };
      }
      // Plain brackets around a term: the call may be further out.
      depth = 0;
      argument = 0;
    }
  }
  return null;
}
