/** What statements assign: `= expression`. */
import type { TokenType } from 'chevrotain';
import type { Expression } from './ast';
import { ExpressionParser } from './expression-parser';
import { ANY_OPERATOR } from './operators';
import { spanOf } from './lexer';
import { Equal, isWord, LeftBrace, LeftParen, Not, NumberLiteral, Off, On, RightBrace, type RigToken } from './tokens';
import { say } from './say';

const STARTS_VALUE: ReadonlySet<TokenType> = new Set([NumberLiteral, On, Off, Not, LeftParen]);
const isState = ({ tokenType }: RigToken): boolean => tokenType === On || tokenType === Off;

/** Adds assigned expressions to the parser. */
export class AssignedParser extends ExpressionParser {
  /** `= expression` of a statement; `role` says what is expected. */
  protected assigned = this.RULE('assigned', (role: string): Expression => {
    if (this.peek().tokenType !== Equal) this.ACTION(() => this.equalMissing());
    this.OPTION(() => this.CONSUME(Equal));
    return this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, role] });
  });

  private equalMissing(): void {
    const token = this.peek();
    if (token.tokenType === LeftBrace && isState(this.peek(2)) && this.peek(3).tokenType === RightBrace)
      return this.bracedState();
    if (this.atLineEnd() || !(isWord(token) || STARTS_VALUE.has(token.tokenType)))
      return this.expected('=', this.lastImage());
    const span = { start: token.startOffset, end: token.startOffset };
    const message = say`Expected = after ${this.lastImage() ?? ''}, not ${token.image}.`;
    this.report('syntax/expected', message, spanOf(token), [{ title: say`Write =`, span, text: '= ' }]);
  }

  /** `switch run { on }`: reported and passed over. */
  private bracedState(): void {
    const [open, state, close] = [this.peek(), this.peek(2), this.peek(3)];
    const span = { start: open.startOffset, end: spanOf(close).end };
    const text = `= ${state.image}`;
    const message = say`Expected = after ${this.lastImage() ?? ''}, not {: write ${text}.`;
    this.report('syntax/expected', message, span, [{ title: say`Write ${text}`, span, text }]);
    for (let i = 0; i < 3; i++) this.skip();
  }
}
