/** Texts in quotes of another form: “…”, „…“, «…», ‘…’, '…'. */
import type { SyntaxProblem } from '../ast';
import { hasForeignQuotes, spanOf, textWithin } from '../lexer';
import { syntaxProblem } from '../reporter';
import { StringText, type RigToken } from '../tokens';
import { say } from '../say';

export function textSlips(tokens: readonly RigToken[], problems: SyntaxProblem[]): void {
  for (const token of tokens) {
    if (token.tokenType !== StringText || !hasForeignQuotes(token.image)) continue;
    const text = `"${textWithin(token.image).replace(/["\\]/g, '\\$&')}"`;
    const span = spanOf(token);
    const message = say`A text is written in straight double quotes: ${text}.`;
    problems.push(syntaxProblem('syntax/string', message, span, [{ title: say`Write ${text}`, span, text }]));
  }
}
