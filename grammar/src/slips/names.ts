/**
 * Names with hyphens, blanks and similar (`upper-door`, `upper door`, `2nd_door`): joined by `_` where they are declared and wherever
 * the same pieces stand again, so that one message at the declaration is all.
 */
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem } from '../reporter';
import {
  isWord,
  LeftBrace,
  LeftParen,
  Minus,
  Newline,
  NumberLiteral,
  Reserved,
  RightBrace,
  RightParen,
  Slash,
  STATEMENT_TYPES,
  StringText,
  Unit,
  Unknown,
  Word,
  type RigToken,
} from '../tokens';
import { EVENT_WORDS, NAMED_STATEMENTS, PHASE_WORDS } from '../vocabulary';
import { declaredNames } from './expressions';
import { inPlaceOf, touches } from './put';
import { say } from '../say';

/** A name in several pieces, as it was declared. */
interface Pieced {
  readonly name: string;
  readonly words: readonly string[];
  /** Pieces are joined by hyphens or similar, not by blanks. */
  readonly tight: boolean;
  readonly keyword: string;
  readonly uses: [RigToken, RigToken][];
}

/** What ends the name of a statement. */
const AFTER_NAME: Readonly<Record<string, readonly string[]>> = {
  rig: ['{', '"'],
  part: ['(', '{'],
  place: ['='],
  let: ['='],
  medium: PHASE_WORDS,
  chamber: ['{'],
  door: ['{'],
  feed: ['into'],
  draw: ['from'],
  switch: ['='],
  sensor: ['on'],
  signal: ['='],
  sequence: ['on', '{'],
  scenario: ['{'],
};

const isReserved = (token: RigToken): boolean => token.tokenType.CATEGORIES?.includes(Reserved) ?? false;
const isPiece = (token: RigToken): boolean =>
  isWord(token) ||
  token.tokenType === Unit ||
  isReserved(token) ||
  (token.tokenType === NumberLiteral && /^\d+$/.test(token.image));
const isJoint = (token: RigToken): boolean =>
  token.tokenType === Minus ||
  token.tokenType === Slash ||
  (token.tokenType === Unknown && /^['’&]$/.test(token.image));

/** Where a run of pieces and tight joints that starts at `from` ends (exclusive). */
function runEnd(tokens: readonly RigToken[], from: number, ends: readonly string[]): number {
  let at = from;
  for (; at < tokens.length; at++) {
    const token = tokens[at]!;
    if (at > from && ends.includes(token.image)) return at;
    const next = tokens[at + 1];
    const joins = isJoint(token) && at > from && next !== undefined;
    if (joins && touches(tokens[at - 1]!, token) && touches(token, next) && isPiece(next)) continue;
    if (!isPiece(token)) return at;
  }
  return at;
}

const startsStatement = (before: RigToken | undefined): boolean =>
  before === undefined ||
  before.tokenType === Newline ||
  before.tokenType === LeftBrace ||
  before.tokenType === RightBrace;

/** The pieces of a name declared at the keyword `tokens[at]`, where there is more than one, or a digit first. */
function piecesAt(tokens: readonly RigToken[], at: number): readonly RigToken[] | null {
  const keyword = tokens[at]!.image;
  const ends = AFTER_NAME[keyword]!;
  const end = runEnd(tokens, at + 1, ends);
  const run = tokens.slice(at + 1, end);
  const next = tokens[end]?.tokenType === Newline ? tokens[end + 1] : tokens[end];
  if (next === undefined || !endsName(next, ends)) return null;
  if (run.length === 0) return null;
  if (run.length === 1) return run[0]!.tokenType === NumberLiteral || isReserved(run[0]!) ? run : null;
  const words = run.filter(isPiece);
  // The same word twice is a slip of its own, and a statement within the run begins anew.
  if (words.every((w) => w.image === words[0]!.image)) return null;
  const anew = run.some((w, i) => STATEMENT_TYPES.has(w.image) && run[i + 1] !== undefined && isWord(run[i + 1]!));
  return anew ? null : run;
}

const endsName = (token: RigToken, ends: readonly string[]): boolean =>
  token.tokenType === LeftBrace || token.tokenType === LeftParen
    ? ends.includes(token.image)
    : ends.includes(token.image) || (ends.includes('"') && token.tokenType === StringText);

function nameOf(run: readonly RigToken[], keyword: string): string {
  const groups: string[] = [];
  run.forEach((token, i) => {
    if (!isPiece(token)) return;
    const before = run[i - 1];
    if (before && isPiece(before) && touches(before, token)) groups.push(groups.pop()! + token.image);
    else groups.push(token.image);
  });
  const joined = groups.join('_');
  if (run.length === 1 && isReserved(run[0]!)) return `${joined}_${keyword}`;
  return /^\d/.test(joined) ? `${keyword}_${joined}` : joined;
}

const tightRun = (run: readonly RigToken[]): boolean => run.every((token, i) => i === 0 || touches(run[i - 1]!, token));

/** Joins the pieces of names; reports each name once, with a fix for all its places. */
export function mendNames(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  const pieced = new Map<string, Pieced[]>();
  const at = new Map<number, Pieced>();
  const lengths = new Map<number, number>();
  tokens.forEach((token, i) => {
    if (!NAMED_STATEMENTS.has(token.image) || !startsStatement(tokens[i - 1])) return;
    const run = piecesAt(tokens, i);
    if (!run) return;
    const [name, tight] = [nameOf(run, token.image), tightRun(run)];
    const words = run.map(({ image }) => image);
    const own: Pieced = { name, words, tight, keyword: token.image, uses: [] };
    pieced.set(words[0]!, [own, ...(pieced.get(words[0]!) ?? [])]);
    at.set(i + 1, own);
    lengths.set(i + 1, run.length);
  });
  const joined = join(tokens, pieced, at, lengths);
  for (const list of pieced.values()) for (const name of list) problems.push(problemOf(name));
  return hyphenUses(joined, problems);
}

function join(
  tokens: readonly RigToken[],
  pieced: ReadonlyMap<string, readonly Pieced[]>,
  declared: ReadonlyMap<number, Pieced>,
  lengths: ReadonlyMap<number, number>,
): readonly RigToken[] {
  if (pieced.size === 0) return tokens;
  const out: RigToken[] = [];
  for (let i = 0; i < tokens.length; i++) {
    const found = declared.get(i) ?? pieced.get(tokens[i]!.image)?.find((name) => standsAt(tokens, i, name));
    if (!found) {
      out.push(tokens[i]!);
      continue;
    }
    const last = tokens[i + (lengths.get(i) ?? found.words.length) - 1]!;
    if (declared.has(i)) found.uses.unshift([tokens[i]!, last]);
    else found.uses.push([tokens[i]!, last]);
    out.push(inPlaceOf(tokens[i]!, last, found.name, Word, 'name'));
    i += found.words.length - 1;
  }
  return out;
}

function standsAt(tokens: readonly RigToken[], at: number, name: Pieced): boolean {
  if (name.words.length === 1 && isReserved(tokens[at]!) && !isNamePosition(tokens, at)) return false;
  return name.words.every((word, i) => {
    const token = tokens[at + i];
    const before = tokens[at + i - 1];
    return token?.image === word && (i === 0 || !name.tight || touches(before!, token));
  });
}

/** Where a word of the language that was declared as a name is meant as one: where an operand stands, and no other use is possible. */
function isNamePosition(tokens: readonly RigToken[], at: number): boolean {
  const [before, next] = [tokens[at - 1], tokens[at + 1]];
  if (before === undefined || next === undefined || tokens[at - 3]?.image === 'switch') return false;
  if (before.image === 'sensor') return next.image === 'on' || next.tokenType === Newline;
  if (isWord(before)) return /^(drive|stack|open|close|into|from|feed|draw|switch)$/.test(before.image);
  if ([Unit, NumberLiteral, RightParen].includes(before.tokenType) || /^(on|off)$/.test(before.image)) return false;
  const isEvent = EVENT_WORDS.includes(next.image);
  return before.tokenType !== Newline && (isEvent || !isPiece(next)) && next.tokenType !== LeftParen;
}

function problemOf({ name, words, tight, keyword, uses }: Pieced): SyntaxProblem {
  const [first, last] = uses[0]!;
  const span = { start: first.startOffset, end: spanOf(last).end };
  const fix = {
    title: say`Rename it to ${name}`,
    edits: uses.map(([a, b]) => ({ span: { start: a.startOffset, end: spanOf(b).end }, text: name })),
  };
  if (words.length === 1 && isReserved(first)) {
    const reserved = say`${words[0]!} is a word of the language and cannot be a name; write ${name}.`;
    return { ...syntaxProblem('syntax/name', reserved, span), fixes: [fix] };
  }
  if (keyword === 'rig' && !tight) {
    const [title, rest] = [words.slice(1).join(' '), { start: spanOf(first).end, end: span.end }];
    const quote = { title: say`Make "${title}" its title`, edits: [{ span: rest, text: ` "${title}"` }] };
    const message = say`The name of a rig has no blanks, and its title is written in quotes.`;
    return { ...syntaxProblem('syntax/name', message, span), fixes: [quote, fix] };
  }
  const why = /^\d/.test(words[0]!)
    ? say`begins with a letter`
    : !tight
      ? say`has no blanks`
      : words.includes('-')
        ? say`has no hyphens`
        : say`has only letters, digits and _`;
  const message = say`The name of a ${keyword === 'let' ? say`constant` : keyword} ${why}; write ${name}.`;
  return { ...syntaxProblem('syntax/name', message, span), fixes: [fix] };
}

/** `upper-door` where `upper_door` is declared: a slip at the use. */
function hyphenUses(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  if (!tokens.some(({ tokenType }) => tokenType === Minus)) return tokens;
  const declared = declaredNames(tokens);
  const out: RigToken[] = [];
  for (let i = 0; i < tokens.length; i++) {
    const end = tokens[i]!.tokenType === Word && tokens[i + 1]?.tokenType === Minus ? runEnd(tokens, i, []) : i;
    const run = tokens.slice(i, end);
    const name = run.length > 2 && tightRun(run) ? nameOf(run, '') : '';
    if (name === '' || !declared.has(name)) {
      out.push(tokens[i]!);
      continue;
    }
    const token = inPlaceOf(run[0]!, run[run.length - 1]!, name, Word, 'name');
    const span = spanOf(token);
    const message = say`A name has no hyphens; ${name} is declared.`;
    problems.push(syntaxProblem('syntax/name', message, span, [{ title: say`Change to ${name}`, span, text: name }]));
    out.push(token);
    i = end - 1;
  }
  return out;
}
