/**
 * The one entry of the language: text → tree, tokens and mistakes. Pure; never throws; the same text gives the same answer.
 */
import type { Expression, ParseResult, SyntaxProblem, Token } from './ast';
import { statementDocumentation } from './documentation';
import { layOut } from './layout';
import { lexText, spanOf } from './lexer';
import { RigParser } from './parser';
import { sortProblems } from './reporter';
import type { RigToken } from './tokens';

let shared: RigParser | null = null;
/** One parser for all texts: building it costs ten milliseconds, a text one. */
const sharedParser = (): RigParser => (shared ??= new RigParser(true));

const publicToken = (token: RigToken): Token => ({ kind: token.kind, text: token.image, span: spanOf(token) });

/** The tree of a text, its tokens in order and its mistakes (in order, at most 201). */
export function parse(text: string): ParseResult {
  const { tokens, problems } = lexText(text);
  const layout = layOut(text, tokens);
  const parser = sharedParser();
  parser.load(layout.input, (keyword) => statementDocumentation(tokens, keyword.index));
  const statements = parser.file();
  const all = [...problems, ...layout.problems, ...parser.takeProblems()];
  let published: Token[] | null = null;
  return {
    tree: { statements, span: { start: 0, end: text.length } },
    problems: sortProblems(all),
    // Made when first asked for: most callers never do, and it is as much work as lexing.
    get tokens() {
      return (published ??= tokens.map(publicToken));
    },
  };
}

/** A text that is one expression, as in settings or on the command line: `TON(start, 1 s)`, `2 * swept`. */
export function parseExpression(text: string): { expression: Expression; problems: SyntaxProblem[] } {
  const { tokens, problems } = lexText(text);
  const layout = layOut(text, tokens, 'expression');
  const parser = sharedParser();
  parser.load(layout.input, () => '');
  const expression = parser.loneExpression();
  return { expression, problems: sortProblems([...problems, ...layout.problems, ...parser.takeProblems()]) };
}
