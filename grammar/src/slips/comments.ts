/** Comments as other languages write them: they are read as comments and reported. */
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem, type Repair } from '../reporter';
import { Comment, Newline, type RigToken } from '../tokens';
import { say } from '../say';

export function commentSlips(tokens: readonly RigToken[], problems: SyntaxProblem[]): void {
  tokens.forEach((token, i) => {
    if (token.tokenType !== Comment || token.image.startsWith('#')) return;
    const { start } = spanOf(token);
    const sign = token.image.slice(0, 2);
    const span = { start, end: start + sign.length };
    const next = tokens[i + 1];
    const codeFollows = next !== undefined && next.tokenType !== Newline;
    const message = say`A comment begins with #, not ${sign}.`;
    problems.push(syntaxProblem('syntax/character', message, span, [repairOf(token, sign, codeFollows)]));
  });
}

function repairOf(token: RigToken, sign: string, codeFollows: boolean): Repair {
  const title = say`Begin the comment with #`;
  const { start } = spanOf(token);
  if (sign !== '/*') return { title, span: { start, end: start + sign.length }, text: '#' };
  const inner = token.image.slice(2).replace(/\*\/$/, '');
  const lines = inner.split(/\r\n|\r|\n/).map((line) => `# ${line.trim().replace(/^\*\s?/, '')}`.trimEnd());
  const kept = lines.filter((line, i) => line !== '#' || (i > 0 && i < lines.length - 1));
  return { title, span: spanOf(token), text: kept.join('\n') + (codeFollows ? '\n' : '') };
}
