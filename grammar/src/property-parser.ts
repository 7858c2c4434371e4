/** Blocks of properties: `{ volume 6 m3  pressure above 1.5 bar }`. */
import { EOF, type IOrAlt } from 'chevrotain';
import type { Expression, Name, Property, Span } from './ast';
import { AssignedParser } from './assigned-parser';
import { ANY_OPERATOR } from './operators';
import { spanOf } from './lexer';
import { nearMatch } from './near-match';
import type { Repair } from './reporter';
import {
  Comma,
  Equal,
  isStart,
  isWord,
  LeftBrace,
  LeftParen,
  Minus,
  Newline,
  RightBrace,
  STATEMENT_TYPES,
  Stray,
  Word,
  type RigToken,
} from './tokens';
import { type DimensionName, PROPERTIES, SAMPLE_QUANTITY, type PropertySpec } from './vocabulary';
import { PROPERTY_SLIPS } from './slips/words';
import { say } from './say';

const SPECS: ReadonlyMap<string, ReadonlyMap<string, PropertySpec>> = new Map(
  Object.entries(PROPERTIES).map(([statement, list]) => [statement, new Map(list.map((p) => [p.keyword, p]))]),
);
const NO_SPECS: ReadonlyMap<string, PropertySpec> = new Map();

/** What a sign of comparison is called among properties. */
const COMPARED: Readonly<Record<string, string>> = { '>': 'above', '<': 'below' };

/** `a, b or c` */
export function alternatives(words: readonly string[]): string {
  if (words.length < 2) return words.join('');
  return say`${words.slice(0, -1).join(', ')} or ${words[words.length - 1]!}`;
}

/** Adds property blocks to the parser. */
export class PropertyParser extends AssignedParser {
  /** What takes the separators between the properties of this block away. */
  private separators: { readonly span: Span; readonly text: string }[] = [];

  /** `{ … }`, or nothing; `keyword` is that of the statement. Properties on the same line without braces are understood and reported. */
  protected properties = this.RULE('properties', (keyword: string): Property[] => {
    let list: Property[] = [];
    this.OPTION(() => {
      this.CONSUME(LeftBrace);
      this.separators = [];
      const items: IOrAlt<unknown>[] = [
        { ALT: () => this.CONSUME(Newline) },
        { ALT: () => list.push(this.SUBRULE(this.property, { ARGS: [keyword] })) },
        { ALT: () => this.SUBRULE(this.noProperty, { ARGS: [keyword] }) },
      ];
      this.MANY(() => this.OR(items));
      this.SUBRULE(this.closingBrace);
    });
    if (this.RECORDING_PHASE || this.startsBare(keyword)) list = this.SUBRULE(this.bareProperties, { ARGS: [keyword] });
    return list;
  });

  /** Whether properties begin without a brace: a known keyword with something after it, or a number where it can only be a rate. */
  private startsBare(keyword: string): boolean {
    const isBrace = (this.LA(0) as RigToken).tokenType === RightBrace;
    return !isBrace && (this.startsProperty(keyword, 1) || this.startsWorded(keyword) || this.startsRate(keyword));
  }

  private startsWorded(keyword: string): boolean {
    return this.specsOf(keyword).get(this.peek().image)?.words.includes(this.peek(2).image) ?? false;
  }

  private startsRate(keyword: string): boolean {
    return this.peek().kind === 'number' && this.specsOf(keyword).has('rate');
  }

  /** `door upper pocket 6 L  travel 80 ms`, `feed main into sump 2 L/s`: read as if the braces were there. */
  private bareProperties = this.RULE('bareProperties', (keyword: string): Property[] => {
    const list: Property[] = [];
    const problem = this.ACTION(() => this.reportBare(keyword));
    if (this.RECORDING_PHASE || this.startsRate(keyword)) {
      const value = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a value'] });
      this.ACTION(() => list.push({ keyword: { text: 'rate', span: value.span }, words: [], value, span: value.span }));
    }
    this.MANY(() => list.push(this.SUBRULE(this.property, { ARGS: [keyword] })));
    this.ACTION(() => problem?.(this.lastEnd()));
    return list;
  });

  /** Reports once the end of the properties is known, before what is found inside them. */
  private reportBare(keyword: string): (end: number) => void {
    const { quiet } = this;
    const place = this.problems.length;
    const { startOffset: start, image: first } = this.peek();
    const rate = this.startsRate(keyword) ? 'rate ' : '';
    return (end) => {
      if (quiet) return;
      const message = say`The properties of a ${keyword} stand in braces, as in { ${rate || `${first} `}… }.`;
      const edits = [
        { span: { start, end: start }, text: `{ ${rate}` },
        { span: { start: end, end }, text: ' }' },
      ];
      const fixes = [{ title: say`Put braces around them`, edits }];
      this.problems.splice(place, 0, { code: 'syntax/expected', message, span: { start, end }, fixes });
      this.quiet = true;
    };
  }

  /** The layout saw to it that there is one. */
  protected closingBrace = this.RULE('closingBrace', (): void => {
    this.CONSUME(RightBrace);
    this.ACTION(() => (this.quiet = false));
  });

  protected specsOf(keyword: string): ReadonlyMap<string, PropertySpec> {
    return SPECS.get(keyword) ?? NO_SPECS;
  }

  private property = this.RULE('property', (statement: string): Property => {
    const token = this.CONSUME(Word) as RigToken;
    const spec = this.startProperty(statement, token);
    const words: Name[] = [];
    if (this.RECORDING_PHASE || !spec || spec.words.length > 0) {
      this.MANY({
        GATE: () => this.takesWord(statement, spec),
        DEF: () => words.push(this.propertyWord(spec, this.CONSUME2(Word) as RigToken)),
      });
    }
    this.checkWords(token, spec, words);
    let value: Expression | null = null;
    let pairs: (readonly [Expression, Expression])[] = [];
    if (this.RECORDING_PHASE || (spec?.pairs && this.startsValue(statement, spec))) {
      pairs = this.SUBRULE(this.pairs, { ARGS: [spec] });
    }
    let names: Name[] = [];
    if (this.RECORDING_PHASE || spec?.names) names = this.SUBRULE(this.itemNames, { ARGS: [spec] });
    if (this.RECORDING_PHASE || (!spec?.pairs && !spec?.names && this.startsValue(statement, spec))) {
      value = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a value'] });
    }
    const span = this.since(token.startOffset);
    this.ACTION(() => this.endProperty(statement, token, spec, words, pairs[0]?.[0] ?? value));
    const base = { keyword: this.nameOf(token), words, value, span };
    if (names.length > 0) return { ...base, names };
    return pairs.length > 0 ? { ...base, pairs } : base;
  });

  /** `header, store` */
  private itemNames = this.RULE('itemNames', (spec: PropertySpec | undefined): Name[] => {
    const role = spec?.names ? say`the name of a ${spec.names.kind}` : say`the name of an item`;
    const list = [this.SUBRULE(this.name, { ARGS: [role] })];
    this.MANY(() => {
      this.CONSUME(Comma);
      list.push(this.SUBRULE2(this.name, { ARGS: [role] }));
    });
    this.ACTION(() => this.checkCount(spec, list));
    return list;
  });

  private checkCount(spec: PropertySpec | undefined, list: readonly Name[]): void {
    const wanted = spec?.names?.count ?? list.length;
    if (list.length === wanted || list.some((name) => name.text === '')) return;
    const message = say`${spec!.keyword} takes the names of ${wanted} chambers with a comma between them, not ${list.length}.`;
    this.report('syntax/expected', message, { start: list[0]!.span.start, end: list[list.length - 1]!.span.end });
  }

  /** `1 bar 10 m3/h, 3 bar 7 m3/h` */
  private pairs = this.RULE('pairs', (spec: PropertySpec | undefined): (readonly [Expression, Expression])[] => {
    const list: (readonly [Expression, Expression])[] = [];
    const [first, second] = this.pairWords(spec);
    const x = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, first] });
    const y = this.SUBRULE2(this.expression, { ARGS: [ANY_OPERATOR, second] });
    list.push([x, y]);
    this.MANY(() => {
      this.CONSUME(Comma);
      const nextX = this.SUBRULE3(this.expression, { ARGS: [ANY_OPERATOR, first] });
      const nextY = this.SUBRULE4(this.expression, { ARGS: [ANY_OPERATOR, second] });
      list.push([nextX, nextY]);
    });
    return list;
  });

  private pairWords(spec: PropertySpec | undefined): readonly [string, string] {
    const sample = (dimension: DimensionName | undefined): string => (dimension ? SAMPLE_QUANTITY[dimension] : '…');
    return [say`a value such as ${sample(spec?.pairs?.[0])}`, say`a value such as ${sample(spec?.dimensions[0])}`];
  }

  private startProperty(statement: string, token: RigToken): PropertySpec | undefined {
    this.quiet = false;
    this.mark(token, 'property');
    const spec = this.specsOf(statement).get(token.image);
    if (!spec) this.unknownProperty(statement, token);
    this.skipEquals(token);
    this.skipDimension(token, spec);
    return spec;
  }

  private unknownProperty(statement: string, token: RigToken): void {
    if (statement && STATEMENT_TYPES.has(token.image) && isWord(this.peek())) {
      const message = say`${token.image} is a statement of its own and cannot stand among the properties of a ${statement}.`;
      return this.report('syntax/misplaced-statement', message, spanOf(token));
    }
    const known = [...this.specsOf(statement).keys()];
    const other = PROPERTY_SLIPS.get(token.image.toLowerCase())?.find((word) => known.includes(word)) ?? null;
    const near = nearMatch(token.image, known) ?? other;
    const span = spanOf(token);
    const repairs: Repair[] = near ? [{ title: say`Change to ${near}`, span, text: near }] : [];
    const subject = statement || say`This block`;
    const message = near
      ? say`${subject} has no property ${token.image}; did you mean ${near}?`
      : say`${subject} has no property ${token.image}; it has ${alternatives(known)}.`;
    this.report('syntax/unknown-property', message, span, repairs);
  }

  /** `volume = 6 m3` is understood and reported. */
  private skipEquals(keyword: RigToken): void {
    const sign = this.peek();
    if (sign.tokenType !== Equal && sign.image !== ':') return;
    const span = { start: keyword.startOffset + keyword.image.length, end: spanOf(sign).end };
    this.reportUnderstood(
      'syntax/expected',
      say`A property has no ${sign.image}; write its value after a blank.`,
      spanOf(sign),
      [{ title: say`Remove ${sign.image}`, span, text: '' }],
    );
    this.skip();
  }

  /** `limit pressure 12 bar`: the unit says it. */
  private skipDimension({ image: keyword }: RigToken, spec: PropertySpec | undefined): void {
    const word = this.peek();
    if (!spec || spec.words.length > 0 || this.peek(2).kind !== 'number') return;
    if (!spec.dimensions.some((dimension) => dimension === word.image)) return;
    const message = say`Write ${keyword} and the value alone: the unit says that it is a ${word.image}.`;
    const span = { start: word.startOffset, end: this.peek(2).startOffset };
    this.reportUnderstood('syntax/expected', message, spanOf(word), [
      { title: say`Remove ${word.image}`, span, text: '' },
    ]);
    this.skip();
  }

  /** Whether the next word belongs between keyword and value. */
  private takesWord(statement: string, spec: PropertySpec | undefined): boolean {
    const token = this.peek();
    if (!isWord(token)) return false;
    if (spec && spec.words.length === 0) return false;
    if (spec?.words.includes(token.image)) return true;
    if (this.startsProperty(statement, 1)) return false;
    return spec === undefined ? this.startsSimpleValue(this.peek(2)) : spec.dimensions.length === 0;
  }

  private startsSimpleValue(token: RigToken): boolean {
    return token.kind === 'number' || isWord(token);
  }

  /** Whether a property seems to begin `ahead` places on: a known keyword with something of its own after it. */
  private startsProperty(statement: string, ahead: number): boolean {
    const spec = this.specsOf(statement).get(this.peek(ahead).image);
    if (!spec) return false;
    const next = this.peek(ahead + 1);
    if (next.tokenType === Minus) return this.peek(ahead + 2).kind === 'number';
    return this.startsSimpleValue(next) || next.tokenType === LeftParen;
  }

  private propertyWord(spec: PropertySpec | undefined, token: RigToken): Name {
    this.mark(token, 'word');
    if (spec && !spec.words.includes(token.image)) {
      const near = nearMatch(token.image, spec.words);
      const span = spanOf(token);
      const repairs = (near ? [near] : spec.words).map((w) => ({ title: say`Change to ${w}`, span, text: w }));
      const message = say`${spec.keyword} takes ${alternatives(spec.words)}, not ${token.image}.`;
      this.report('syntax/expected', message, span, repairs);
    }
    return this.nameOf(token);
  }

  private checkWords(token: RigToken, spec: PropertySpec | undefined, words: readonly Name[]): void {
    if (!spec || spec.words.length === 0 || words.length > 0 || spec.optionalWords) return;
    const sign = this.peek();
    const meant = COMPARED[sign.image[0] ?? ''];
    if (meant === undefined || !spec.words.includes(meant)) return this.expected(alternatives(spec.words), token.image);
    const message = say`Expected ${alternatives(spec.words)} after ${token.image}, not ${sign.image}.`;
    const repair = { title: say`Change to ${meant}`, span: spanOf(sign), text: meant };
    this.reportUnderstood('syntax/expected', message, spanOf(sign), [repair]);
    this.skip();
  }

  private startsValue(statement: string, spec: PropertySpec | undefined): boolean {
    if (spec && spec.dimensions.length === 0) return false;
    const token = this.peek();
    if (this.atLineEnd() || !isStart(token)) return false;
    return !this.startsProperty(statement, 1);
  }

  private endProperty(
    statement: string,
    token: RigToken,
    spec: PropertySpec | undefined,
    words: readonly Name[],
    value: Expression | null,
  ): void {
    if (spec && spec.dimensions.length > 0 && !value) {
      const sample = SAMPLE_QUANTITY[spec.dimensions[0]!];
      this.report(
        'syntax/expected',
        say`Expected a value after ${words[words.length - 1]?.text ?? token.image}, such as ${sample}.`,
        this.startsProperty(statement, 1) ? spanOf(this.LA(0) as RigToken) : this.here(),
      );
    }
    this.dropPutIn();
    this.skipSeparator();
    if (this.endsProperty(statement)) return;
    this.expected(say`another property or }`, this.lastImage());
    this.skipToProperty(statement);
  }

  private endsProperty(statement: string): boolean {
    return this.atLineEnd() || this.specsOf(statement).has(this.peek().image) || isWord(this.peek());
  }

  /** A comma or semicolon after a property is reported and passed over. */
  private skipSeparator(): void {
    const sign = this.peek();
    if (sign.tokenType !== Comma && sign.image !== ';') return;
    const span = spanOf(sign);
    this.skip();
    const first = this.separators.length === 0;
    this.separators.push({ span, text: '' });
    if (!first) return;
    const message = say`No ${sign.image} is needed here: properties are separated by blanks or new lines.`;
    const place = this.problems.length;
    this.reportUnderstood('syntax/expected', message, span, [{ title: say`Remove ${sign.image}`, span, text: '' }]);
    // One message for all of a block, and one fix.
    const problem = this.problems[place];
    if (problem?.fixes)
      this.problems[place] = { ...problem, fixes: [{ ...problem.fixes[0]!, edits: this.separators }] };
    else this.separators = [];
  }

  private skipToProperty(statement: string): void {
    let depth = 0;
    for (;;) {
      const token = this.peek();
      const type = token.tokenType;
      if (type === EOF) return;
      if (depth === 0 && (this.atLineEnd() || this.specsOf(statement).has(token.image))) return;
      if (type === LeftBrace) depth++;
      if (type === RightBrace) depth--;
      this.skip();
    }
  }

  /** Something in a block that cannot begin a property. */
  private noProperty = this.RULE('noProperty', (statement: string): void => {
    const token = this.CONSUME(Stray) as RigToken;
    this.ACTION(() => {
      this.quiet = token.index === -1;
      const known = [...this.specsOf(statement).keys()];
      const what =
        known.length > 0 ? say`a property such as ${alternatives(known.slice(0, 2))}` : say`the end of this block`;
      this.report('syntax/expected', say`Expected ${what}, not ${token.image}.`, spanOf(token));
      if (token.tokenType === LeftBrace) this.skipBlock();
      this.skipToProperty(statement);
    });
  });

  /** After a `{`: drops everything up to and with its `}`. */
  protected skipBlock(): void {
    for (let depth = 1; depth > 0 && this.peek().tokenType !== EOF;) {
      const type = this.skip().tokenType;
      if (type === LeftBrace) depth++;
      if (type === RightBrace) depth--;
    }
  }
}
