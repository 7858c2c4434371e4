/**
 * The token types of the language. Words of statements and blocks are contextual: they all carry the category `Word`, so a
 * door may be called `level` or `feed`; only the reserved words can never be names. Token order is matching order.
 */
import { createToken, Lexer, type IToken, type TokenType } from 'chevrotain';
import type { TokenKind } from './ast';
import { NAME, UNIT } from './name-pattern';
import { BLOCK_WORDS, PROPERTIES, RESERVED_WORDS, STATEMENTS } from './vocabulary';

/** A lexed token with what the tree and the colours need: its kind and its place among all tokens of the text. */
export interface RigToken extends IToken {
  kind: TokenKind;
  /** Set on the first token of a statement whose one message has been given before parsing. */
  damaged?: boolean;
  /** Keyword of a statement that is read on as something else than is meant, which has been reported. */
  misread?: boolean;
  /** Index among all tokens of the text, comments and newlines included; -1 for a token the text lacks. */
  index: number;
  /** Length in the text, where the image is not what is written there. */
  width?: number;
}

const NAME_HERE = new RegExp(NAME, 'uy');
const UNIT_HERE = new RegExp(UNIT, 'uy');

/** Words that end a value and therefore are never taken as a unit. */
const NO_UNITS: ReadonlySet<string> = new Set([
  ...RESERVED_WORDS,
  ...BLOCK_WORDS,
  ...STATEMENTS.map((s) => s.keyword),
  ...Object.values(PROPERTIES).flatMap((list) => list.flatMap((p) => [p.keyword, ...p.words])),
]);

/**
 * One character code per bucket of the lexer's first-character table above ASCII; its buckets hold 255 codes each beyond 255.
 * A matcher with a Unicode class may start with any of them.
 */
const BEYOND_ASCII: readonly number[] = [
  ...Array.from({ length: 128 }, (_, i) => 128 + i),
  ...Array.from({ length: 257 }, (_, i) => Math.min(256 + i * 255, 65535)),
];
const ASCII_LETTERS: readonly number[] = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_'].map((c) =>
  c.charCodeAt(0),
);
const ANY_START: readonly number[] = [...Array.from({ length: 128 }, (_, i) => i), ...BEYOND_ASCII];

/** What a pattern matches at an offset. Without a full match record, which the lexer has no use for and costs more than the match. */
function matchSticky(pattern: RegExp, text: string, offset: number): [string] | null {
  pattern.lastIndex = offset;
  return pattern.test(text) ? [text.slice(offset, pattern.lastIndex)] : null;
}

/** A long word followed by another number is a mistyped property (`discharge 0.6  boer 300 mm`), not a unit. */
const NUMBER_FOLLOWS = /[ \t]+\d/y;

/** `in` before the two ends of a range on the same line, which is then no inch: `3 in 1 .. 5`, but `12 in in 10 in .. 14 in`. */
const RANGE_FOLLOWS = /in[ \t]+(?!in\b)[-(\p{L}\d][^\r\n#]*\.\./uy;

/** Inches share their sign with the word before a range. */
function isInch(word: string, text: string, offset: number): boolean {
  return word === 'in' && matchSticky(RANGE_FOLLOWS, text, offset) === null;
}

function matchUnit(text: string, offset: number, before: IToken[]): [string] | null {
  const previous = before[before.length - 1];
  if (previous?.tokenType !== NumberLiteral) return null;
  const match = matchSticky(UNIT_HERE, text, offset);
  if (!match || (NO_UNITS.has(match[0]) && !isInch(match[0], text, offset))) return null;
  if (!/^[\p{L}_]{4,}$/u.test(match[0])) return match;
  return matchSticky(NUMBER_FOLLOWS, text, offset + match[0].length) ? null : match;
}

/** Category of everything that begins no statement and no property. */
export const Stray = createToken({ name: 'Stray', pattern: Lexer.NA });
/** Category of words that can never be names. */
export const Reserved = createToken({ name: 'Reserved', pattern: Lexer.NA });
/** Category of everything that joins two operands. */
export const Binary = createToken({ name: 'Binary', pattern: Lexer.NA });

/** Every kind of white space but line ends; U+2028 and U+2029 end no line here, as in chevrotain. */
export const Blank = createToken({
  name: 'Blank',
  pattern: /[ \t\v\f\u00a0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000\ufeff]+/,
  group: Lexer.SKIPPED,
});
export const Newline = createToken({ name: 'Newline', pattern: /\r\n|\r|\n/, line_breaks: true });
const COMMENT_HERE = /#[^\r\n]*|\/\/[^\r\n]*|\/\*(?:[^*]|\*(?!\/))*\*\/|\/\*[^\r\n]*/y;
const DASHES_HERE = /--(?=[ \t])[^\r\n]*/y;
/** Ends of what a minus may follow as a sign. */
const OPERATOR_WORDS: ReadonlySet<string> = new Set(['and', 'or', 'xor', 'not', 'in']);

/** `--` begins a comment of other languages, but where a value stands it is two signs. */
function matchComment(text: string, offset: number, before: IToken[]): [string] | null {
  const match = matchSticky(COMMENT_HERE, text, offset);
  if (match) return match;
  const last = before[before.length - 1];
  const type = last?.tokenType;
  const isSign =
    last !== undefined &&
    (type === LeftParen || type === Comma || type!.CATEGORIES?.includes(Binary) || OPERATOR_WORDS.has(last.image));
  return isSign ? null : matchSticky(DASHES_HERE, text, offset);
}

/** `#` to the end of the line; those of other languages are read, too, and reported. */
export const Comment = createToken({
  name: 'Comment',
  pattern: { exec: matchComment },
  start_chars_hint: ['#', '/', '-'].map((c) => c.charCodeAt(0)),
  line_breaks: true,
});
export const StringText = createToken({
  name: 'String',
  pattern:
    /"[^"“”\\\r\n]*[“”](?![^\r\n]*")|"(?:[^"\\\r\n]|\\[^\r\n])*(?:"|\\(?![^\r\n]))?|[“”„«»][^“”„«»"\r\n]*[“”„«»"]|[‘’‚'][^‘’‚'"\r\n]*[‘’']/,
  categories: [Stray],
});
/** Also takes spellings that are not allowed (`1_000`, `1e3`, `.5`, `1.`), so that each is one mistake. */
export const NumberLiteral = createToken({
  name: 'Number',
  categories: [Stray],
  pattern: /\d[\d_]*(?:\.\d[\d_]*|\.(?![.\d]))?(?:[eE][+-]?\d+(?![A-Za-z_\d]))?|\.\d+/,
});
export const Unit = createToken({
  name: 'Unit',
  categories: [Stray],
  pattern: { exec: matchUnit },
  start_chars_hint: [...ASCII_LETTERS, '%'.charCodeAt(0), ...BEYOND_ASCII],
  line_breaks: false,
});

/** A time as IEC 61131-3 writes it. */
export const ForeignTime = createToken({
  name: 'ForeignTime',
  categories: [Stray],
  pattern: /[Tt](?:[Ii][Mm][Ee])?#[\d][\w.]*/,
});
export const Word = createToken({
  name: 'Word',
  pattern: { exec: (text: string, offset: number) => matchSticky(NAME_HERE, text, offset) },
  start_chars_hint: [...ASCII_LETTERS, ...BEYOND_ASCII],
  line_breaks: false,
});

const operator = (name: string, pattern: RegExp): TokenType =>
  createToken({ name, pattern, categories: [Binary, Stray] });
const reserved = (name: string): TokenType => createToken({ name, pattern: Lexer.NA, categories: [Reserved, Stray] });
const joining = (name: string): TokenType =>
  createToken({ name, pattern: Lexer.NA, categories: [Reserved, Binary, Stray] });
const blockWord = (name: string): TokenType => createToken({ name, pattern: Lexer.NA, categories: [Word] });

export const Range = operator('Range', /\.\.\.?/);
export const PlusMinus = operator('PlusMinus', /\+-|\+\/-|±/);
export const LessEqual = operator('LessEqual', /<=|=<|≤/);
export const GreaterEqual = operator('GreaterEqual', />=|=>|≥/);
export const NotEqual = operator('NotEqual', /<>|!=|≠/);
export const Less = operator('Less', /</);
export const Greater = operator('Greater', /->|>|→/);
export const Equal = operator('Equal', /:=|==|=/);
export const Plus = operator('Plus', /\+/);
export const Minus = operator('Minus', /[-−–]/);
export const Star = operator('Star', /[*×]/);
export const Slash = operator('Slash', /\/|÷/);
export const LeftParen = createToken({ name: 'LeftParen', pattern: /\(/, categories: [Stray] });
export const RightParen = createToken({ name: 'RightParen', pattern: /\)/, categories: [Stray] });
export const LeftBrace = createToken({ name: 'LeftBrace', pattern: /\{/, categories: [Stray] });
export const RightBrace = createToken({ name: 'RightBrace', pattern: /\}/ });
export const Comma = createToken({ name: 'Comma', pattern: /,/, categories: [Stray] });

export const And = joining('And');
export const Or = joining('Or');
export const Xor = joining('Xor');
export const Not = reserved('Not');
export const On = reserved('On');
export const Off = reserved('Off');
export const In = reserved('In');

export const Into = blockWord('Into');
export const From = blockWord('From');
export const Responds = blockWord('Responds');
export const During = blockWord('During');
export const At = blockWord('At');
export const Repeat = blockWord('Repeat');
export const For = blockWord('For');

/** A run of characters that mean nothing here. */
export const Unknown = createToken({
  name: 'Unknown',
  categories: [Stray],
  pattern: {
    exec: (text: string, offset: number) => matchSticky(/&&|\|\||[\uD800-\uDBFF][\uDC00-\uDFFF]|[^]/y, text, offset),
  },
  start_chars_hint: [...ANY_START],
  line_breaks: false,
});

/** Statement keyword → its token type; given to the first word of a statement only. */
export const STATEMENT_TYPES: ReadonlyMap<string, TokenType> = new Map(
  STATEMENTS.map((s) => [s.keyword, createToken({ name: `Statement_${s.keyword}`, pattern: Lexer.NA })]),
);
/** The token type of one statement keyword. */
export const statementType = (keyword: string): TokenType => STATEMENT_TYPES.get(keyword)!;

/** Words with a token type of their own wherever they stand. */
export const WORD_TYPES: ReadonlyMap<string, TokenType> = new Map<string, TokenType>([
  ['and', And],
  ['or', Or],
  ['xor', Xor],
  ['not', Not],
  ['on', On],
  ['off', Off],
  ['in', In],
  ['into', Into],
  ['from', From],
  ['responds', Responds],
  ['during', During],
  ['at', At],
  ['repeat', Repeat],
  ['for', For],
]);

/** What the lexer looks for, in this order. */
export const LEXED: readonly TokenType[] = [
  Blank,
  Newline,
  Comment,
  StringText,
  NumberLiteral,
  Unit,
  ForeignTime,
  Word,
  PlusMinus,
  LessEqual,
  GreaterEqual,
  NotEqual,
  Greater,
  Less,
  Equal,
  Range,
  Plus,
  Minus,
  Star,
  Slash,
  LeftParen,
  RightParen,
  LeftBrace,
  RightBrace,
  Comma,
  Unknown,
];

/** Every token type the parser may meet. */
export const ALL_TYPES: readonly TokenType[] = [
  ...LEXED.filter((type) => type !== Blank && type !== Comment),
  Stray,
  Reserved,
  Binary,
  And,
  Or,
  Xor,
  Not,
  On,
  Off,
  In,
  Into,
  From,
  Responds,
  During,
  At,
  Repeat,
  For,
  ...STATEMENT_TYPES.values(),
];

/** Whether a token is a word that may be a name. */
export const isWord = (token: RigToken): boolean =>
  token.tokenType === Word || (token.tokenType.CATEGORIES?.includes(Word) ?? false);

const STARTS: ReadonlySet<TokenType> = new Set([NumberLiteral, On, Off, Not, Minus, LeftParen]);
/** Whether an expression may begin with this token. */
export const isStart = (token: RigToken): boolean => isWord(token) || STARTS.has(token.tokenType);
