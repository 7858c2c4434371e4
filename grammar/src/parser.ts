/** Statements. One rule each; what is missing is reported once and the statement kept. */
import type { IOrAlt, TokenType } from 'chevrotain';
import type { Comparison, Expression, Name, SequenceStep, Span, Statement, StringLiteral, SyntaxProblem } from './ast';
import { ANY_OPERATOR, ARITHMETIC } from './expression-parser';
import { plainOperator, retype, spanOf } from './lexer';
import { looksLikeStatement } from './layout';
import { StepParser } from './step-parser';
import {
  Binary,
  Comma,
  During,
  Equal,
  From,
  Greater,
  In,
  Into,
  isWord,
  LeftBrace,
  LeftParen,
  Newline,
  On,
  Responds,
  RightBrace,
  RightParen,
  STATEMENT_TYPES,
  statementType,
  Stray,
  StringText,
  Word,
  type RigToken,
} from './tokens';
import { PHASE_WORDS, STATEMENTS } from './vocabulary';
import { alternatives } from './property-parser';

/** Where statements stand. */
type Place = 'file' | 'rig' | 'part';

const PLACES: ReadonlyMap<string, readonly Place[]> = new Map(STATEMENTS.map((s) => [s.keyword, s.where]));
const COMPARISONS: ReadonlySet<string> = new Set(['<', '<=', '>', '>=', '=', '<>']);
const PLACE_NAMES: Readonly<Record<Place, string>> = { file: 'outside a rig', rig: 'in a rig', part: 'in a part' };

/** What a statement has before its own parts are read. */
interface Head {
  readonly token: RigToken;
  readonly keywordSpan: Span;
  readonly documentation: string;
}

/** The parser. One instance serves all texts, one after the other. */
export class RigParser extends StepParser {
  private documentationOf: (token: RigToken) => string = () => '';
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
    this.ACTION(() => {
      if (this.peek().tokenType !== LeftBrace) this.expected('{', this.lastImage());
      this.skipTo(LeftBrace);
    });
    this.OPTION(() => {
      open = this.CONSUME(LeftBrace) as RigToken;
      const items: IOrAlt<unknown>[] = [
        { ALT: () => this.CONSUME(Newline) },
        { ALT: () => body.push(this.SUBRULE(this.statement, { ARGS: [place] })) },
      ];
      this.MANY(() => this.OR(items));
      this.SUBRULE(this.closingBrace);
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
      { ALT: () => this.SUBRULE(this.controllerStatement) },
      { ALT: () => this.SUBRULE(this.switchStatement) },
      { ALT: () => this.SUBRULE(this.sensorStatement) },
      { ALT: () => this.SUBRULE(this.signalStatement) },
      { ALT: () => this.SUBRULE(this.driveStatement) },
      { ALT: () => this.SUBRULE(this.sequenceStatement) },
      { ALT: () => this.SUBRULE(this.requireStatement) },
      { ALT: () => this.SUBRULE(this.scenarioStatement) },
      { ALT: () => this.SUBRULE(this.noStatement) },
    ];
    const result = this.OR(this.statementAlternatives);
    if (this.RECORDING_PHASE) return result;
    this.checkPlace(result, place);
    this.endStatement();
    return result;
  });

  private checkPlace(statement: Statement, place: Place): void {
    const places = PLACES.get(statement.kind);
    if (!places || places.includes(place)) return;
    if (place === 'file' && this.outsideReported) return;
    if (place === 'file') this.outsideReported = true;
    const message = `${statement.kind} may only stand ${alternatives(places.map((p) => PLACE_NAMES[p]))}, not ${PLACE_NAMES[place]}.`;
    this.report('syntax/misplaced-statement', message, statement.keywordSpan);
  }

  /** The rest of the line belongs to nothing; a statement there goes on as one. */
  private endStatement(): void {
    if (!this.atLineEnd()) {
      const token = this.peek();
      if (looksLikeStatement([token, this.peek(2)], 0)) {
        this.report('syntax/expected', `Begin a new line before ${token.image}.`, spanOf(token), [
          { title: 'Begin a new line', span: { start: this.lastEnd(), end: token.startOffset }, text: '\n' },
        ]);
        this.mark(token, 'keyword');
        retype(token, STATEMENT_TYPES.get(token.image));
      } else if (!STATEMENT_TYPES.has(token.tokenType.name.replace('Statement_', ''))) {
        this.expected('the end of the line', this.lastImage());
        this.skipLine();
      }
    }
    this.quiet = false;
  }

  private skipTo(wanted: TokenType): void {
    while (!this.atLineEnd() && this.peek().tokenType !== wanted) this.SKIP_TOKEN();
  }

  private head(token: RigToken): Head {
    this.quiet = false;
    return { token, keywordSpan: spanOf(token), documentation: this.documentationOf(token) };
  }

  /** The statement's base, once all of it has been read. */
  private base(head: Head): { span: Span; keywordSpan: Span; documentation: string } {
    const { token, keywordSpan, documentation } = head;
    return { span: this.since(token.startOffset), keywordSpan, documentation };
  }

  private begin(token: unknown): Head {
    return this.ACTION(() => this.head(token as RigToken));
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
    const span = spanOf(token);
    const start = { start: span.start, end: span.start };
    if (isWord(token) && this.peek().tokenType === Equal) {
      const message = `Expected a statement; for a constant write let ${token.image} =, for a signal signal ${token.image} =.`;
      const repairs = ['let', 'signal'].map((word) => ({ title: `Write ${word}`, span: start, text: `${word} ` }));
      return this.report('syntax/unknown-statement', message, span, repairs);
    }
    if (STATEMENT_TYPES.has(token.image))
      return this.report('syntax/expected', `Expected a name after ${token.image}.`, span);
    if (token.kind === 'unknown') return this.strayCharacter(token);
    this.report(
      'syntax/unknown-statement',
      `${token.image} begins no statement; a line begins with a word such as chamber, door or signal.`,
      span,
    );
  }

  // ------------------------------------------------------- one rule for each

  private text = this.RULE('text', (): StringLiteral | null => {
    const token = this.OPTION(() => this.CONSUME(StringText)) as RigToken | undefined;
    return this.ACTION(() => (token ? { value: stringValue(token.image), span: spanOf(token) } : null));
  });

  private importStatement = this.RULE('importStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('import')));
    const path = this.SUBRULE(this.text);
    return this.ACTION(() => {
      if (!path) this.expected('a file name in quotes, such as "parts.rig",', 'import');
      return { kind: 'import', path, ...this.base(head) };
    });
  });

  private rigStatement = this.RULE('rigStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('rig')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the rig'] });
    const title = this.SUBRULE(this.text);
    const { body, bodySpan } = this.SUBRULE(this.block, { ARGS: ['rig'] });
    return this.ACTION(() => ({ kind: 'rig', name, title, body, bodySpan, ...this.base(head) }));
  });

  private partStatement = this.RULE('partStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('part')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the part'] });
    const parameters = this.SUBRULE(this.parameters);
    const { body, bodySpan } = this.SUBRULE(this.block, { ARGS: ['part'] });
    return this.ACTION(() => ({ kind: 'part', name, parameters, body, bodySpan, ...this.base(head) }));
  });

  private parameters = this.RULE('parameters', (): Name[] => {
    const list: Name[] = [];
    this.OPTION(() => {
      this.CONSUME(LeftParen);
      this.OPTION2({
        GATE: () => this.peek().tokenType !== RightParen,
        DEF: () => {
          list.push(this.SUBRULE(this.name, { ARGS: ['the name of a parameter'] }));
          this.MANY(() => {
            this.CONSUME(Comma);
            list.push(this.SUBRULE2(this.name, { ARGS: ['the name of a parameter'] }));
          });
        },
      });
      this.SUBRULE(this.closing);
    });
    return list;
  });

  private placeStatement = this.RULE('placeStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('place')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for what is placed'] });
    const equal = this.OPTION(() => this.CONSUME(Equal));
    this.ACTION(() => !equal && this.expected('=', this.lastImage()));
    const part = this.SUBRULE2(this.name, { ARGS: ['the name of a part'] });
    let args: Expression[] = [];
    this.OPTION2(() => {
      args = this.SUBRULE(this.callArguments, { ARGS: ['a value or a name'] }).args;
    });
    return this.ACTION(() => ({ kind: 'place', name, part, args, ...this.base(head) }));
  });

  private letStatement = this.RULE('letStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('let')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the constant'] });
    const value = this.SUBRULE(this.assigned, { ARGS: ['a value'] });
    return this.ACTION(() => ({ kind: 'let', name, value, ...this.base(head) }));
  });

  private mediumStatement = this.RULE('mediumStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('medium')));
    const name = this.SUBRULE(this.name, { ARGS: ['the name of a medium'] });
    const phase = this.OPTION(() => this.CONSUME(Word)) as RigToken | undefined;
    this.ACTION(() => this.checkPhase(phase));
    const properties = this.SUBRULE(this.properties, { ARGS: ['medium'] });
    return this.ACTION(() => ({
      kind: 'medium',
      name,
      phase: phase ? this.nameOf(phase) : null,
      properties,
      ...this.base(head),
    }));
  });

  private checkPhase(token: RigToken | undefined): void {
    if (!token) return;
    this.mark(token, 'word');
    if (PHASE_WORDS.includes(token.image)) return;
    this.report('syntax/expected', `A medium is ${alternatives(PHASE_WORDS)}, not ${token.image}.`, spanOf(token));
  }

  private chamberStatement = this.RULE('chamberStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('chamber')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the chamber'] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['chamber'] });
    return this.ACTION(() => ({ kind: 'chamber', name, properties, ...this.base(head) }));
  });

  private doorStatement = this.RULE('doorStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('door')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the door'] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['door'] });
    return this.ACTION(() => ({ kind: 'door', name, properties, ...this.base(head) }));
  });

  private stackStatement = this.RULE('stackStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('stack')));
    const members = [this.SUBRULE(this.name, { ARGS: ['the name of a chamber'] })];
    this.MANY(() => {
      this.CONSUME(Greater);
      members.push(this.SUBRULE2(this.name, { ARGS: ['the name of a door or chamber'] }));
    });
    const properties = this.SUBRULE(this.properties, { ARGS: ['stack'] });
    return this.ACTION(() => ({ kind: 'stack', members, properties, ...this.base(head) }));
  });

  private feedStatement = this.RULE('feedStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('feed')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the feed', 'into'] });
    const link = this.OPTION(() => this.CONSUME(Into)) as RigToken | undefined;
    this.ACTION(() => this.checkLink(link, 'into'));
    const chamber = this.SUBRULE2(this.name, { ARGS: ['the name of a chamber'] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['feed'] });
    return this.ACTION(() => ({ kind: 'feed', name, chamber, properties, ...this.base(head) }));
  });

  private drawStatement = this.RULE('drawStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('draw')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the draw', 'from'] });
    const link = this.OPTION(() => this.CONSUME(From)) as RigToken | undefined;
    this.ACTION(() => this.checkLink(link, 'from'));
    const chamber = this.SUBRULE2(this.name, { ARGS: ['the name of a chamber'] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['draw'] });
    return this.ACTION(() => ({ kind: 'draw', name, chamber, properties, ...this.base(head) }));
  });

  private checkLink(link: RigToken | undefined, word: string): void {
    if (link) return this.mark(link, 'word');
    this.expected(`${word} and the name of a chamber`, this.lastImage());
  }

  private supplyStatement = this.RULE('supplyStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('supply')));
    const properties = this.SUBRULE(this.properties, { ARGS: ['supply'] });
    return this.ACTION(() => ({ kind: 'supply', properties, ...this.base(head) }));
  });

  private controllerStatement = this.RULE('controllerStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('controller')));
    const properties = this.SUBRULE(this.properties, { ARGS: ['controller'] });
    return this.ACTION(() => ({ kind: 'controller', properties, ...this.base(head) }));
  });

  private switchStatement = this.RULE('switchStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('switch')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the switch'] });
    const initial = this.SUBRULE(this.assigned, { ARGS: ['on or off'] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['switch'] });
    return this.ACTION(() => ({ kind: 'switch', name, initial, properties, ...this.base(head) }));
  });

  private sensorStatement = this.RULE('sensorStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('sensor')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the sensor', 'on'] });
    const link = this.OPTION(() => this.CONSUME(On)) as RigToken | undefined;
    this.ACTION(() => this.checkLink(link, 'on'));
    const chamber = this.SUBRULE2(this.name, { ARGS: ['the name of a chamber'] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['sensor'] });
    return this.ACTION(() => ({ kind: 'sensor', name, chamber, properties, ...this.base(head) }));
  });

  private signalStatement = this.RULE('signalStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('signal')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the signal'] });
    const value = this.SUBRULE(this.assigned, { ARGS: ['a signal'] });
    let responds: Expression | null = null;
    this.OPTION(() => {
      const word = this.CONSUME(Responds) as RigToken;
      this.ACTION(() => this.mark(word, 'word'));
      responds = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a time'] });
    });
    return this.ACTION(() => ({ kind: 'signal', name, value, responds, ...this.base(head) }));
  });

  private driveStatement = this.RULE('driveStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('drive')));
    const target = this.SUBRULE(this.name, { ARGS: ['the name of a door, feed or draw'] });
    const value = this.SUBRULE(this.assigned, { ARGS: ['a signal'] });
    return this.ACTION(() => ({ kind: 'drive', target, value, ...this.base(head) }));
  });

  private sequenceStatement = this.RULE('sequenceStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('sequence')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the sequence', 'on'] });
    let trigger: Name | null = null;
    this.OPTION(() => {
      const word = this.CONSUME(On) as RigToken;
      this.ACTION(() => this.mark(word, 'word'));
      trigger = this.SUBRULE2(this.name, { ARGS: ['the name of a signal'] });
    });
    const { steps, repeatAfter, repeatSpan } = this.SUBRULE(this.sequenceSteps);
    return this.ACTION(() => ({
      kind: 'sequence',
      name,
      trigger,
      steps: steps as SequenceStep[],
      repeatAfter,
      repeatSpan,
      ...this.base(head),
    }));
  });

  private scenarioStatement = this.RULE('scenarioStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('scenario')));
    const name = this.SUBRULE(this.name, { ARGS: ['a name for the scenario'] });
    const { steps, duration } = this.SUBRULE(this.scenarioSteps);
    return this.ACTION(() => ({ kind: 'scenario', name, steps, duration, ...this.base(head) }));
  });

  private requireStatement = this.RULE('requireStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('require')));
    const metric = this.SUBRULE(this.expression, { ARGS: [ARITHMETIC, 'a metric such as overlap(…)'] });
    const comparison = this.SUBRULE(this.comparison);
    let during: Name | null = null;
    this.OPTION(() => {
      const word = this.CONSUME(During) as RigToken;
      this.ACTION(() => this.mark(word, 'word'));
      during = this.SUBRULE(this.name, { ARGS: ['the name of a scenario'] });
    });
    return this.ACTION(() => ({ kind: 'require', metric, comparison, during, ...this.base(head) }));
  });

  private comparison = this.RULE('comparison', (): Comparison | null => {
    let sign: RigToken | undefined;
    let value: Expression | undefined;
    this.OPTION({
      GATE: () => this.peek().tokenType === In || COMPARISONS.has(plainOperator(this.peek().image)),
      DEF: () => {
        sign = this.OR([{ ALT: () => this.CONSUME(In) }, { ALT: () => this.CONSUME(Binary) }]) as RigToken;
        value = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a value'] });
      },
    });
    return this.ACTION(() => (sign && value ? this.comparisonOf(sign, value) : null));
  });

  private comparisonOf(sign: RigToken, value: Expression): Comparison {
    const isRange = value.kind === 'binary' && value.operator === '..';
    if (sign.tokenType === In && !isRange && value.kind !== 'missing') {
      this.report('syntax/expected', 'Expected a range after in, such as 50 ms .. 400 ms.', value.span);
    }
    return {
      operator: plainOperator(sign.image) as Comparison['operator'],
      operatorSpan: spanOf(sign),
      value,
      span: this.since(sign.startOffset),
    };
  }
}

/** The content of a quoted text: no quotes, escapes resolved; an unknown escape stands for itself. */
function stringValue(image: string): string {
  const body = image.slice(1);
  const closed = /^(?:[^"\\]|\\.)*"$/.test(body);
  return (closed ? body.slice(0, -1) : body).replace(/\\(["\\])/g, '$1');
}
