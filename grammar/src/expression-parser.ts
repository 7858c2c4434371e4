/**
 * Expressions. Rules never fail: what is missing becomes a `missing` expression or
 * an empty name and is reported once, so that the tree of a half-written text is as complete as the text.
 */
import { EOF, type IOrAlt, type IToken, type TokenType } from 'chevrotain';
import type { CallExpression, Expression, QuantityLiteral, Span } from './ast';
import { plainNumber, spanOf } from './lexer';
import { ANY_OPERATOR, bindingOf, foldOperators, noteGroup, wholeOf } from './operators';
import { hasGap, isBlock } from './slips/commas';
import { TokenParser } from './token-parser';
import {
  Binary,
  Comma,
  LeftBrace,
  LeftParen,
  Minus,
  Newline,
  Not,
  NumberLiteral,
  Off,
  On,
  RightBrace,
  RightParen,
  Unit,
  Word,
  type RigToken,
} from './tokens';
import { EVENT_WORDS } from './vocabulary';
import { say } from './say';

/** What a rule answers while chevrotain records the grammar: looked at by nobody. */
const RECORDED: unknown = null;
const ENDS_LINE: ReadonlySet<TokenType> = new Set([Newline, EOF, RightBrace]);
const NO_SIGNS: RigToken[] = [];
const MOST_UNARY = 20;

/** Adds expressions to the parser; see `parser.ts` for the statements. */
export class ExpressionParser extends TokenParser {
  // As in `TokenParser`: alternatives are built once and read what varies from these fields.
  private role = '';
  private term: RigToken | null = null;
  private signAlternatives: IOrAlt<IToken>[] | null = null;
  private operandAlternatives: IOrAlt<Expression>[] | null = null;
  private termAlternatives: IOrAlt<Expression>[] | null = null;

  /** An expression. `loosest` is the loosest binding it may hold; `role` says what it is, for messages. */
  protected expression = this.RULE('expression', (loosest: number, role: string): Expression => {
    const outer = this.role;
    this.role = role;
    const first = this.SUBRULE(this.operand);
    if (!this.RECORDING_PHASE && bindingOf(this.peek()) < loosest) {
      this.role = outer;
      return first;
    }
    const value = this.SUBRULE(this.chain, { ARGS: [first, loosest] });
    this.role = outer;
    return value;
  });

  /** What follows the first operand; a rule of its own because most expressions have nothing here. */
  private chain = this.RULE('chain', (first: Expression, loosest: number): Expression => {
    const operands: Expression[] = [first];
    const operators: RigToken[] = [];
    this.MANY({
      GATE: () => bindingOf(this.peek()) >= loosest,
      DEF: () => {
        operators.push(this.CONSUME(Binary) as RigToken);
        operands.push(this.SUBRULE(this.operand));
      },
    });
    return this.ACTION(() => foldOperators(operands, operators));
  });

  private operand = this.RULE('operand', (): Expression => {
    const type = this.peek().tokenType;
    const signs = this.RECORDING_PHASE || type === Not || type === Minus ? this.SUBRULE(this.signs) : NO_SIGNS;
    this.operandAlternatives ??= [
      { ALT: () => this.SUBRULE(this.quantity) },
      { ALT: () => this.SUBRULE(this.state) },
      { ALT: () => this.SUBRULE(this.group) },
      { ALT: () => this.SUBRULE(this.wordTerm) },
      { ALT: () => this.ACTION(() => this.missingOperand(this.role)) },
    ];
    const value = this.OR({ DEF: this.operandAlternatives, IGNORE_AMBIGUITIES: true });
    return signs.length === 0 || this.RECORDING_PHASE ? value : this.applySigns(signs, value);
  });

  private signs = this.RULE('signs', (): RigToken[] => {
    const list: RigToken[] = [];
    this.signAlternatives ??= [{ ALT: () => this.CONSUME(Not) }, { ALT: () => this.CONSUME(Minus) }];
    this.MANY(() => list.push(this.OR(this.signAlternatives!) as RigToken));
    return list;
  });

  private applySigns(signs: readonly RigToken[], value: Expression): Expression {
    if (signs.length > MOST_UNARY) {
      this.report(
        'syntax/too-deep',
        say`There are more than ${MOST_UNARY} signs in a row.`,
        spanOf(signs[MOST_UNARY]!),
      );
    }
    return signs.slice(0, MOST_UNARY).reduceRight<Expression>((operand, token) => {
      const operator = token.tokenType === Not ? 'not' : '-';
      return { kind: 'unary', operator, operand, span: { start: token.startOffset, end: wholeOf(operand).end } };
    }, value);
  }

  private missingOperand(role: string): Expression {
    const last = this.LA(0) as RigToken | undefined;
    this.expected(role, last && last.image !== '' && last.tokenType !== Newline ? last.image : undefined);
    return { kind: 'missing', span: this.endSpan() };
  }

  private quantity = this.RULE('quantity', (): QuantityLiteral => {
    const number = this.CONSUME(NumberLiteral) as RigToken;
    const hasUnit = this.RECORDING_PHASE || this.peek().tokenType === Unit;
    const unit = hasUnit ? (this.OPTION(() => this.CONSUME(Unit)) as RigToken | undefined) : undefined;
    if (this.RECORDING_PHASE) return RECORDED as QuantityLiteral;
    return {
      kind: 'quantity',
      number: plainNumber(number.image),
      numberSpan: spanOf(number),
      unit: unit ? this.nameOf(unit) : null,
      span: { start: number.startOffset, end: spanOf(unit ?? number).end },
    };
  });

  private state = this.RULE('state', (): Expression => {
    const token = this.OR([{ ALT: () => this.CONSUME(On) }, { ALT: () => this.CONSUME(Off) }]) as RigToken;
    if (this.RECORDING_PHASE) return RECORDED as Expression;
    return { kind: 'state', on: token.tokenType === On, span: spanOf(token) };
  });

  private group = this.RULE('group', (): Expression => {
    const open = this.CONSUME(LeftParen) as RigToken;
    const inner = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, this.role] });
    this.SUBRULE(this.closing);
    this.ACTION(() => noteGroup(inner, { start: open.startOffset, end: this.lastEnd() }));
    return inner;
  });

  /** What closes a parenthesis; drops what cannot stand there. The layout saw to it that there is one. */
  protected closing = this.RULE('closing', (): void => {
    if (this.peek().tokenType !== RightParen && !this.missingOperator())
      this.expected(say`a comma or )`, this.lastImage());
    this.skipToParen();
    this.OPTION(() => this.CONSUME(RightParen));
  });

  /** Reports `run ready`: two operands with nothing between them. False where that is not what stands here. */
  protected missingOperator(): boolean {
    const before = this.LA(0) as RigToken;
    const token = this.peek();
    if (
      this.RECORDING_PHASE ||
      !hasGap(before, token) ||
      before.tokenType === Unit ||
      token.tokenType === NumberLiteral
    )
      return false;
    if (isBlock(before)) return this.parenthesesMissing(before);
    const span = { start: token.startOffset, end: token.startOffset };
    const message = say`An operator is missing between ${before.image} and ${token.image}: and, or, xor.`;
    const repairs = ['and', 'or'].map((word) => ({ title: say`Write ${word}`, span, text: `${word} ` }));
    this.report('syntax/expected', message, spanOf(token), repairs);
    return true;
  }

  /** `TOF start, 2 s`: reported with the parentheses around what follows on the line. */
  private parenthesesMissing(block: RigToken): boolean {
    if (this.quiet) return true;
    const { image, startOffset } = this.peek();
    let last = block;
    for (let ahead = 1; !ENDS_LINE.has(this.peek(ahead).tokenType); ahead++) last = this.peek(ahead);
    const span = { start: block.startOffset, end: spanOf(last).end };
    const edits = [
      { span: { start: spanOf(block).end, end: startOffset }, text: '(' },
      { span: { start: span.end, end: span.end }, text: ')' },
    ];
    this.report(
      'syntax/expected',
      say`The inputs of ${block.image} stand in parentheses: ${block.image}(${image}, …).`,
      span,
    );
    this.problems.push({ ...this.problems.pop()!, fixes: [{ title: say`Put parentheses around them`, edits }] });
    return true;
  }

  private skipToParen(): void {
    let depth = 0;
    for (;;) {
      const type = this.peek().tokenType;
      if (type === EOF || type === Newline || type === LeftBrace || type === RightBrace) return;
      if (type === RightParen && depth === 0) return;
      if (type === LeftParen) depth++;
      if (type === RightParen) depth--;
      this.skip();
    }
  }

  /** A name alone, a call, or a name with an event (`upper opens`). */
  private wordTerm = this.RULE('wordTerm', (): Expression => {
    this.term = this.CONSUME(Word) as RigToken;
    this.termAlternatives ??= [
      { ALT: () => this.SUBRULE(this.callOf) },
      {
        GATE: () => EVENT_WORDS.includes(this.peek().image),
        ALT: () => {
          const subject = this.term!;
          const event = this.CONSUME2(Word) as RigToken;
          return this.ACTION(() => this.eventOf(subject, event));
        },
      },
      { ALT: () => this.referenceTo(this.term!) },
    ];
    return this.OR({ DEF: this.termAlternatives, IGNORE_AMBIGUITIES: true });
  });

  private eventOf(subject: RigToken, event: RigToken): Expression {
    this.mark(event, 'word');
    const span = { start: subject.startOffset, end: spanOf(event).end };
    return { kind: 'event', subject: this.nameOf(subject), event: this.nameOf(event), span };
  }

  private referenceTo(token: RigToken): Expression {
    const name = this.nameOf(token);
    return { kind: 'reference', name, span: name.span };
  }

  private callOf = this.RULE('callOf', (): CallExpression => {
    const callee = this.term!;
    this.mark(callee, 'function');
    const { args, argsSpan } = this.SUBRULE(this.callArguments, { ARGS: [say`a value or a name`] });
    return this.ACTION(() => ({
      kind: 'call',
      callee: this.nameOf(callee),
      args,
      argsSpan,
      span: { start: callee.startOffset, end: argsSpan.end },
    }));
  });

  /** `( expression, … )`. */
  protected callArguments = this.RULE('callArguments', (role: string): { args: Expression[]; argsSpan: Span } => {
    const open = this.CONSUME(LeftParen) as RigToken;
    const args: Expression[] = [];
    this.OPTION({
      GATE: () => this.peek().tokenType !== RightParen,
      DEF: () => {
        args.push(this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, role] }));
        this.MANY(() => {
          this.CONSUME(Comma);
          args.push(this.SUBRULE2(this.expression, { ARGS: [ANY_OPERATOR, role] }));
        });
      },
    });
    this.SUBRULE(this.closing);
    return this.ACTION(() => ({ args, argsSpan: this.since(open.startOffset) }));
  });

  /** An expression that is the whole text, for `parseExpression`. */
  public loneExpression = this.RULE('loneExpression', (): Expression => {
    const value = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, say`a value or a name`] });
    this.ACTION(() => {
      if (!this.atLineEnd()) this.expected(say`the end of the expression`, this.lastImage());
      while (this.peek().tokenType !== EOF) this.skip();
    });
    return value;
  });
}
