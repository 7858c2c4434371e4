/** What the rules of the parser share: tokens looked at and passed over, messages (one a statement), names. */
import { EmbeddedActionsParser, EOF, type IOrAlt } from 'chevrotain';
import type { Name, Span, SyntaxProblem, TokenKind } from './ast';
import { spanOf } from './lexer';
import { syntaxProblem, type Repair } from './reporter';
import type { SyntaxCodeName } from './syntax-codes';
import {
  ALL_TYPES,
  LeftBrace,
  Newline,
  Reserved,
  RightBrace,
  RightParen,
  Unknown,
  Word,
  type RigToken,
} from './tokens';
import { say } from './say';

/** Names that are normalised already. */
const PLAIN = /^[\w.]*$/;

export class TokenParser extends EmbeddedActionsParser {
  protected problems: SyntaxProblem[] = [];
  /** Set once a statement, property or step has its one message. */
  protected quiet = false;
  /** Whether a mistake was reported since this was last set to false. */
  protected reported = false;

  constructor(skipValidations: boolean) {
    super([...ALL_TYPES], {
      maxLookahead: 1,
      nodeLocationTracking: 'none',
      recoveryEnabled: false,
      skipValidations,
    });
  }

  /** The token `ahead` places on, 1 is the next; an end-of-input token beyond the end. */
  protected peek(ahead = 1): RigToken {
    return this.LA(ahead) as RigToken;
  }

  /** Whether the next token is of no use to the present line. */
  protected atLineEnd(): boolean {
    const type = this.peek().tokenType;
    return type === Newline || type === EOF || type === RightBrace || this.peek().image === '';
  }

  /** Passes over one token and gives it. */
  protected skip(): RigToken {
    const token = this.peek();
    this.SKIP_TOKEN();
    return token;
  }

  private isPutIn(token: RigToken): boolean {
    return token.index === -1 && (token.tokenType === RightParen || token.tokenType === Word);
  }

  /** Passes over what the layout put in and no rule had use for. */
  protected dropPutIn(): void {
    while (this.isPutIn(this.peek())) this.skip();
  }

  /** End of the last token taken; 0 before any. */
  protected lastEnd(): number {
    const last = this.LA(0) as RigToken | undefined;
    return last ? spanOf(last).end : 0;
  }

  protected endSpan(): Span {
    return { start: this.lastEnd(), end: this.lastEnd() };
  }

  protected since(start: number): Span {
    return { start, end: Math.max(start, this.lastEnd()) };
  }

  /** Where a message about the next token belongs: on it, or on the last token where the line ends. */
  protected here(): Span {
    if (!this.atLineEnd()) return spanOf(this.peek());
    const last = this.LA(0) as RigToken | undefined;
    return last ? spanOf(last) : this.endSpan();
  }

  protected mark(token: RigToken, kind: TokenKind): void {
    if (!this.RECORDING_PHASE) token.kind = kind;
  }

  /** Reports unless this statement, property or step has its message already. */
  protected report(code: SyntaxCodeName, message: string, span: Span, repairs: readonly Repair[] = []): void {
    if (this.RECORDING_PHASE || this.quiet) return;
    this.quiet = true;
    this.reported = true;
    this.problems.push({ ...syntaxProblem(code, message, span, repairs), misread: true });
  }

  /** As `report`, for what is written otherwise than it should be and understood all the same. */
  protected reportUnderstood(code: SyntaxCodeName, message: string, span: Span, repairs: readonly Repair[]): void {
    if (this.RECORDING_PHASE || this.quiet) return;
    this.quiet = true;
    this.problems.push(syntaxProblem(code, message, span, repairs));
  }

  /** `Expected …` at the next token, with what was found instead. */
  protected expected(what: string, after?: string): void {
    const token = this.peek();
    if (token.tokenType === Unknown) return this.strayCharacter(token);
    const where = after ? say` after ${after}` : '';
    const found = this.atLineEnd() ? '' : say`, not ${token.image}`;
    this.report('syntax/expected', say`Expected ${what}${where}${found}.`, this.here());
  }

  protected strayCharacter(token: RigToken): void {
    const span = spanOf(token);
    const repair = { title: say`Remove ${token.image}`, span, text: '' };
    this.report('syntax/character', say`The character ${token.image} has no meaning here.`, span, [repair]);
  }

  protected nameOf(token: RigToken): Name {
    return { text: PLAIN.test(token.image) ? token.image : token.image.normalize('NFC'), span: spanOf(token) };
  }

  protected noName(): Name {
    return { text: '', span: this.endSpan() };
  }

  /** Drops tokens up to the end of the line, whole blocks included. */
  protected skipLine(): void {
    let depth = 0;
    for (;;) {
      const type = this.peek().tokenType;
      if (type === EOF || (depth === 0 && (type === Newline || type === RightBrace))) return;
      if (type === LeftBrace) depth++;
      if (type === RightBrace) depth--;
      this.skip();
    }
  }

  protected lastImage(): string | undefined {
    return (this.LA(0) as RigToken | undefined)?.image || undefined;
  }

  // Alternatives are built once and read what varies from these fields: building them anew for each token was half the time.
  private nameRole = '';
  private nameNext: string | undefined;
  private nameAlternatives: IOrAlt<Name>[] | null = null;

  /** A name; `role` says what of, for the message; `next` is the word that should follow, which is then no name. */
  protected name = this.RULE('name', (role: string, next?: string): Name => {
    this.nameRole = role;
    this.nameNext = next;
    this.nameAlternatives ??= [
      { GATE: () => !this.nameLeftOut(this.nameNext), ALT: () => this.nameOf(this.CONSUME(Word) as RigToken) },
      {
        GATE: () => this.peek().image !== this.nameNext,
        ALT: () => {
          const token = this.CONSUME(Reserved) as RigToken;
          return this.ACTION(() => this.reservedName(token));
        },
      },
      { ALT: () => this.ACTION(() => this.nameMissing(this.nameRole)) },
    ];
    return this.OR({ DEF: this.nameAlternatives, IGNORE_AMBIGUITIES: true });
  });

  private nameLeftOut(next: string | undefined): boolean {
    return next !== undefined && this.peek().image === next && this.peek(2).image !== next;
  }

  private reservedName(token: RigToken): Name {
    this.report('syntax/name', say`${token.image} is a word of the language and cannot be a name.`, spanOf(token));
    return { text: '', span: spanOf(token) };
  }

  private nameMissing(role: string): Name {
    this.expected(role);
    return this.noName();
  }
}
