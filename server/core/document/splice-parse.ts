/**
 * Parsing a new version of a text by parsing only what changed: statements outside the edit are taken over from the version
 * before, moved where they have to be. Gives exactly what parsing the whole text gives, or does not try: braces and parentheses
 * must match within the edited statements, and no mistake that reaches over statements may be about.
 */
import { parse } from '../../../grammar/src/api';
import type { ParseResult, Span, Statement, SyntaxProblem, Token } from '../../../grammar/src/ast';
import { BLOCK_WORDS, RESERVED_WORDS } from '../../../grammar/src/vocabulary';

/** A text with its parse. */
export interface ParsedText {
  readonly text: string;
  readonly result: ParseResult;
}

/** Mistakes whose reading depends on what stands elsewhere in the file. */
const REACHING: ReadonlySet<string> = new Set([
  'syntax/unclosed',
  'syntax/unopened',
  'syntax/misplaced-statement',
  'syntax/too-deep',
  'syntax/too-many',
]);

function reaches({ code }: SyntaxProblem): boolean {
  return REACHING.has(code);
}

/** Texts shorter than this are parsed as a whole: looking for what can be kept would not pay. */
const SHORT = 3000;

/** The parse of `text`. @param before an earlier version of the same file, if there is one */
export function parseNext(text: string, before: ParsedText | null): ParseResult {
  const spliced = before && text.length >= SHORT ? splice(text, before) : null;
  return spliced ?? parse(text);
}

/** What is kept of the old text: statements before `first` and from `last` on; `[from, to)` of the old text is read again. */
interface Cut {
  readonly first: number;
  readonly last: number;
  readonly from: number;
  readonly to: number;
}

function splice(text: string, before: ParsedText): ParseResult | null {
  const { tree, problems } = before.result;
  // Where brackets do not match, how one statement is read may hang on another far away.
  if (problems.length > 0 && (problems.some(reaches) || !isBalanced(bareText(before.text)))) return null;
  const cut = findCut(text, before);
  if (!cut) return null;
  const by = text.length - before.text.length;
  const again = text.slice(cut.from, cut.to + by);
  if (!standsAlone(again) || !standsAlone(before.text.slice(cut.from, cut.to))) return null;
  const middle = parse(again);
  if (middle.problems.some(reaches)) return null;
  const statements: Statement[] = [
    ...tree.statements.slice(0, cut.first),
    ...moved(middle.tree.statements, cut.from),
    ...moved(tree.statements.slice(cut.last), by),
  ];
  return withTokens(text, statements, [
    ...problems.filter((p) => p.span.start < cut.from),
    ...moved(middle.problems, cut.from),
    ...moved(
      problems.filter((p) => p.span.start >= cut.to),
      by,
    ),
  ]);
}

/** A parse whose tokens are read when first asked for. */
function withTokens(text: string, statements: readonly Statement[], problems: readonly SyntaxProblem[]): ParseResult {
  let tokens: readonly Token[] | null = null;
  return {
    tree: { statements, span: { start: 0, end: text.length } },
    problems,
    get tokens() {
      return (tokens ??= parse(text).tokens);
    },
  };
}

/** Where to cut, at line ends between statements; null where nothing would be saved. */
function findCut(text: string, { text: old, result }: ParsedText): Cut | null {
  const { statements } = result.tree;
  const head = commonHead(text, old);
  const tail = commonTail(text, old, head);
  // The last statement whose keyword is untouched may hold the edit; those before it are kept.
  let first = Math.max(0, statements.filter((s) => s.keywordSpan.end < head).length - 1);
  let from = first === 0 ? 0 : cutAfter(old, statements, first);
  while (first > 0 && (from < 0 || from > head)) from = --first === 0 ? 0 : cutAfter(old, statements, first);
  let last = statements.length;
  let to = old.length;
  for (let i = first + 1; i < statements.length; i++) {
    const at = cutAfter(old, statements, i);
    // The line end itself must be untouched, not only what follows it.
    if (at < 0 || at - 2 < old.length - tail) continue;
    [last, to] = [i, at];
    break;
  }
  return first === 0 && last === statements.length ? null : { first, last, from, to };
}

/** Offset after the line end that follows statement `index - 1`; -1 where statement `index` or anything else stands on that line. */
function cutAfter(text: string, statements: readonly Statement[], index: number): number {
  const end = statements[index - 1]!.span.end;
  const rest = /[^\S\r\n]*(?:#[^\r\n]*)?(\r\n|\r|\n)/y;
  rest.lastIndex = end;
  const found = rest.exec(text);
  if (!found) return -1;
  const at = end + found[0].length;
  return at <= statements[index]!.span.start ? at : -1;
}

function commonHead(a: string, b: string): number {
  const most = Math.min(a.length, b.length);
  let same = 0;
  while (same < most && a.charCodeAt(same) === b.charCodeAt(same)) same++;
  return same;
}

function commonTail(a: string, b: string, head: number): number {
  const most = Math.min(a.length, b.length) - head;
  let same = 0;
  while (same < most && a.charCodeAt(a.length - 1 - same) === b.charCodeAt(b.length - 1 - same)) same++;
  return same;
}

const NEVER_LAST: ReadonlySet<string> = new Set([...RESERVED_WORDS, ...BLOCK_WORDS]);

/**
 * Whether brackets match within a piece of text, its last line does not lead on to the next, and that line holds more than a
 * comment (which would belong to the statement that follows the piece).
 */
function standsAlone(piece: string): boolean {
  const bare = bareText(piece);
  const last = /([\p{L}\p{N}\p{M}_]+|["})%])[^\S\r\n]*(?:\r\n|\r|\n)?$/u.exec(bare)?.[1];
  return last !== undefined && !NEVER_LAST.has(last) && isBalanced(bare);
}

/** A text without comments and without what stands in quotes. */
function bareText(text: string): string {
  return text.replace(/"(?:[^"\\\r\n]|\\[^\r\n])*"?|#[^\r\n]*/g, (m) => (m[0] === '"' ? '""' : ''));
}

function isBalanced(bare: string): boolean {
  const open: string[] = [];
  for (const [bracket] of bare.matchAll(/[{}()]/g)) {
    if (bracket === '{' || bracket === '(') open.push(bracket);
    else if (open.pop() !== (bracket === '}' ? '{' : '(')) return false;
  }
  return open.length === 0;
}

/** A copy of parts of a parse with all spans moved; the same parts where there is nothing to move. */
function moved<T>(parts: readonly T[], by: number): readonly T[] {
  return by === 0 ? parts : parts.map((part) => movedPart(part, by));
}

function movedPart<T>(part: T, by: number): T {
  if (typeof part !== 'object' || part === null) return part;
  if (Array.isArray(part)) return part.map((p: unknown) => movedPart(p, by)) as T;
  const { start, end } = part as Partial<Span>;
  if (start !== undefined && end !== undefined) return { start: start + by, end: end + by } as T;
  const copy: Record<string, unknown> = {};
  for (const key in part) copy[key] = movedPart(part[key], by);
  return copy as T;
}
