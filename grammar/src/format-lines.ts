/**
 * How a text is set: lines of tokens with the blanks before each. Keeps the author's line breaks; decides indentation, blanks
 * between tokens and empty lines. Columns of neighbouring lines are set in `format-columns.ts`.
 */
import { isBinary } from './lexer';
import type { Reading } from './read';
import { Comma, Comment, LeftBrace, LeftParen, Minus, Newline, RightBrace, RightParen, type RigToken } from './tokens';

/** One line of the result. */
export interface FormatLine {
  readonly tokens: readonly RigToken[];
  /** Blanks before each token; the first is the indentation. */
  readonly gaps: string[];
  /** Line ends before this line: none for the first, two after an empty line. */
  readonly breaks: number;
  /** Goes on from the line before. */
  readonly continues: boolean;
}

const INDENT = '  ';
const CONTINUED = '    ';
const GAP = '  ';

/** The blanks between two neighbours on one line. */
function between(before: RigToken, token: RigToken, beforeThat: RigToken | undefined): string {
  const a = before.tokenType;
  const b = token.tokenType;
  if (b === Comment) return GAP;
  if (a === LeftParen || b === RightParen || b === Comma) return '';
  if (a === LeftBrace && b === RightBrace) return '';
  if (b === LeftParen)
    return before.kind === 'name' || before.kind === 'function' ? '' : signOrBlank(before, beforeThat);
  if (token.kind === 'property') return a === LeftBrace ? ' ' : GAP;
  return signOrBlank(before, beforeThat);
}

/** Nothing after a sign (`-1`), a blank after all else. */
function signOrBlank(before: RigToken, beforeThat: RigToken | undefined): string {
  return before.tokenType === Minus && isSign(beforeThat) ? '' : ' ';
}

/** Whether a minus after this token is a sign rather than a subtraction. */
function isSign(before: RigToken | undefined): boolean {
  if (!before) return true;
  if (isBinary(before) || before.kind === 'operator') return true;
  if (before.tokenType === LeftParen || before.tokenType === LeftBrace || before.tokenType === Comma) return true;
  return before.kind === 'property' || before.kind === 'word' || before.kind === 'keyword';
}

/** Tokens of one line of the source, and the newlines before it. */
interface SourceLine {
  readonly tokens: RigToken[];
  newlines: number;
}

function sourceLines(tokens: readonly RigToken[]): SourceLine[] {
  const lines: SourceLine[] = [];
  let newlines = 0;
  let open = false;
  for (const token of tokens) {
    if (token.tokenType === Newline) {
      newlines++;
      open = false;
      continue;
    }
    if (!open) lines.push({ tokens: [], newlines });
    open = true;
    newlines = 0;
    lines[lines.length - 1]!.tokens.push(token);
  }
  return lines;
}

/** A `{` at the beginning of a line goes to the end of the line before, unless a comment ends that. */
function raiseBraces(lines: readonly SourceLine[]): SourceLine[] {
  const kept: SourceLine[] = [];
  for (const line of lines) {
    const above = kept[kept.length - 1];
    const last = above?.tokens[above.tokens.length - 1];
    const raised = line.tokens[0]!.tokenType === LeftBrace && last && last.tokenType !== Comment;
    if (raised && last.tokenType !== LeftBrace && last.tokenType !== RightBrace) above!.tokens.push(...line.tokens);
    else kept.push({ tokens: [...line.tokens], newlines: line.newlines });
  }
  return kept;
}

/** Indices of the tokens that begin something after a newline that counts, by token index. */
function beginnings(input: readonly RigToken[]): ReadonlySet<number> {
  const begins = new Set<number>();
  input.forEach((token, i) => {
    const before = input[i - 1];
    if (token.tokenType !== Newline && (!before || before.tokenType === Newline)) begins.add(token.index);
  });
  return begins;
}

/** For each line, whether its first token but comments goes on from the line before. */
function continuations(lines: readonly SourceLine[], begins: ReadonlySet<number>): boolean[] {
  const result: boolean[] = new Array<boolean>(lines.length).fill(false);
  let next = false;
  for (let i = lines.length - 1; i >= 0; i--) {
    const first = lines[i]!.tokens[0]!;
    if (first.tokenType !== Comment) next = !begins.has(first.index) && first.tokenType !== RightBrace;
    result[i] = next;
  }
  return result;
}

function depthChange(tokens: readonly RigToken[]): number {
  let change = 0;
  for (const token of tokens) {
    if (token.tokenType === LeftBrace) change++;
    if (token.tokenType === RightBrace) change--;
  }
  return change;
}

function closersFirst(tokens: readonly RigToken[]): number {
  const other = tokens.findIndex((token) => token.tokenType !== RightBrace);
  return other < 0 ? tokens.length : other;
}

function gapsOf(tokens: readonly RigToken[], indent: string): string[] {
  return tokens.map((token, i) => (i === 0 ? indent : between(tokens[i - 1]!, token, tokens[i - 2])));
}

/** Whether a line ends in `{`, a comment after it aside. */
function opensBlock(tokens: readonly RigToken[]): boolean {
  const last = tokens[tokens.length - 1]!;
  return (last.tokenType === Comment ? tokens[tokens.length - 2] : last)?.tokenType === LeftBrace;
}

function breaksBefore(line: SourceLine, above: SourceLine | undefined): number {
  if (!above) return 0;
  const afterOpening = opensBlock(above.tokens);
  const beforeClosing = line.tokens[0]!.tokenType === RightBrace;
  return line.newlines > 1 && !afterOpening && !beforeClosing ? 2 : 1;
}

/** The lines of a sound text, each with its blanks. */
export function setLines(reading: Reading): FormatLine[] {
  const lines = raiseBraces(sourceLines(reading.tokens));
  const continues = continuations(lines, beginnings(reading.input));
  let depth = 0;
  return lines.map((line, i) => {
    const level = Math.max(0, depth - closersFirst(line.tokens));
    depth = Math.max(0, depth + depthChange(line.tokens));
    const indent = INDENT.repeat(level) + (continues[i] ? CONTINUED : '');
    return {
      tokens: line.tokens,
      gaps: gapsOf(line.tokens, indent),
      breaks: breaksBefore(line, lines[i - 1]),
      continues: continues[i]!,
    };
  });
}
