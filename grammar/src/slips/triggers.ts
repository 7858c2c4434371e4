/** `sequence beat on ready and run {`: a condition where a sequence takes one name. */
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem } from '../reporter';
import { isWord, LeftBrace, Newline, RightBrace, type RigToken } from '../tokens';
import { say } from '../say';

/** Reads the condition as its first name, and offers a signal for it. */
export function triggerConditions(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  const dropped = new Set<RigToken>();
  tokens.forEach((token, i) => {
    const [name, on] = [tokens[i + 1], tokens[i + 2]];
    if (token.image !== 'sequence' || !name || !isWord(name) || on?.image !== 'on') return;
    const end = tokens.findIndex((t, k) => k > i + 2 && [LeftBrace, RightBrace, Newline].includes(t.tokenType));
    if (end < i + 5 || tokens[end]!.tokenType !== LeftBrace) return;
    const condition = tokens.slice(i + 3, end);
    const kept = condition.find((t) => isWord(t));
    if (!kept) return;
    for (const t of condition) if (t !== kept) dropped.add(t);
    token.misread = true;
    const span = { start: condition[0]!.startOffset, end: spanOf(condition[condition.length - 1]!).end };
    const signal = `${name.image}_on`;
    const text = condition.map(({ image }) => image).join(' ');
    const statement = `signal ${signal} = ${text.replace(/\( | \)/g, (b) => b.trim())}`;
    const message = say`A sequence is started by one name: write ${statement} before it, and on ${signal}.`;
    const problem = syntaxProblem('syntax/expected', message, span);
    const before = { start: token.startOffset, end: token.startOffset };
    const edits = [
      { span: before, text: `${statement}\n  ` },
      { span, text: signal },
    ];
    problems.push({ ...problem, fixes: [{ title: say`Give the condition a name`, edits }] });
  });
  return dropped.size === 0 ? tokens : tokens.filter((token) => !dropped.has(token));
}
