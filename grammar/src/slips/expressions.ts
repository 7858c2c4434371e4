/** Words of logic in another spelling (`AND`, `TRUE`), and arguments with the names of their inputs (`IN := start`). */
import type { TokenType } from 'chevrotain';
import type { Span, SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem } from '../reporter';
import {
  And,
  Comma,
  Equal,
  Greater,
  GreaterEqual,
  isWord,
  LeftBrace,
  LeftParen,
  Less,
  LessEqual,
  Minus,
  Newline,
  Not,
  NumberLiteral,
  Off,
  On,
  Or,
  RightBrace,
  RightParen,
  STATEMENT_TYPES,
  Unit,
  Word,
  Xor,
  type RigToken,
} from '../tokens';
import { FUNCTIONS, NAMED_STATEMENTS, PROPERTIES } from '../vocabulary';
import { inPlaceOf, touches } from './put';
import { say } from '../say';

interface Meant {
  readonly word: string;
  readonly type: TokenType;
  readonly as: 'joining' | 'prefix' | 'state';
}

const spellings = (word: string, others: readonly string[] = []): string[] =>
  [word, ...others].flatMap((w) => [w, w.toUpperCase(), w[0]!.toUpperCase() + w.slice(1)]);
const MEANT: ReadonlyMap<string, Meant> = new Map(
  (
    [
      { word: 'and', type: And, as: 'joining' },
      { word: 'or', type: Or, as: 'joining' },
      { word: 'xor', type: Xor, as: 'joining' },
      { word: 'not', type: Not, as: 'prefix' },
      { word: 'on', type: On, as: 'state', others: ['true'] },
      { word: 'off', type: Off, as: 'state', others: ['false'] },
    ] as readonly (Meant & { others?: readonly string[] })[]
  ).flatMap((meant) =>
    spellings(meant.word, meant.others)
      .filter((image) => image !== meant.word)
      .map((image) => [image, meant] as const),
  ),
);

/** Names that are declared in a text, by what stands directly after the keyword. */
export function declaredNames(tokens: readonly RigToken[]): Set<string> {
  const names = new Set<string>();
  tokens.forEach((token, i) => {
    if (i > 0 && isWord(token) && NAMED_STATEMENTS.has(tokens[i - 1]!.image)) names.add(token.image);
  });
  return names;
}

/** Reads `AND`, `Or`, `TRUE` … as `and`, `or`, `on`, where an expression may have them and nothing is called so. */
export function wordSlips(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  if (!tokens.some((token) => token.tokenType === Word && MEANT.has(token.image))) return tokens;
  const declared = declaredNames(tokens);
  const out: RigToken[] = [];
  let inside = false;
  let lineFirst = tokens[0];
  tokens.forEach((token, i) => {
    inside = staysInside(inside, token, tokens[i + 1]);
    if (tokens[i - 1]?.tokenType === Newline) lineFirst = token;
    const meant = token.tokenType === Word && !declared.has(token.image) ? MEANT.get(token.image) : undefined;
    const isState = meant?.as === 'state' && lineFirst?.image === 'at' && endsStep(tokens[i + 1]);
    if (!meant || !(isState || (inside && fits(meant, out, tokens, i)))) return out.push(token);
    const span = spanOf(token);
    problems.push(
      syntaxProblem('syntax/operator', say`Write ${meant.word} instead of ${token.image}.`, span, [
        { title: say`Write ${meant.word}`, span, text: meant.word },
      ]),
    );
    return out.push(inPlaceOf(token, token, meant.word, meant.type, meant.as === 'state' ? 'word' : 'operator'));
  });
  return out;
}

/** Whether the text is within an expression after this token: from `=` or `(` to the end of the statement. */
export function staysInside(inside: boolean, token: RigToken, next: RigToken | undefined): boolean {
  const type = token.tokenType;
  if (type === Equal || type === LeftParen) return true;
  if (type === LeftBrace || type === RightBrace) return false;
  if (type !== Newline || next === undefined) return inside;
  return inside && next.tokenType !== RightBrace && !STATEMENT_TYPES.has(next.image);
}

/** Whether a word may be logic after what was read and before what follows. */
function fits(meant: Meant, out: readonly RigToken[], tokens: readonly RigToken[], at: number): boolean {
  const before = lastOf(out);
  if (before === undefined) return false;
  let next = at + 1;
  while (tokens[next]?.tokenType === Newline) next++;
  const starts = startsOperand(tokens[next]);
  if (meant.as === 'joining') return endsOperand(before) && starts;
  if (endsOperand(before)) return false;
  return meant.as === 'prefix' ? starts : tokens[at + 1]?.tokenType !== LeftParen;
}

/** `on` and `off` end a step of a scenario. */
const endsStep = (next: RigToken | undefined): boolean =>
  next === undefined || next.tokenType === Newline || next.tokenType === RightBrace;

function lastOf(out: readonly RigToken[]): RigToken | undefined {
  for (let i = out.length - 1; i >= 0; i--) if (out[i]!.tokenType !== Newline) return out[i];
  return undefined;
}

const ENDS: ReadonlySet<TokenType> = new Set([RightParen, On, Off, NumberLiteral, Unit]);
const endsOperand = (token: RigToken): boolean =>
  (isWord(token) && !NAMED_STATEMENTS.has(token.image)) || ENDS.has(token.tokenType);

const STARTS: ReadonlySet<TokenType> = new Set([LeftParen, Not, On, Off, NumberLiteral, Minus]);
const startsOperand = (token: RigToken | undefined): boolean =>
  token !== undefined && (isWord(token) || STARTS.has(token.tokenType));

const INPUTS: ReadonlyMap<string, readonly string[]> = new Map(FUNCTIONS.map((f) => [f.name, f.inputs]));

const opensArgument = (token: RigToken | undefined): boolean =>
  token?.tokenType === LeftParen || token?.tokenType === Comma;

/** Drops `IN :=` and `PT :=` from the arguments of a block, where they stand in the order of its inputs. */
export function namedArguments(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  if (!tokens.some((token, i) => token.tokenType === Equal && opensArgument(tokens[i - 2]))) return tokens;
  const dropped = new Set<RigToken>();
  const calls: { inputs: readonly string[]; nth: number; first: RigToken | null }[] = [];
  tokens.forEach((token, i) => {
    const call = calls[calls.length - 1];
    if (token.tokenType === LeftParen)
      calls.push({ inputs: INPUTS.get(tokens[i - 1]?.image ?? '') ?? [], nth: 0, first: null });
    else if (token.tokenType === RightParen) calls.pop();
    else if (token.tokenType === Newline && STATEMENT_TYPES.has(tokens[i + 1]?.image ?? '')) calls.length = 0;
    else if (token.tokenType === Comma && call) call.nth++;
    const name = tokens[i - 1];
    if (token.tokenType !== Equal || !call || !name || call.inputs[call.nth] !== name.image) return;
    const value = tokens[i + 1];
    dropped.add(name).add(token);
    const span = { start: name.startOffset, end: spanOf(token).end };
    const edit = { start: span.start, end: value ? value.startOffset : span.end };
    const message = say`Inputs of a block stand in order, without their names: remove ${name.image} ${token.image}.`;
    problems.push(
      syntaxProblem('syntax/expected', message, span, [
        { title: say`Remove ${name.image} ${token.image}`, span: edit, text: '' },
      ]),
    );
  });
  return dropped.size === 0 ? tokens : tokens.filter((token) => !dropped.has(token));
}

/** `> =` with a blank inside. */
export function splitOperators(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  if (!tokens.some((token, i) => token.tokenType === Equal && isSplit(tokens[i - 1], token))) return tokens;
  const out: RigToken[] = [];
  for (const token of tokens) {
    const before = out[out.length - 1];
    if (token.tokenType !== Equal || !before || !isSplit(before, token)) {
      out.push(token);
      continue;
    }
    const image = `${before.image}=`;
    const joined = inPlaceOf(before, token, image, before.tokenType === Less ? LessEqual : GreaterEqual, 'operator');
    const span = spanOf(joined);
    const message = say`An operator has no blanks inside: write ${image}.`;
    problems.push(syntaxProblem('syntax/operator', message, span, [{ title: say`Write ${image}`, span, text: image }]));
    out[out.length - 1] = joined;
  }
  return out;
}

const isSplit = (before: RigToken | undefined, equal: RigToken): boolean =>
  before !== undefined && equal.image === '=' && (before.image === '<' || before.image === '>');

const JOINS: ReadonlySet<string> = new Set(['while', 'when', 'if']);

/** `drive upper while open_now`: another word where the `=` of a drive stands. */
export function driveWords(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  if (!tokens.some(({ image }) => JOINS.has(image))) return tokens;
  return tokens.map((token, i) => {
    const [drive, target] = [tokens[i - 2], tokens[i - 1]];
    if (!JOINS.has(token.image) || drive?.image !== 'drive' || !target || !isWord(target)) return token;
    if (!startsOperand(tokens[i + 1])) return token;
    const span = spanOf(token);
    const message = say`Write drive ${target.image} = and what drives it, not ${token.image}.`;
    problems.push(syntaxProblem('syntax/expected', message, span, [{ title: say`Write =`, span, text: '=' }]));
    return inPlaceOf(token, token, '=', Equal, 'operator');
  });
}

const STACK_PROPERTIES: ReadonlySet<string> = new Set(PROPERTIES['stack']!.map((p) => p.keyword));

/** `stack a, b, c`, `stack a - b - c`, `stack a b c`: members with something else between them, or nothing. */
export function stackSigns(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  let puts: Put[] | null = null;
  const out: RigToken[] = [];
  for (const [i, token] of tokens.entries()) {
    const before = tokens[i - 1];
    const isStart = token.image === 'stack' && (i === 0 || /^[\r\n{}]/.test(before!.image));
    if (isStart) puts = [];
    else if (puts !== null && (token.tokenType === Comma || token.tokenType === Minus)) {
      const text = token.tokenType === Comma || !before || touches(before, token) ? ' >' : '>';
      puts.push({ span: spanOf(token), text });
      out.push(inPlaceOf(token, token, '>', Greater, 'operator'));
      continue;
    } else if (puts !== null && before && follows(before, token)) {
      const span = { start: token.startOffset, end: token.startOffset };
      // A member written twice in a row has its message from the parser.
      if (before.image !== token.image) puts.push({ span, text: '> ' });
      out.push({ ...inPlaceOf(token, token, '>', Greater, 'operator'), width: 0, index: -1 }, token);
      continue;
    }
    if (puts !== null && (token.tokenType === Newline || token.tokenType === LeftBrace || i === tokens.length - 1)) {
      reportSigns(puts, problems);
      puts = null;
    }
    out.push(token);
  }
  return out;
}

/** What is to be written where. */
interface Put {
  readonly span: Span;
  readonly text: string;
}

/** Whether two members of a stack stand side by side. */
function follows(before: RigToken, token: RigToken): boolean {
  if (before.image === 'stack' || !isWord(before) || !isWord(token)) return false;
  return !STACK_PROPERTIES.has(before.image) && !STACK_PROPERTIES.has(token.image);
}

function reportSigns(edits: readonly Put[], problems: SyntaxProblem[]): void {
  const [first] = edits;
  if (first === undefined) return;
  const message = say`The members of a stack are written with > between them, in the order of flow.`;
  const span = { start: first.span.start, end: Math.max(first.span.end, first.span.start + 1) };
  const problem = syntaxProblem('syntax/operator', message, span);
  problems.push({ ...problem, fixes: [{ title: say`Write > between them`, edits }] });
}
