/** Files, rigs, parts and what stands where. */
import type { IOrAlt, TokenType } from 'chevrotain';
import type { Span, Statement, SyntaxProblem } from './ast';
import { looksLikeStatement } from './layout-clues';
import { retype, spanOf } from './lexer';
import { alternatives } from './property-parser';
import { StatementParser } from './statement-parser';
import {
  Comma,
  Equal,
  isWord,
  LeftBrace,
  LeftParen,
  Newline,
  type RigToken,
  STATEMENT_TYPES,
  statementType,
  Stray,
  Word,
} from './tokens';
import { STATEMENTS } from './vocabulary';
import { STATEMENT_HINTS } from './slips/words';
import { say } from './say';

/** Where statements stand. */
type Place = 'file' | 'rig' | 'part';

const PLACES: ReadonlyMap<string, readonly Place[]> = new Map(STATEMENTS.map((s) => [s.keyword, s.where]));
/** Statements whose value is logic. */
const LOGICAL: ReadonlySet<string> = new Set(['signal', 'drive']);
const PLACE_NAMES: Readonly<Record<Place, () => string>> = {
  file: () => say`outside a rig`,
  rig: () => say`in a rig`,
  part: () => say`in a part`,
};

/** The parser. One instance serves all texts, one after the other. */
export class RigParser extends StatementParser {
  private outsideReported = false;

  constructor(skipValidations: boolean) {
    super(skipValidations);
    this.performSelfAnalysis();
  }

  /** Loads a text's tokens; `documentationOf` gives the comments that belong to a statement's keyword. */
  load(input: RigToken[], documentationOf: (token: RigToken) => string): void {
    this.input = input;
    this.problems = [];
    this.quiet = false;
    this.outsideReported = false;
    this.documentationOf = documentationOf;
  }

  /** What has been reported since `load`. */
  takeProblems(): SyntaxProblem[] {
    return this.problems;
  }

  // ------------------------------------------------------------- statements

  public file = this.RULE('file', (): Statement[] => {
    const list: Statement[] = [];
    const items: IOrAlt<unknown>[] = [
      { ALT: () => this.CONSUME(Newline) },
      { ALT: () => list.push(this.SUBRULE(this.statement, { ARGS: ['file'] })) },
    ];
    this.MANY(() => this.OR(items));
    return list;
  });

  private block = this.RULE('block', (place: Place): { body: Statement[]; bodySpan: Span } => {
    const body: Statement[] = [];
    let open: RigToken | undefined;
    let ownHead = false;
    this.ACTION(() => {
      if (this.peek().tokenType !== LeftBrace) this.expected('{', this.lastImage());
      this.skipTo(LeftBrace);
      ownHead = this.reported;
    });
    this.OPTION(() => {
      open = this.CONSUME(LeftBrace) as RigToken;
      const items: IOrAlt<unknown>[] = [
        { ALT: () => this.CONSUME(Newline) },
        { ALT: () => body.push(this.SUBRULE(this.statement, { ARGS: [place] })) },
      ];
      this.MANY(() => this.OR(items));
      this.SUBRULE(this.closingBrace);
      this.reported = ownHead;
    });
    return this.ACTION(() => ({ body, bodySpan: open ? this.since(open.startOffset) : this.endSpan() }));
  });

  // Built once, as in `ExpressionParser`.
  private statementAlternatives: IOrAlt<Statement>[] | null = null;

  private statement = this.RULE('statement', (place: Place): Statement => {
    this.statementAlternatives ??= [
      { ALT: () => this.SUBRULE(this.importStatement) },
      { ALT: () => this.SUBRULE(this.rigStatement) },
      { ALT: () => this.SUBRULE(this.partStatement) },
      { ALT: () => this.SUBRULE(this.placeStatement) },
      { ALT: () => this.SUBRULE(this.letStatement) },
      { ALT: () => this.SUBRULE(this.mediumStatement) },
      { ALT: () => this.SUBRULE(this.chamberStatement) },
      { ALT: () => this.SUBRULE(this.doorStatement) },
      { ALT: () => this.SUBRULE(this.stackStatement) },
      { ALT: () => this.SUBRULE(this.feedStatement) },
      { ALT: () => this.SUBRULE(this.drawStatement) },
      { ALT: () => this.SUBRULE(this.supplyStatement) },
      { ALT: () => this.SUBRULE(this.atmosphereStatement) },
      { ALT: () => this.SUBRULE(this.controllerStatement) },
      { ALT: () => this.SUBRULE(this.switchStatement) },
      { ALT: () => this.SUBRULE(this.sensorStatement) },
      { ALT: () => this.SUBRULE(this.signalStatement) },
      { ALT: () => this.SUBRULE(this.driveStatement) },
      { ALT: () => this.SUBRULE(this.sequenceStatement) },
      { ALT: () => this.SUBRULE(this.requireStatement) },
      { ALT: () => this.SUBRULE(this.preferStatement) },
      { ALT: () => this.SUBRULE(this.scenarioStatement) },
      { ALT: () => this.SUBRULE(this.noStatement) },
    ];
    this.reported = false;
    const result = this.OR(this.statementAlternatives);
    if (this.RECORDING_PHASE) return result;
    const inside = this.reported;
    this.checkPlace(result, place);
    this.reported = inside;
    this.endStatement(result.kind);
    return this.reported ? { ...result, damaged: true } : result;
  });

  private checkPlace(statement: Statement, place: Place): void {
    const places = PLACES.get(statement.kind);
    if (!places || places.includes(place)) return;
    if (place === 'file' && this.outsideReported) return;
    if (place === 'file') this.outsideReported = true;
    const message = say`${statement.kind} may only stand ${alternatives(places.map((p) => PLACE_NAMES[p]()))}, not ${PLACE_NAMES[place]()}.`;
    this.report('syntax/misplaced-statement', message, statement.keywordSpan);
  }

  /** The rest of the line belongs to nothing; a statement there goes on as one. */
  private endStatement(kind: Statement['kind']): void {
    this.dropPutIn();
    if (!this.atLineEnd()) {
      const token = this.peek();
      if (looksLikeStatement([token, this.peek(2)], 0)) {
        this.report('syntax/expected', say`Begin a new line before ${token.image}.`, spanOf(token), [
          { title: say`Begin a new line`, span: { start: this.lastEnd(), end: token.startOffset }, text: '\n' },
        ]);
        this.mark(token, 'keyword');
        retype(token, STATEMENT_TYPES.get(token.image));
      } else if (!STATEMENT_TYPES.has(token.tokenType.name.replace('Statement_', ''))) {
        if (!LOGICAL.has(kind) || !(this.missingOperator() || this.commaForOperator()))
          this.expected(say`the end of the line`, this.lastImage());
        this.skipLine();
      }
    }
    this.quiet = false;
  }

  /** `run, ready` in an expression. */
  private commaForOperator(): boolean {
    const token = this.peek();
    if (token.tokenType !== Comma || !isWord(this.peek(2))) return false;
    const message = say`Expected and or or between ${this.lastImage() ?? ''} and ${this.peek(2).image}, not a comma.`;
    const repairs = ['and', 'or'].map((w) => ({ title: say`Write ${w}`, span: spanOf(token), text: ` ${w}` }));
    this.report('syntax/expected', message, spanOf(token), repairs);
    return true;
  }

  private skipTo(wanted: TokenType): void {
    this.dropPutIn();
    while (!this.atLineEnd() && this.peek().tokenType !== wanted) {
      this.skip();
      this.dropPutIn();
    }
  }

  private noStatement = this.RULE('noStatement', (): Statement => {
    const token = this.OR([{ ALT: () => this.CONSUME(Word) }, { ALT: () => this.CONSUME(Stray) }]);
    const head = this.begin(token);
    return this.ACTION(() => {
      this.reportNoStatement(head.token);
      if (head.token.tokenType === LeftBrace) this.skipBlock();
      this.skipLine();
      return { kind: 'error', ...this.base(head) };
    });
  });

  private reportNoStatement(token: RigToken): void {
    if (token.index === -1) return;
    const span = spanOf(token);
    const start = { start: span.start, end: span.start };
    if (isWord(token) && this.peek().tokenType === Equal) {
      const message = say`Expected a statement; for a constant write let ${token.image} =, for a signal signal ${token.image} =.`;
      const repairs = ['let', 'signal'].map((word) => ({ title: say`Write ${word}`, span: start, text: `${word} ` }));
      return this.report('syntax/unknown-statement', message, span, repairs);
    }
    if (isWord(token) && this.peek().tokenType === LeftParen) {
      const message = say`Expected a statement; for a requirement write require ${token.image}(…).`;
      return this.report('syntax/unknown-statement', message, span, [
        { title: say`Write require`, span: start, text: 'require ' },
      ]);
    }
    if (STATEMENT_TYPES.has(token.image))
      return this.report('syntax/expected', say`Expected a name after ${token.image}.`, span);
    if (token.kind === 'unknown') return this.strayCharacter(token);
    const hint =
      STATEMENT_HINTS.get(token.image.toLowerCase())?.() ??
      say`a line begins with a word such as chamber, door or signal`;
    this.report('syntax/unknown-statement', say`${token.image} begins no statement; ${hint}.`, span);
  }

  // ------------------------------------------------------- one rule for each

  private rigStatement = this.RULE('rigStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('rig')));
    this.ACTION(() => this.checkRigName());
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the rig`] });
    const title = this.SUBRULE(this.text);
    const { body, bodySpan } = this.SUBRULE(this.block, { ARGS: ['rig'] });
    return this.ACTION(() => ({ kind: 'rig', name, title, body, bodySpan, ...this.base(head) }));
  });

  /** `rig "Wash press" {`: a title alone. */
  private checkRigName(): void {
    const token = this.peek();
    if (token.kind !== 'string') return;
    const name = token.image
      .replace(/^\W+|\W+$/g, '')
      .replace(/\W+/g, '_')
      .toLowerCase();
    const span = { start: token.startOffset, end: token.startOffset };
    const repairs = /^[a-z_]/.test(name) ? [{ title: say`Write rig ${name}`, span, text: `${name} ` }] : [];
    this.report('syntax/expected', say`Expected a name for the rig before ${token.image}.`, spanOf(token), repairs);
  }

  private partStatement = this.RULE('partStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('part')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the part`] });
    const parameters = this.SUBRULE(this.parameters);
    const { body, bodySpan } = this.SUBRULE(this.block, { ARGS: ['part'] });
    return this.ACTION(() => ({ kind: 'part', name, parameters, body, bodySpan, ...this.base(head) }));
  });
}
