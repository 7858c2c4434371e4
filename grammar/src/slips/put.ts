/** Tokens that stand for what the text writes otherwise. */
import type { TokenType } from 'chevrotain';
import type { TokenKind } from '../ast';
import { spanOf } from '../lexer';
import type { RigToken } from '../tokens';

/** One token in the place of those from `first` to `last`. */
export function inPlaceOf(first: RigToken, last: RigToken, image: string, type: TokenType, kind: TokenKind): RigToken {
  return {
    image,
    startOffset: first.startOffset,
    width: spanOf(last).end - first.startOffset,
    tokenType: type,
    tokenTypeIdx: type.tokenTypeIdx!,
    kind,
    index: first.index,
  };
}

/** Whether `b` begins where `a` ends. */
export const touches = (a: RigToken, b: RigToken): boolean => spanOf(a).end === b.startOffset;
