/** Text → lexed, laid out and parsed, with all the stages' results; `api.ts` publishes a part of them. */
import type { Expression, Span, Statement, SyntaxProblem } from './ast';
import { statementDocumentation } from './documentation';
import { layOut } from './layout';
import { lexText } from './lexer';
import { RigParser } from './parser';
import { sortProblems, syntaxProblem } from './reporter';
import { mendSlips } from './slips/slips';
import type { RigToken } from './tokens';
import { say } from './say';

let shared: RigParser | null = null;
/** One parser for all texts: building it costs ten milliseconds, a text of a thousand lines three. */
const sharedParser = (): RigParser => (shared ??= new RigParser(true));

/** What reading a text gives. */
export interface Reading {
  /** All tokens, with the kinds the parser found. */
  readonly tokens: readonly RigToken[];
  /** What the parser saw: no comments, only newlines that count, missing braces put in. */
  readonly input: readonly RigToken[];
  readonly statements: readonly Statement[];
  readonly problems: readonly SyntaxProblem[];
  /** Whether braces and parentheses match and no word was read as another: then no statement depends on what stands before or behind it. */
  readonly orderly: boolean;
}

/** What the lexer reports about tokens that were read over as part of a slip is not a mistake of its own. */
function withoutSlips(problems: readonly SyntaxProblem[], slips: readonly SyntaxProblem[]): readonly SyntaxProblem[] {
  if (problems.length === 0 || slips.length === 0) return problems;
  return problems.filter((p) => !slips.some((s) => s.span.start <= p.span.start && p.span.end <= s.span.end));
}

/** A fault of ours: no text should make a rule fail (the fuzz tests look for this). It is reported rather than hidden. */
function givenUp(parser: RigParser, text: string): SyntaxProblem[] {
  if (parser.errors.length === 0) return [];
  const message = say`This text could not be read to its end; please report it.`;
  return [syntaxProblem('syntax/expected', message, { start: 0, end: text.length })];
}

/** Runs steps to their end. */
export function drained<T>(steps: Generator<undefined, T, void>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** Reads a whole file. */
export const readText = (text: string): Reading => drained(readSteps(text));

/**
 * The same in steps: lexing, laying out, parsing.
 * @param span the lines of the text that are read, all of it where absent
 */
export function* readSteps(
  text: string,
  span: Span = { start: 0, end: text.length },
): Generator<undefined, Reading, void> {
  const { tokens, problems } = lexText(text.slice(span.start, span.end), span.start);
  yield;
  const read = mendSlips(tokens);
  const { input, problems: layoutProblems } = layOut(text, read.tokens);
  yield;
  const parser = sharedParser();
  parser.load(input, (keyword) => statementDocumentation(tokens, keyword.index));
  const statements = parser.file() ?? [];
  const all = [
    ...withoutSlips(problems, read.problems),
    ...read.problems,
    ...layoutProblems.map((problem): SyntaxProblem => ({ ...problem, misread: true })),
    ...parser.takeProblems(),
    ...givenUp(parser, text),
  ];
  const orderly = read.problems.length + layoutProblems.length === 0;
  return { tokens, input, statements, problems: sortProblems(all), orderly };
}

/** Reads a text that is one expression. */
export function readExpression(text: string): { expression: Expression; problems: SyntaxProblem[] } {
  const { tokens, problems } = lexText(text);
  const read = mendSlips(tokens);
  const { input, problems: layoutProblems } = layOut(text, read.tokens, 'expression');
  const parser = sharedParser();
  parser.load(input, () => '');
  const expression = parser.loneExpression() ?? { kind: 'missing', span: { start: 0, end: 0 } };
  return {
    expression,
    problems: sortProblems([
      ...withoutSlips(problems, read.problems),
      ...read.problems,
      ...layoutProblems,
      ...parser.takeProblems(),
    ]),
  };
}
