/**
 * A text read again after an edit: whole statements that the edit does not touch are taken over from a version without mistakes, and
 * only the lines between them are read. The outcome is the one that reading the whole gives (tests compare them).
 */
import type { Expression, Span, Statement, SyntaxProblem } from './ast';
import { moveGroup } from './operators';
import { spanOf } from './lexer';
import { readSteps } from './read';
import { Comment, Newline, RightBrace, STATEMENT_TYPES, type RigToken } from './tokens';

/** A text without mistakes, as it was read. */
export interface Sound {
  readonly text: string;
  readonly statements: readonly Statement[];
  readonly tokens: readonly RigToken[];
  /** Where the line after each statement begins; null where something else follows on its last line, or no line at all. */
  readonly ends: readonly (number | null)[];
}

/** A text as it was read, and what its next version may take over. */
export interface Read {
  readonly statements: readonly Statement[];
  readonly tokens: readonly RigToken[];
  readonly problems: readonly SyntaxProblem[];
  readonly sound: Sound | undefined;
}

/** Reads a text in steps. `sound`: an earlier version of it. */
export function* rereadSteps(text: string, sound: Sound | undefined): Generator<undefined, Read, void> {
  const kept = sound ? untouched(sound, text) : null;
  const again = sound && kept ? yield* readBetween(text, sound, kept) : null;
  if (again) return again;
  const { statements, tokens, problems } = yield* readSteps(text);
  const ends = (): Sound['ends'] => endsOf(statements, tokens);
  return {
    statements,
    tokens,
    problems,
    sound: problems.length > 0 ? sound : { text, statements, tokens, ends: ends() },
  };
}

function endsOf(statements: readonly Statement[], tokens: readonly RigToken[]): (number | null)[] {
  let at = 0;
  return statements.map(({ span }) => {
    while (at < tokens.length && tokens[at]!.startOffset < span.end) at++;
    while (tokens[at]?.tokenType === Comment) at++;
    const token = tokens[at];
    return token?.tokenType === Newline ? spanOf(token).end : null;
  });
}

/** Statements before `first` and from `last` on stay; `between` are the lines of the new text that are read. */
interface Kept {
  readonly first: number;
  readonly last: number;
  readonly between: Span;
  /** How far what stays behind has moved. */
  readonly by: number;
}

/** What an edit leaves as it was; null where that is nothing. */
function untouched({ text: old, ends }: Sound, text: string): Kept | null {
  const most = Math.min(old.length, text.length);
  let before = 0;
  while (before < most && old.charCodeAt(before) === text.charCodeAt(before)) before++;
  let behind = 0;
  const by = text.length - old.length;
  while (
    behind < most - before &&
    old.charCodeAt(old.length - 1 - behind) === text.charCodeAt(text.length - 1 - behind)
  )
    behind++;
  // A line end counts as untouched where the character on its other side is, too: it may be one of two.
  const first = 1 + lastIndex(ends, (end) => end !== null && end < before);
  const after = ends.findIndex((end, i) => i >= first - 1 && end !== null && end > old.length - behind);
  const last = after < 0 ? ends.length : after + 1;
  if (first === 0 && last === ends.length) return null;
  const between = { start: ends[first - 1] ?? 0, end: last < ends.length ? ends[last - 1]! + by : text.length };
  return { first, last, between, by };
}

/** Reads the lines between what stays; null where they may depend on their surroundings, or the other way round. */
function* readBetween(text: string, sound: Sound, kept: Kept): Generator<undefined, Read | null, void> {
  const { first, last, between, by } = kept;
  const read = yield* readSteps(text, between);
  const { problems } = read;
  const alone =
    (first === 0 || beginsStatement(read.tokens)) && (last === sound.statements.length || endsBlock(read.tokens));
  if (problems.length > 0 && !(read.orderly && alone)) return null;
  if (last < sound.statements.length && endsInComment(read.tokens)) return null;
  yield;
  const tail = sound.statements.slice(last).map((statement) => moved(statement, by));
  const from = last < sound.ends.length ? sound.ends[last - 1]! : sound.text.length;
  const statements = [...sound.statements.slice(0, first), ...read.statements, ...tail];
  const tokens = [
    ...sound.tokens.slice(0, indexAt(sound.tokens, between.start)),
    ...read.tokens,
    ...sound.tokens.slice(indexAt(sound.tokens, from)).map((token) => movedToken(token, by)),
  ];
  if (problems.length > 0) return { statements, tokens, problems, sound };
  const ends = [
    ...sound.ends.slice(0, first),
    ...endsOf(read.statements, read.tokens),
    ...sound.ends.slice(last).map((end) => (end === null ? null : end + by)),
  ];
  return { statements, tokens, problems, sound: { text, statements, tokens, ends } };
}

function lastIndex<T>(list: readonly T[], fits: (one: T) => boolean): number {
  let at = list.length - 1;
  while (at >= 0 && !fits(list[at]!)) at--;
  return at;
}

const counts = ({ tokenType }: RigToken): boolean => tokenType !== Newline && tokenType !== Comment;

function beginsStatement(tokens: readonly RigToken[]): boolean {
  const first = tokens.find(counts);
  return first !== undefined && STATEMENT_TYPES.get(first.image) === first.tokenType;
}

const endsBlock = (tokens: readonly RigToken[]): boolean => tokens[lastIndex(tokens, counts)]?.tokenType === RightBrace;

/** Whether the last line is a comment alone: it may belong to the statement on the next one. */
function endsInComment(tokens: readonly RigToken[]): boolean {
  const [before, comment] = tokens.slice(-3);
  if (tokens.length < 3) return tokens[0]?.tokenType === Comment;
  return comment!.tokenType === Comment && before!.tokenType === Newline;
}

/** Index of the first token from an offset on. */
function indexAt(tokens: readonly RigToken[], offset: number): number {
  let [low, high] = [0, tokens.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (tokens[middle]!.startOffset < offset) low = middle + 1;
    else high = middle;
  }
  return low;
}

const movedToken = (token: RigToken, by: number): RigToken =>
  by === 0 ? token : { ...token, startOffset: token.startOffset + by };

/** A copy of a piece of a tree that stands `by` further on; itself where that is nowhere else. */
function moved<T>(value: T, by: number): T {
  if (by === 0 || typeof value !== 'object' || value === null) return value;
  if (Array.isArray(value)) return value.map((inner: unknown) => moved(inner, by)) as T;
  const copy = { ...value } as Record<string, unknown>;
  for (const key in copy) {
    const inner = copy[key];
    if (typeof inner === 'object' && inner !== null) copy[key] = moved(inner, by);
    else if ((key === 'start' || key === 'end') && typeof inner === 'number') copy[key] = inner + by;
  }
  if ('kind' in copy) moveGroup(value as unknown as Expression, copy as unknown as Expression, by);
  return copy as T;
}
