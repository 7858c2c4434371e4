/** Text → tokens: every character but blanks belongs to exactly one token. Foreign spellings are taken in and reported. */
import { Lexer, type TokenType } from 'chevrotain';
import type { Span, SyntaxProblem, TokenKind } from './ast';
import { syntaxProblem } from './reporter';
import {
  Binary,
  Comma,
  Comment,
  LeftBrace,
  LeftParen,
  LEXED,
  Newline,
  NumberLiteral,
  RightBrace,
  RightParen,
  StringText,
  Unit,
  Unknown,
  Word,
  WORD_TYPES,
  type RigToken,
} from './tokens';
import { say } from './say';

/** The lexer itself; `ensureOptimizations` so that one bad token cannot silently slow all. */
export const RIG_LEXER = new Lexer([...LEXED], {
  positionTracking: 'onlyOffset',
  ensureOptimizations: true,
  skipValidations: true,
});

const KINDS = new Map<TokenType, TokenKind>([
  [Newline, 'newline'],
  [Comment, 'comment'],
  [StringText, 'string'],
  [NumberLiteral, 'number'],
  [Unit, 'unit'],
  [Word, 'name'],
  [LeftParen, 'bracket'],
  [RightParen, 'bracket'],
  [LeftBrace, 'bracket'],
  [RightBrace, 'bracket'],
  [Comma, 'separator'],
  [Unknown, 'unknown'],
]);
const OPERATOR_WORDS: ReadonlySet<string> = new Set(['and', 'or', 'xor', 'not']);
const STATE_WORDS: ReadonlySet<string> = new Set(['on', 'off', 'in']);

/** Other spellings of operators that are understood and reported. */
const FOREIGN: ReadonlyMap<string, string> = new Map([
  ['...', '..'],
  ['+/-', '+-'],
  ['=<', '<='],
  ['≤', '<='],
  ['=>', '>='],
  ['≥', '>='],
  ['!=', '<>'],
  ['≠', '<>'],
  ['->', '>'],
  ['→', '>'],
  ['==', '='],
  [':=', '='],
  ['−', '-'],
  ['–', '-'],
  ['×', '*'],
  ['÷', '/'],
  ['&&', 'and'],
  ['&', 'and'],
  ['||', 'or'],
  ['|', 'or'],
  ['!', 'not'],
]);

/** The operator as the language writes it. */
export const plainOperator = (image: string): string => (image === '±' ? '+-' : (FOREIGN.get(image) ?? image));

/** Where a token stands. */
export const spanOf = (token: { startOffset: number; image: string; width?: number }): Span => ({
  start: token.startOffset,
  end: token.startOffset + (token.width ?? token.image.length),
});

function kindOf(type: TokenType, image: string): TokenKind {
  if (type === Unknown && FOREIGN.has(image)) return 'operator';
  if (type !== Word) return KINDS.get(type) ?? 'operator';
  if (OPERATOR_WORDS.has(image)) return 'operator';
  return STATE_WORDS.has(image) ? 'word' : 'name';
}

/** Moves the decimal point of a plain decimal by `shift` places, exactly. */
function shiftDecimal(digits: string, shift: number): string {
  const [whole = '', fraction = ''] = digits.split('.');
  const point = whole.length + shift;
  const all = whole + fraction;
  const padded = point > all.length ? all.padEnd(point, '0') : point < 1 ? '0'.repeat(1 - point) + all : all;
  const at = Math.max(point, 1);
  const rest = padded.slice(at).replace(/0+$/, '');
  const front = padded.slice(0, at).replace(/^0+(?=\d)/, '');
  return rest ? `${front}.${rest}` : front;
}

const PLAIN_NUMBER = /^\d+(?:\.\d+)?$/;

/** A number in the form the language has: no separators, no exponent, digits on both sides of the point. */
export function plainNumber(image: string): string {
  if (PLAIN_NUMBER.test(image)) return image;
  const [mantissa = '', exponent = '0'] = image.replaceAll('_', '').split(/[eE]/);
  const digits = mantissa.replace(/\.$/, '').replace(/^\./, '0.');
  const shift = Number(exponent);
  return shift === 0 || Math.abs(shift) > 40 ? digits : shiftDecimal(digits, shift);
}

function numberProblem(token: RigToken): SyntaxProblem | null {
  const plain = plainNumber(token.image);
  if (plain === token.image) return null;
  const span = spanOf(token);
  return syntaxProblem('syntax/number', say`Write this number as a plain decimal: ${plain}.`, span, [
    { title: say`Write ${plain}`, span, text: plain },
  ]);
}

/** Whether a text in quotes has its closing quote. */
export const isClosed = (image: string): boolean => /^"(?:[^"\\]|\\.)*"$/.test(image);

/** Whether a text begins or ends with quotes that are none of the language. */
export const hasForeignQuotes = (image: string): boolean => !image.startsWith('"') || /[“”]$/.test(image);

/** What stands between the quotes of a text, whatever their form. */
export const textWithin = (image: string): string => image.slice(1, -1);

function stringProblem(token: RigToken): SyntaxProblem | null {
  const { image } = token;
  if (hasForeignQuotes(image)) return null;
  if (!isClosed(image)) {
    const end = spanOf(token).end;
    return syntaxProblem(
      'syntax/unclosed',
      say`This text in quotes is not closed; add a " at its end.`,
      spanOf(token),
      [{ title: say`Add the closing "`, span: { start: end, end }, text: '"' }],
    );
  }
  const escape = /^"(?:[^"\\]|\\["\\])*(\\[^"\\])/.exec(image);
  if (!escape) return null;
  const start = token.startOffset + escape[0].length - 2;
  const span = { start, end: start + 2 };
  return syntaxProblem(
    'syntax/string',
    say`In quotes only \\" and \\\\ are escapes; write \\\\ for a backslash.`,
    span,
    [{ title: say`Write two backslashes`, span: { start, end: start + 1 }, text: '\\\\' }],
  );
}

function operatorProblem(token: RigToken): SyntaxProblem | null {
  const plain = FOREIGN.get(token.image);
  if (plain === undefined) return null;
  const span = spanOf(token);
  return syntaxProblem('syntax/operator', say`Write ${plain} instead of ${token.image}.`, span, [
    // `!full` has no blank after the sign, and a word needs one.
    { title: say`Write ${plain}`, span, text: plain === 'not' ? 'not ' : plain },
  ]);
}

function problemOf(token: RigToken): SyntaxProblem | null {
  if (token.kind === 'number') return numberProblem(token);
  if (token.kind === 'string') return stringProblem(token);
  return token.kind === 'operator' ? operatorProblem(token) : null;
}

/**
 * All tokens of a text in order, comments and newlines included, and the mistakes inside single tokens.
 * @param at where the text begins in the whole that its places are counted in
 */
export function lexText(text: string, at = 0): { tokens: RigToken[]; problems: SyntaxProblem[] } {
  const tokens = RIG_LEXER.tokenize(text).tokens as RigToken[];
  const problems: SyntaxProblem[] = [];
  tokens.forEach((token, index) => {
    token.index = index;
    token.startOffset += at;
    token.kind = kindOf(token.tokenType, token.image);
    if (token.tokenType === Word) retype(token, WORD_TYPES.get(token.image));
    else if (token.tokenType === Unknown) retype(token, WORD_TYPES.get(plainOperator(token.image)));
    const problem = problemOf(token);
    if (problem) problems.push(problem);
  });
  return { tokens, problems };
}

/** Gives a token another type; does nothing without one. */
export function retype(token: RigToken, type: TokenType | undefined): void {
  if (!type) return;
  token.tokenType = type;
  token.tokenTypeIdx = type.tokenTypeIdx!;
}

/** Whether a token joins two operands. */
export const isBinary = (token: RigToken): boolean => token.tokenType.CATEGORIES?.includes(Binary) ?? false;
