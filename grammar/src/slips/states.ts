/** `upper is open`, `run = on`, `not (full is off)`: a state written out in a condition, where the name alone says it. */
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem } from '../reporter';
import { Comma, isWord, LeftParen, Newline, Not, RightParen, STATEMENT_TYPES, type RigToken } from '../tokens';
import { FUNCTIONS } from '../vocabulary';
import { declaredNames, staysInside } from './expressions';
import { inPlaceOf } from './put';
import { say } from '../say';

/** Words for a state: whether the name alone, or `not` before it, stands for it. */
const STATES: ReadonlyMap<string, boolean> = new Map([
  ['open', true],
  ['on', true],
  ['true', true],
  ['closed', false],
  ['close', false],
  ['shut', false],
  ['off', false],
  ['false', false],
]);
/** What may stand between a name and its state; an `=` of the statement itself never does, as it stands outside the expression. */
const LINKS: ReadonlySet<string> = new Set(['is', '=', '==']);

/** Calls whose arguments are conditions; those of other metrics are doors and events. */
const OF_CONDITIONS: ReadonlySet<string> = new Set(['never', ...FUNCTIONS.map(({ name }) => name)]);
/** Words that stand between two operands or before one. */
const OPERATORS: ReadonlySet<string> = new Set(['and', 'or', 'xor', 'not']);

/** A state written out, from its name to the word for it; `is` where the name alone stands for it. */
interface Written {
  readonly from: number;
  readonly to: number;
  readonly is: boolean;
}

/** Reads a name with its state as the name, or as `not` and the name. */
export function stateWords(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  if (!tokens.some(({ image }) => STATES.has(image))) return tokens;
  const declared = declaredNames(tokens);
  const dropped = new Set<RigToken>();
  const negated = new Set<RigToken>();
  for (const { from, to, is } of writtenStates(tokens, declared)) {
    const name = tokens[from]!;
    const last = tokens[to]!;
    for (let i = from + 1; i <= to; i++) dropped.add(tokens[i]!);
    if (!is) negated.add(name);
    const text = is ? name.image : `not ${name.image}`;
    const span = { start: name.startOffset, end: spanOf(last).end };
    const message = say`A name alone stands for on, that of a door for not shut: write ${text}.`;
    problems.push(syntaxProblem('syntax/operator', message, span, [{ title: say`Write ${text}`, span, text }]));
  }
  if (dropped.size === 0) return tokens;
  return tokens
    .filter((token) => !dropped.has(token))
    .flatMap((token) =>
      negated.has(token)
        ? [{ ...inPlaceOf(token, token, 'not', Not, 'operator'), width: 0, index: -1 }, token]
        : [token],
    );
}

/** Every state that is written out in a condition. */
function* writtenStates(tokens: readonly RigToken[], declared: ReadonlySet<string>): Generator<Written> {
  let inside = false;
  let calls: boolean[] = [];
  for (const [i, token] of tokens.entries()) {
    const entered = inside;
    inside = staysInside(inside, token, tokens[i + 1]);
    if (token.tokenType === Newline && STATEMENT_TYPES.has(tokens[i + 1]?.image ?? '')) calls = [];
    else if (token.tokenType === LeftParen) calls.push(takesConditions(tokens[i - 1], calls[calls.length - 1] ?? true));
    else if (token.tokenType === RightParen) calls.pop();
    if (!entered || !(calls[calls.length - 1] ?? true) || !isOperand(token)) continue;
    const linked = LINKS.has(tokens[i + 1]?.image ?? '');
    const to = i + (linked ? 2 : 1);
    const word = tokens[to]?.image ?? '';
    const is = declared.has(word) ? undefined : STATES.get(word);
    if (is !== undefined && endsOperand(tokens[to + 1])) yield { from: i, to, is };
  }
}

/** Whether what stands in a parenthesis is a condition: a parenthesis without a call is as what is around it. */
const takesConditions = (callee: RigToken | undefined, around: boolean): boolean =>
  callee !== undefined && isWord(callee) && !OPERATORS.has(callee.image) ? OF_CONDITIONS.has(callee.image) : around;

const isOperand = (token: RigToken): boolean =>
  isWord(token) && !OPERATORS.has(token.image) && !LINKS.has(token.image) && !STATES.has(token.image);

function endsOperand(next: RigToken | undefined): boolean {
  if (next === undefined) return true;
  const { tokenType, image } = next;
  return tokenType === RightParen || tokenType === Comma || tokenType === Newline || OPERATORS.has(image);
}
