/**
 * The one entry of the language: text → tree, tokens and mistakes. Pure; never throws; the same text gives the same answer.
 */
import type { Expression, ParseResult, SyntaxProblem, Token } from './ast';
import { spanOf } from './lexer';
import { drained, readExpression } from './read';
import { rereadSteps, type Sound } from './reread';
import type { RigToken } from './tokens';

export { formatEdits, formatRange, formatRangeSteps, formatSteps, formatText } from './formatter';

const publicToken = (token: RigToken): Token => ({ kind: token.kind, text: token.image, span: spanOf(token) });

/** The tree of a text, its tokens in order and its mistakes (in order, at most 201). */
export const parse = (text: string): ParseResult => drained(parseSteps(text));

/** The last version without mistakes that a parsed text knows of. */
const soundOf = new WeakMap<ParseResult, Sound>();

/**
 * The same in steps, so that a long text keeps nobody waiting.
 * @param before an earlier version: statements that did not change since are not read again
 */
export function* parseSteps(text: string, before?: ParseResult): Generator<undefined, ParseResult, void> {
  const { tokens, statements, problems, sound } = yield* rereadSteps(text, before && soundOf.get(before));
  let published: Token[] | null = null;
  const result: ParseResult = {
    tree: { statements, span: { start: 0, end: text.length } },
    problems,
    // Made when first asked for: most callers never do, and it is as much work as lexing.
    get tokens() {
      return (published ??= tokens.map(publicToken));
    },
  };
  if (sound) soundOf.set(result, sound);
  return result;
}

/** A text that is one expression, as in settings or on the command line: `TON(start, 1 s)`, `2 * swept`. */
export function parseExpression(text: string): { expression: Expression; problems: SyntaxProblem[] } {
  return readExpression(text);
}
