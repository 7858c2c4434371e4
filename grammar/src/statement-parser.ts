/** One rule for each statement that holds no other statements. What is missing is reported once and the statement kept. */
import type { Comparison, Expression, Name, SequenceStep, Statement, StringLiteral } from './ast';
import { ANY_OPERATOR, ARITHMETIC } from './operators';
import { hasForeignQuotes, plainOperator, spanOf, textWithin } from './lexer';
import { alternatives } from './property-parser';
import { PlantParser } from './plant-parser';
import {
  Binary,
  Comma,
  During,
  Equal,
  In,
  isWord,
  LeftParen,
  On,
  Responds,
  RightParen,
  statementType,
  StringText,
  Word,
  type RigToken,
} from './tokens';
import { DIRECTION_WORDS } from './vocabulary';
import { say } from './say';

const COMPARISONS: ReadonlySet<string> = new Set(['<', '<=', '>', '>=', '=', '<>']);

/** The content of a quoted text: no quotes, escapes resolved; an unknown escape stands for itself. */
function stringValue(image: string): string {
  if (hasForeignQuotes(image)) return textWithin(image);
  const body = image.slice(1);
  const closed = /^(?:[^"\\]|\\.)*"$/.test(body);
  return (closed ? body.slice(0, -1) : body).replace(/\\(["\\])/g, '$1');
}

/** Adds the statements but `rig` and `part` to the parser. */
export class StatementParser extends PlantParser {
  protected text = this.RULE('text', (): StringLiteral | null => {
    const token = this.OPTION(() => this.CONSUME(StringText)) as RigToken | undefined;
    return this.ACTION(() => (token ? { value: stringValue(token.image), span: spanOf(token) } : null));
  });

  protected importStatement = this.RULE('importStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('import')));
    const path = this.SUBRULE(this.text);
    return this.ACTION(() => {
      if (!path) this.expected(say`a file name in quotes, such as "parts.rig",`, 'import');
      return { kind: 'import', path, ...this.base(head) };
    });
  });

  protected parameters = this.RULE('parameters', (): Name[] => {
    const list: Name[] = [];
    this.OPTION(() => {
      this.CONSUME(LeftParen);
      this.OPTION2({
        GATE: () => this.peek().tokenType !== RightParen,
        DEF: () => {
          list.push(this.SUBRULE(this.name, { ARGS: [say`the name of a parameter`] }));
          this.MANY(() => {
            this.CONSUME(Comma);
            list.push(this.SUBRULE2(this.name, { ARGS: [say`the name of a parameter`] }));
          });
        },
      });
      this.SUBRULE(this.closing);
    });
    return list;
  });

  protected placeStatement = this.RULE('placeStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('place')));
    const isNameless = this.ACTION(() => this.placedWithoutName());
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for what is placed`] });
    const equal = this.OPTION(() => this.CONSUME(Equal));
    this.ACTION(() => !equal && this.expected('=', this.lastImage()));
    const part = this.SUBRULE2(this.name, { ARGS: [say`the name of a part`] });
    this.ACTION(() => {
      if (this.peek().tokenType === LeftParen) this.mark(this.LA(0) as RigToken, 'function');
    });
    let args: Expression[] = [];
    this.OPTION2(() => {
      args = this.SUBRULE(this.callArguments, { ARGS: [say`a value or a name`] }).args;
    });
    return this.ACTION(() => {
      const named = isNameless ? { name: part, part: name } : { name, part };
      return { kind: 'place', ...named, args, ...this.base(head) };
    });
  });

  /** `place lock(…)`: reported; what stands there is the part. */
  private placedWithoutName(): boolean {
    const part = this.peek();
    if (!isWord(part) || this.peek(2).tokenType !== LeftParen) return false;
    const span = { start: part.startOffset, end: part.startOffset };
    const message = say`Expected a name for what is placed before ${part.image}, as in place first = ${part.image}(…).`;
    this.report('syntax/expected', message, spanOf(part), [{ title: say`Name it`, span, text: `${part.image}_1 = ` }]);
    return true;
  }

  protected letStatement = this.RULE('letStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('let')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the constant`] });
    const value = this.SUBRULE(this.assigned, { ARGS: ['a value'] });
    let range: Expression | null = null;
    this.OPTION(() => {
      this.CONSUME(In);
      range = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a range'] });
    });
    return this.ACTION(() => {
      if (range) this.checkIsRange(range);
      return { kind: 'let', name, value, range, ...this.base(head) };
    });
  });

  /** After `in` there is a range. */
  private checkIsRange(value: Expression): void {
    const isRange = value.kind === 'binary' && value.operator === '..';
    if (isRange || value.kind === 'missing') return;
    const message = say`Expected a range after in, such as 50 ms .. 400 ms.`;
    const next = this.peek();
    const sign =
      value.kind === 'binary' && (value.operator === '-' || value.operator === 'and')
        ? value.operatorSpan
        : /^(to|until|till)$/.test(next.image)
          ? spanOf(next)
          : null;
    const repairs = sign === null ? [] : [{ title: say`Write ..`, span: sign, text: '..' }];
    this.report('syntax/expected', message, value.span, repairs);
  }

  protected controllerStatement = this.RULE('controllerStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('controller')));
    const properties = this.SUBRULE(this.properties, { ARGS: ['controller'] });
    return this.ACTION(() => ({ kind: 'controller', properties, ...this.base(head) }));
  });

  protected switchStatement = this.RULE('switchStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('switch')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the switch`] });
    const initial = this.SUBRULE(this.assigned, { ARGS: [alternatives(['on', 'off'])] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['switch'] });
    return this.ACTION(() => ({ kind: 'switch', name, initial, properties, ...this.base(head) }));
  });

  protected signalStatement = this.RULE('signalStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('signal')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the signal`] });
    const value = this.SUBRULE(this.assigned, { ARGS: ['a signal'] });
    let responds: Expression | null = null;
    this.OPTION(() => {
      const word = this.CONSUME(Responds) as RigToken;
      this.ACTION(() => this.mark(word, 'word'));
      responds = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a time'] });
    });
    return this.ACTION(() => ({ kind: 'signal', name, value, responds, ...this.base(head) }));
  });

  protected driveStatement = this.RULE('driveStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('drive')));
    const target = this.SUBRULE(this.name, { ARGS: [say`the name of a door, feed or draw`] });
    const value = this.SUBRULE(this.assigned, { ARGS: ['a signal'] });
    return this.ACTION(() => ({ kind: 'drive', target, value, ...this.base(head) }));
  });

  protected sequenceStatement = this.RULE('sequenceStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('sequence')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the sequence`, 'on'] });
    let trigger: Name | null = null;
    this.OPTION(() => {
      const word = this.CONSUME(On) as RigToken;
      this.ACTION(() => this.mark(word, 'word'));
      trigger = this.SUBRULE2(this.name, { ARGS: [say`the name of a signal`] });
    });
    const { steps, repeatAfter, repeatSpan } = this.SUBRULE(this.sequenceSteps);
    this.ACTION(() => (this.reported ||= head.token.misread === true));
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

  protected scenarioStatement = this.RULE('scenarioStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('scenario')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the scenario`] });
    const { steps, duration } = this.SUBRULE(this.scenarioSteps);
    return this.ACTION(() => ({ kind: 'scenario', name, steps, duration, ...this.base(head) }));
  });

  protected preferStatement = this.RULE('preferStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('prefer')));
    const direction = this.OPTION({
      GATE: () => this.startsDirection(),
      DEF: () => this.CONSUME(Word),
    }) as RigToken | undefined;
    this.ACTION(() => this.checkDirection(direction));
    const metric = this.SUBRULE(this.expression, { ARGS: [ARITHMETIC, say`a metric such as repeat()`] });
    let during: Name | null = null;
    this.OPTION2(() => {
      const word = this.CONSUME(During) as RigToken;
      this.ACTION(() => this.mark(word, 'word'));
      during = this.SUBRULE(this.name, { ARGS: [say`the name of a scenario`] });
    });
    return this.ACTION(() => ({
      kind: 'prefer',
      direction: direction ? this.nameOf(direction) : null,
      metric,
      during,
      ...this.base(head),
    }));
  });

  /** A word that no parenthesis follows: `least`, or something in its place. */
  private startsDirection(): boolean {
    return isWord(this.peek()) && this.peek(2).tokenType !== LeftParen && this.peek().tokenType === Word;
  }

  private checkDirection(token: RigToken | undefined): void {
    if (!token) return this.expected(alternatives(DIRECTION_WORDS), 'prefer');
    this.mark(token, 'word');
    if (DIRECTION_WORDS.includes(token.image)) return;
    const span = spanOf(token);
    const repairs = DIRECTION_WORDS.map((w) => ({ title: say`Change to ${w}`, span, text: w }));
    this.report(
      'syntax/expected',
      say`prefer takes ${alternatives(DIRECTION_WORDS)}, not ${token.image}.`,
      span,
      repairs,
    );
  }

  protected requireStatement = this.RULE('requireStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('require')));
    const metric = this.SUBRULE(this.expression, { ARGS: [ARITHMETIC, say`a metric such as overlap(…)`] });
    this.ACTION(() => this.checkComparison());
    const comparison = this.SUBRULE(this.comparison);
    let during: Name | null = null;
    this.OPTION(() => {
      const word = this.CONSUME(During) as RigToken;
      this.ACTION(() => this.mark(word, 'word'));
      during = this.SUBRULE(this.name, { ARGS: [say`the name of a scenario`] });
    });
    return this.ACTION(() => ({ kind: 'require', metric, comparison, during, ...this.base(head) }));
  });

  /** A word after a metric that compares nothing (`between`, `is`). */
  private checkComparison(): void {
    const token = this.peek();
    if (this.atLineEnd() || !isWord(token) || token.tokenType === During) return;
    const message = say`Expected a comparison such as >= 1 s or in 1 s .. 2 s after ${this.lastImage() ?? 'require'}, not ${token.image}.`;
    this.report('syntax/expected', message, spanOf(token));
  }

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
    if (sign.tokenType === In) this.checkIsRange(value);
    return {
      operator: plainOperator(sign.image) as Comparison['operator'],
      operatorSpan: spanOf(sign),
      value,
      span: this.since(sign.startOffset),
    };
  }
}
