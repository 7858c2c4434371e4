/** `door first ( pocket 2 L )`: parentheses or square brackets where the braces of properties stand. */
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem } from '../reporter';
import { isWord, LeftBrace, LeftParen, Newline, RightBrace, RightParen, type RigToken } from '../tokens';
import { propertiesOf } from '../vocabulary';
import { inPlaceOf } from './put';
import { say } from '../say';

/** Reads the parentheses of statements that have properties and no expression before them as braces. */
export function bracesFor(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  const put = new Map<RigToken, RigToken>();
  tokens.forEach((token, i) => {
    if (propertiesOf(token.image).length === 0 || !startsLine(tokens, i)) return;
    const open = openingOf(tokens, i);
    const close = open < 0 ? -1 : closingOf(tokens, open);
    if (close < 0) return;
    const [first, last] = [tokens[open]!, tokens[close]!];
    put.set(first, inPlaceOf(first, first, '{', LeftBrace, first.kind));
    put.set(last, inPlaceOf(last, last, '}', RightBrace, last.kind));
    const message = say`The properties of a ${token.image} stand in braces { }, not in parentheses.`;
    const edits = [
      { span: spanOf(first), text: '{' },
      { span: spanOf(last), text: '}' },
    ];
    const problem = syntaxProblem('syntax/expected', message, spanOf(first));
    problems.push({ ...problem, fixes: [{ title: say`Write braces`, edits }] });
  });
  return put.size === 0 ? tokens : tokens.map((token) => put.get(token) ?? token);
}

function startsLine(tokens: readonly RigToken[], at: number): boolean {
  const before = tokens[at - 1];
  return before === undefined || [Newline, LeftBrace, RightBrace].includes(before.tokenType);
}

/** The parenthesis behind nothing but words, with a property in it; -1 where there is none. */
function openingOf(tokens: readonly RigToken[], keyword: number): number {
  const known = propertiesOf(tokens[keyword]!.image);
  let at = keyword + 1;
  while (tokens[at] && (isWord(tokens[at]!) || /^(?:on|>)$/.test(tokens[at]!.image))) at++;
  const [open, inside] = [tokens[at], tokens[at + 1]];
  const isProperty = known.some((property) => property.keyword === inside?.image);
  return open?.tokenType === LeftParen && isProperty ? at : -1;
}

function closingOf(tokens: readonly RigToken[], open: number): number {
  let depth = 0;
  for (let i = open; i < tokens.length; i++) {
    const type = tokens[i]!.tokenType;
    if (type === LeftBrace || type === RightBrace) return -1;
    if (type === LeftParen) depth++;
    if (type === RightParen && --depth === 0) return i;
  }
  return -1;
}
