/** `TOF(start 1.8 s)`: a comma left out between the arguments of a call. */
import type { TokenType } from 'chevrotain';
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { nearMatch } from '../near-match';
import { syntaxProblem } from '../reporter';
import {
  Comma,
  isWord,
  LeftParen,
  Newline,
  Not,
  NumberLiteral,
  Off,
  On,
  RightParen,
  STATEMENT_TYPES,
  Unit,
  type RigToken,
} from '../tokens';
import { EVENT_WORDS, FUNCTIONS } from '../vocabulary';
import { say } from '../say';

const INPUTS: ReadonlyMap<string, number> = new Map(FUNCTIONS.map((f) => [f.name, f.inputs.length]));

/** Whether a word is the name of a function block. */
export const isBlock = (token: RigToken): boolean => INPUTS.has(token.image);

const ENDS: ReadonlySet<TokenType> = new Set([RightParen, On, Off, NumberLiteral, Unit]);
const STARTS: ReadonlySet<TokenType> = new Set([Not, On, Off, NumberLiteral]);

/** Whether two neighbouring tokens end one operand and begin another, so that something is missing between them. */
export function hasGap(before: RigToken | undefined, token: RigToken): boolean {
  if (before === undefined || !(isWord(before) || ENDS.has(before.tokenType))) return false;
  return STARTS.has(token.tokenType) || (isWord(token) && nearMatch(token.image, EVENT_WORDS) === null);
}

/** One pair of parentheses that is open. */
interface Open {
  /** Most arguments the call may have; 0 for parentheses that only group, and where an operator is missing rather than a comma. */
  readonly most: number;
  commas: number;
  readonly gaps: RigToken[];
}

/** Takes arguments that stand side by side as separate ones, where the block or metric has room for them. */
export function missingCommas(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  const put = new Map<RigToken, RigToken>();
  const open: Open[] = [];
  tokens.forEach((token, i) => {
    const before = tokens[i - 1];
    const call = open[open.length - 1];
    if (token.tokenType === Newline && STATEMENT_TYPES.has(tokens[i + 1]?.image ?? '')) open.length = 0;
    else if (token.tokenType === LeftParen) open.push({ most: roomOf(before), commas: 0, gaps: [] });
    else if (token.tokenType === Comma && call) call.commas++;
    else if (token.tokenType === RightParen && call) {
      open.pop();
      if (call.commas + call.gaps.length < call.most) for (const gap of call.gaps) put.set(gap, commaBefore(gap));
    } else if (call && hasGap(before, token)) call.gaps.push(token);
  });
  if (put.size === 0) return tokens;
  return tokens.flatMap((token, i) => {
    const comma = put.get(token);
    if (comma === undefined) return [token];
    problems.push(missing(tokens[i - 1]!, token));
    return [comma, token];
  });
}

/** The metric that takes a condition has one argument: what is missing there is an operator. */
const OF_CONDITION = 'never';

function roomOf(callee: RigToken | undefined): number {
  if (callee === undefined || !isWord(callee) || callee.image === OF_CONDITION) return 0;
  return INPUTS.get(callee.image) ?? Number.POSITIVE_INFINITY;
}

function commaBefore(token: RigToken): RigToken {
  const { startOffset } = token;
  return {
    image: ',',
    startOffset,
    width: 0,
    tokenType: Comma,
    tokenTypeIdx: Comma.tokenTypeIdx!,
    kind: 'separator',
    index: -1,
  };
}

function missing(before: RigToken, token: RigToken): SyntaxProblem {
  const { end } = spanOf(before);
  const message = say`A comma is missing between ${before.image} and ${token.image}.`;
  const repair = { title: say`Write a comma`, span: { start: end, end }, text: ',' };
  // How many arguments a metric or part takes is known only later; so it is not reported twice.
  return { ...syntaxProblem('syntax/expected', message, spanOf(token), [repair]), misread: true };
}
