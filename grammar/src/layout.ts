/**
 * Tokens → the parser's input. Decides what the text only hints at: which newlines end something, which words begin a
 * statement, and where a brace or parenthesis that was forgotten would have stood. Afterwards braces and parentheses match.
 */
import type { SyntaxProblem } from './ast';
import {
  belongsInside,
  braceSurplus,
  indentOf,
  isContainer,
  joinsOn,
  leadsOn,
  looksLikeStatement,
  missingToken,
  NAMELESS,
  swallowsBrace,
  unopened,
} from './layout-clues';
import { isBinary, retype, spanOf } from './lexer';
import { nearMatch } from './near-match';
import { syntaxProblem } from './reporter';
import {
  Comment,
  isWord,
  LeftBrace,
  LeftParen,
  Newline,
  Not,
  RightBrace,
  RightParen,
  STATEMENT_TYPES,
  StringText,
  Word,
  type RigToken,
} from './tokens';
import { propertiesOf } from './vocabulary';
import { STATEMENT_SLIPS } from './slips/words';
import { say } from './say';

/** Deepest nesting of parentheses, and most operators, in one statement. */
export const MAX_DEPTH = 60;
export const MAX_OPERATORS = 500;
/** Deepest nesting of blocks; what is deeper is left out of the tree. */
export const MAX_BLOCKS = 16;

/** An open `{`, with what tells whether it was meant to be closed by now. */
interface Block {
  readonly brace: RigToken;
  /** Keyword of the statement it belongs to; empty where there is none. */
  readonly keyword: string;
  /** Columns of the line it was opened on. */
  readonly indent: number;
  /** Whether its first own line is indented further than that; null before there is one. */
  indented: boolean | null;
}

interface Layout {
  readonly text: string;
  readonly tokens: readonly RigToken[];
  readonly input: RigToken[];
  readonly problems: SyntaxProblem[];
  readonly blocks: Block[];
  readonly parens: RigToken[];
  /** Braces do not match, so that indentation and keywords must tell where one is missing. */
  readonly guess: boolean;
  /** Opening braces too many, or closing ones if negative, not yet accounted for. */
  surplus: number;
  /** First token of the statement being read. */
  first: RigToken | null;
  /** First token of the present line. */
  lineFirst: RigToken | undefined;
  /** Columns of blanks before the present line. */
  lineIndent: number;
  /** Closing braces put in by guess, each of which may have a real one further on. */
  guessed: number;
  /** The keyword of the statement being read at this level; empty between statements. */
  keyword: string;
  /** The next token begins a statement, if the block holds statements. */
  atStart: boolean;
  operators: number;
  /** Where the statement turned out too deep or long; the rest of it is dropped. */
  dropping: boolean;
}

const currentKeyword = (l: Layout): string => l.blocks[l.blocks.length - 1]?.keyword ?? 'rig';
const lastInput = (l: Layout): RigToken | undefined => l.input[l.input.length - 1];

/** Last token before the present place that is not a newline. */
function lastReal(l: Layout): RigToken | undefined {
  let at = l.input.length - 1;
  while (at >= 0 && l.input[at]!.tokenType === Newline) at--;
  return l.input[at];
}

function describeBlock(block: Block): string {
  return block.keyword === '' ? say`The block` : say`The block of this ${block.keyword}`;
}

/** Puts in the `}` that the innermost block lacks, and says so at its `{`. */
function closeByGuess(l: Layout): void {
  const block = l.blocks.pop()!;
  const after = lastReal(l) ?? block.brace;
  const end = spanOf(after).end;
  l.problems.push(
    syntaxProblem(
      'syntax/unclosed',
      say`${describeBlock(block)} is not closed; add a } at its end.`,
      spanOf(block.brace),
      [{ title: say`Add the closing }`, span: { start: end, end }, text: ' }' }],
    ),
  );
  closeParens(l);
  if (l.blocks.length < MAX_BLOCKS) l.input.push(missingToken(RightBrace, lastInput(l) ?? block.brace));
  if (l.guess) l.guessed++;
  afterBlock(l);
}

function afterBlock(l: Layout): void {
  l.keyword = '';
  l.atStart = true;
  endStatement(l);
}

function endStatement(l: Layout): void {
  l.operators = 0;
  l.dropping = false;
}

/** Puts in the `)` that a statement lacks; one message for all of them, at the innermost. */
function closeParens(l: Layout): void {
  const open = l.parens[l.parens.length - 1];
  if (!open) return;
  const after = lastReal(l) ?? open;
  const end = spanOf(after).end;
  const text = ')'.repeat(l.parens.length);
  markDamaged(l);
  l.problems.push(
    syntaxProblem('syntax/unclosed', say`This parenthesis is not closed; add a ).`, spanOf(open), [
      { title: say`Add the closing ${text}`, span: { start: end, end }, text },
    ]),
  );
  while (l.parens.pop()) l.input.push(missingToken(RightParen, after));
}

/**
 * Closes the blocks that a line's indentation or keyword shows to be over. Where braces match (a missing one and one too many
 * can make up for each other) only a statement that is indented like the one with the properties shows that.
 */
function closeFinishedBlocks(l: Layout, index: number): void {
  const indent = l.lineIndent;
  while (l.blocks.length > 0 && isOver(l, index, indent)) closeByGuess(l);
  const top = l.blocks[l.blocks.length - 1];
  if (top && top.indented === null) top.indented = indent > top.indent;
}

function isOver(l: Layout, index: number, indent: number): boolean {
  const top = l.blocks[l.blocks.length - 1]!;
  const token = l.tokens[index]!;
  if (token.tokenType === RightBrace) {
    return l.guess && indent < top.indent && l.blocks.some((b) => b !== top && b.indent === indent);
  }
  if (!looksLikeStatement(l.tokens, index)) return false;
  if (!l.guess) return propertiesOf(top.keyword).length > 0 && indent <= top.indent;
  if (!isContainer(top.keyword)) return true;
  if (token.image === 'rig' || token.image === 'import') return true;
  return top.indented === true && indent <= top.indent;
}

/** Whether the newline before `tokens[index]` ends something, or only breaks a long line. */
function newlineCounts(l: Layout, index: number): boolean {
  const before = lastInput(l);
  if (!before || before.tokenType === Newline) return false;
  const next = l.tokens[index];
  if (!next) return false;
  if (next.tokenType === LeftBrace && before.tokenType !== RightBrace && before.tokenType !== LeftBrace) return false;
  if (leadsOn(before) && !looksLikeStatement(l.tokens, index)) return false;
  return !joinsOn(next);
}

/** Puts in the `{` that the statement lacks before `tokens[index]`, where a `}` too many shows that it does. */
function openByGuess(l: Layout, index: number): void {
  const after = lastInput(l);
  if (l.surplus >= 0 || !after || l.keyword === '' || !isContainer(currentKeyword(l))) return;
  const next = l.tokens[index];
  if (!next || !belongsInside(l.keyword, next)) return;
  const end = spanOf(after).end;
  l.problems.push(
    syntaxProblem('syntax/expected', say`Expected { after ${after.image}.`, spanOf(after), [
      { title: say`Write {`, span: { start: end, end }, text: ' {' },
    ]),
  );
  l.surplus++;
  openBrace(l, missingToken(LeftBrace, after));
}

/** On one line a name may be any word, so that what follows has to look like a property, too. */
function propertyFollows(l: Layout, index: number): boolean {
  const next = l.tokens[index + 1];
  const before = lastInput(l);
  if (!next || !before || before.tokenType === Newline || isBinary(before)) return false;
  if (before.kind === 'keyword' && !NAMELESS.has(before.image)) return false;
  return next.tokenType !== Newline && (isWord(next) || next.kind === 'number');
}

/** First token of a line, after `newline`. */
function startLine(l: Layout, newline: RigToken, index: number): void {
  const token = l.tokens[index];
  l.lineFirst = token;
  if (token) l.lineIndent = indentOf(l.text, token.startOffset);
  const inside = l.parens.length > 0;
  if (inside && token && (looksLikeStatement(l.tokens, index) || token.tokenType === RightBrace)) closeParens(l);
  if (l.parens.length > 0) return;
  const before = l.blocks.length;
  if (token) closeFinishedBlocks(l, index);
  if (l.blocks.length === before && !newlineCounts(l, index)) return;
  if (l.blocks.length === before) openByGuess(l, index);
  l.input.push(newline);
  if (isContainer(currentKeyword(l))) l.keyword = '';
  l.atStart = true;
  endStatement(l);
}

/** The first word of a statement gets the token type of its keyword; a near match too, with a message. */
function startStatement(l: Layout, index: number): void {
  const token = l.tokens[index]!;
  l.atStart = false;
  l.first = token;
  if (!isWord(token)) return;
  let keyword = STATEMENT_TYPES.has(token.image) ? token.image : null;
  if (keyword === null) {
    keyword = nearStatement(l, index);
    if (keyword === null) return;
    const span = spanOf(token);
    l.problems.push(
      syntaxProblem(
        'syntax/unknown-statement',
        say`${token.image} is not a statement; did you mean ${keyword}?`,
        span,
        [{ title: say`Change to ${keyword}`, span, text: keyword }],
      ),
    );
  }
  if (keyword !== token.image) token.damaged = true;
  l.keyword = keyword;
  token.kind = 'keyword';
  retype(token, STATEMENT_TYPES.get(keyword));
}

/** A near match, where what follows has the form of a statement. */
function nearStatement(l: Layout, index: number): string | null {
  const next = l.tokens[index + 1];
  if (!next || !(isWord(next) || next.tokenType === StringText || next.tokenType === LeftBrace)) return null;
  const { image } = l.tokens[index]!;
  return (
    (isWord(next) ? STATEMENT_SLIPS.get(image.toLowerCase()) : undefined) ?? nearMatch(image, STATEMENT_TYPES.keys())
  );
}

function openBrace(l: Layout, token: RigToken): void {
  closeParens(l);
  if (l.surplus > 0 && lastInput(l)?.tokenType === LeftBrace) {
    l.surplus--;
    l.problems.push(
      syntaxProblem('syntax/expected', say`This { is one too many; remove it.`, spanOf(token), [
        { title: say`Remove this {`, span: spanOf(token), text: '' },
      ]),
    );
    return;
  }
  l.blocks.push({
    brace: token,
    keyword: isContainer(currentKeyword(l)) ? l.keyword : '',
    indent: l.lineIndent,
    indented: null,
  });
  if (l.blocks.length === MAX_BLOCKS + 1) reportDeepBlock(l, token);
  if (l.blocks.length <= MAX_BLOCKS) l.input.push(token);
  afterBlock(l);
}

function reportDeepBlock(l: Layout, token: RigToken): void {
  const message = say`Blocks are nested more than ${MAX_BLOCKS} deep here; what is inside is left out.`;
  l.problems.push(syntaxProblem('syntax/too-deep', message, spanOf(token)));
}

function closeBrace(l: Layout, token: RigToken): void {
  closeParens(l);
  if (l.blocks.length === 0) {
    if (l.guessed > 0) l.guessed--;
    else l.problems.push(unopened(token, '}'));
    return;
  }
  if (l.surplus < 0 && isContainer(currentKeyword(l)) && token !== l.lineFirst) {
    l.surplus++;
    l.problems.push(unopened(token, '}'));
    return;
  }
  l.blocks.pop();
  if (l.blocks.length < MAX_BLOCKS) l.input.push(token);
  afterBlock(l);
}

/** The statement has its message; the parser is to add none. */
function markDamaged(l: Layout): void {
  if (l.first) l.first.damaged = true;
}

function closeParen(l: Layout, token: RigToken): void {
  if (l.parens.length === 0) {
    l.problems.push(unopened(token, ')'));
    markDamaged(l);
  } else {
    l.parens.pop();
    l.input.push(token);
  }
}

function tooDeep(l: Layout, token: RigToken): boolean {
  if (isBinary(token) || token.tokenType === Not) l.operators++;
  if (l.parens.length < MAX_DEPTH && l.operators <= MAX_OPERATORS) return false;
  const what =
    l.operators > MAX_OPERATORS ? say`more than ${MAX_OPERATORS} operators` : say`too many nested parentheses`;
  const advice = say`split it with signals or lets`;
  l.problems.push(syntaxProblem('syntax/too-deep', say`This statement has ${what}; ${advice}.`, spanOf(token)));
  l.dropping = true;
  const after = lastReal(l) ?? token;
  if (after.tokenType === LeftParen || leadsOn(after)) l.input.push(missingToken(Word, after));
  while (l.parens.pop()) l.input.push(missingToken(RightParen, after));
  return true;
}

function takeToken(l: Layout, index: number): void {
  const token = l.tokens[index]!;
  if (token.tokenType === LeftBrace) return openBrace(l, token);
  if (token.tokenType === RightBrace) return closeBrace(l, token);
  if (l.dropping || l.blocks.length > MAX_BLOCKS || tooDeep(l, token)) return;
  if (token.tokenType === RightParen) return closeParen(l, token);
  if (l.atStart && isContainer(currentKeyword(l))) startStatement(l, index);
  else if (l.surplus < 0 && propertyFollows(l, index)) openByGuess(l, index);
  l.atStart = false;
  if (token.tokenType === LeftParen) l.parens.push(token);
  l.input.push(token);
  if (swallowsBrace(token)) openBrace(l, missingToken(LeftBrace, token));
}

/**
 * The parser's input for the tokens of a text. Sets the kind of statement keywords. Linear but for guesses at missing braces,
 * which look at the open blocks of each line.
 */
export function layOut(
  text: string,
  tokens: readonly RigToken[],
  begins: 'statement' | 'expression' = 'statement',
): { input: RigToken[]; problems: SyntaxProblem[] } {
  const real = tokens.filter((t) => t.tokenType !== Comment);
  const surplus = braceSurplus(real);
  const l: Layout = {
    text,
    tokens: real,
    input: [],
    problems: [],
    blocks: [],
    parens: [],
    guess: surplus !== null,
    surplus: surplus ?? 0,
    first: null,
    lineFirst: real[0],
    lineIndent: real[0] ? indentOf(text, real[0].startOffset) : 0,
    guessed: 0,
    keyword: '',
    atStart: begins === 'statement',
    operators: 0,
    dropping: false,
  };
  for (let index = 0; index < real.length; index++) {
    const token = real[index]!;
    if (token.tokenType !== Newline) takeToken(l, index);
    else if (real[index + 1]?.tokenType !== Newline) startLine(l, token, index + 1);
  }
  closeParens(l);
  while (l.blocks.length > 0) closeByGuess(l);
  return { input: l.input, problems: l.problems };
}
