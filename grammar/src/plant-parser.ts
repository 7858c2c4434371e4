/** Statements about what is built: medium, chambers, doors, stacks, feeds, draws, sensors, supply and atmosphere. */
import type { Name, Span, Statement } from './ast';
import { spanOf } from './lexer';
import { alternatives } from './property-parser';
import { StepParser } from './step-parser';
import { Equal, From, Greater, Into, isWord, On, statementType, Word, type RigToken } from './tokens';
import { PHASE_WORDS } from './vocabulary';
import { say } from './say';

/** Words that people put between a feed, a draw or a sensor and its chamber. */
const LINKS: ReadonlySet<string> = new Set([
  'to',
  'into',
  'in',
  'onto',
  'on',
  'from',
  'out',
  'of',
  'off',
  'at',
  'by',
  'for',
]);

/** What a statement has before its own parts are read. */
export interface Head {
  readonly token: RigToken;
  readonly keywordSpan: Span;
  readonly documentation: string;
}

/** Adds the statements about the plant to the parser. */
export class PlantParser extends StepParser {
  /** Gives the comments that belong to a statement's keyword. */
  protected documentationOf: (token: RigToken) => string = () => '';

  private head(token: RigToken): Head {
    this.quiet = token.damaged === true;
    return { token, keywordSpan: spanOf(token), documentation: this.documentationOf(token) };
  }

  /** The statement's base, once all of it has been read. */
  protected base(head: Head): { span: Span; keywordSpan: Span; documentation: string } {
    const { token, keywordSpan, documentation } = head;
    return { span: this.since(token.startOffset), keywordSpan, documentation };
  }

  protected begin(token: unknown): Head {
    return this.ACTION(() => this.head(token as RigToken));
  }

  protected mediumStatement = this.RULE('mediumStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('medium')));
    this.ACTION(() => this.skipMediumSign());
    const name = this.SUBRULE(this.name, { ARGS: [say`the name of a medium`] });
    const phase = this.OPTION({
      GATE: () => !this.specsOf('medium').has(this.peek().image),
      DEF: () => this.CONSUME(Word),
    }) as RigToken | undefined;
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

  /** `medium = air` */
  private skipMediumSign(): void {
    const [sign, name] = [this.peek(1), this.peek(2)];
    if ((sign.tokenType !== Equal && sign.image !== ':') || !isWord(name)) return;
    const span = { start: sign.startOffset, end: name.startOffset };
    const message = say`A medium is written without ${sign.image}: medium ${name.image}.`;
    this.reportUnderstood('syntax/expected', message, spanOf(sign), [
      { title: say`Remove ${sign.image}`, span, text: '' },
    ]);
    this.skip();
  }

  private checkPhase(token: RigToken | undefined): void {
    if (!token) return;
    this.mark(token, 'word');
    if (PHASE_WORDS.includes(token.image)) return;
    this.report('syntax/expected', say`A medium is ${alternatives(PHASE_WORDS)}, not ${token.image}.`, spanOf(token));
  }

  protected chamberStatement = this.RULE('chamberStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('chamber')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the chamber`] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['chamber'] });
    return this.ACTION(() => ({ kind: 'chamber', name, properties, ...this.base(head) }));
  });

  protected doorStatement = this.RULE('doorStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('door')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the door`] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['door'] });
    return this.ACTION(() => ({ kind: 'door', name, properties, ...this.base(head) }));
  });

  protected stackStatement = this.RULE('stackStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('stack')));
    this.ACTION(() => this.skipStackName());
    const members = [this.SUBRULE(this.name, { ARGS: [say`the name of a chamber`] })];
    this.MANY(() => {
      this.CONSUME(Greater);
      const name = this.SUBRULE2(this.name, { ARGS: [say`the name of a door or chamber`] });
      this.ACTION(() => (this.isRepeated(members.at(-1)!, name) ? undefined : members.push(name)));
    });
    const properties = this.SUBRULE(this.properties, { ARGS: ['stack'] });
    return this.ACTION(() => ({ kind: 'stack', members, properties, ...this.base(head) }));
  });

  /** `upper > upper`: one of them counts. */
  private isRepeated(before: Name, { text, span }: Name): boolean {
    if (text === '' || text !== before.text) return false;
    const again = { start: before.span.end, end: span.end };
    // Not over a comment between the two.
    const isBeside = span.start - before.span.end <= ' > '.length;
    const remove = { title: say`Remove the second ${text}`, span: again, text: '' };
    const message = say`${text} is written twice in a row; one of them counts.`;
    this.reportUnderstood('syntax/expected', message, span, isBeside ? [remove] : []);
    return true;
  }

  /** `stack main = …` */
  private skipStackName(): void {
    const [name, sign] = [this.peek(1), this.peek(2)];
    if (!isWord(name) || (sign.tokenType !== Equal && sign.image !== ':')) return;
    const span = { start: name.startOffset, end: spanOf(sign).end };
    const message = say`A stack has no name; remove ${name.image} ${sign.image}.`;
    this.reportUnderstood('syntax/expected', message, span, [
      { title: say`Remove ${name.image} ${sign.image}`, span, text: '' },
    ]);
    this.skip();
    this.skip();
  }

  protected feedStatement = this.RULE('feedStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('feed')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the feed`, 'into'] });
    const link = this.OPTION(() => this.CONSUME(Into)) as RigToken | undefined;
    const isTurned = this.ACTION(() => this.checkTurned('feed', name) || (this.checkLink(link, 'into'), false));
    const other = this.SUBRULE2(this.name, { ARGS: [say`the name of a chamber`] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['feed'] });
    return this.ACTION(() => {
      const named = isTurned ? { name: other, chamber: name } : { name, chamber: other };
      return { kind: 'feed', ...named, properties, ...this.base(head) };
    });
  });

  protected drawStatement = this.RULE('drawStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('draw')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the draw`, 'from'] });
    const link = this.OPTION(() => this.CONSUME(From)) as RigToken | undefined;
    const isTurned = this.ACTION(() => this.checkTurned('draw', name) || (this.checkLink(link, 'from'), false));
    const other = this.SUBRULE2(this.name, { ARGS: [say`the name of a chamber`] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['draw'] });
    return this.ACTION(() => {
      const named = isTurned ? { name: other, chamber: name } : { name, chamber: other };
      return { kind: 'draw', ...named, properties, ...this.base(head) };
    });
  });

  /** `feed header from compressor`, `draw store to kiln`: the chamber first. Understood and reported. */
  private checkTurned(keyword: 'feed' | 'draw', chamber: Name): boolean {
    const [link, turned] = keyword === 'feed' ? ['into', 'from'] : ['from', 'to'];
    const [word, name] = [this.peek(1), this.peek(2)];
    const isTurned = word.image === turned || (keyword === 'draw' && /^(in|on)to$/.test(word.image));
    if (!isTurned || !isWord(name)) return false;
    const message = say`A ${keyword} is written with its own name first: ${keyword} ${name.image} ${link} ${chamber.text}.`;
    const span = { start: chamber.span.start, end: spanOf(name).end };
    const text = `${name.image} ${link} ${chamber.text}`;
    this.reportUnderstood('syntax/expected', message, span, [{ title: say`Write ${text}`, span, text }]);
    this.skip();
    return true;
  }

  private checkLink(link: RigToken | undefined, word: string): void {
    if (link) return this.mark(link, 'word');
    const other = this.otherLink();
    if (other === null) return this.expected(say`${word} and the name of a chamber`, this.lastImage());
    const image = other.map((token) => token.image).join(' ');
    const span = { start: other[0]!.startOffset, end: spanOf(other[other.length - 1]!).end };
    this.reportUnderstood(
      'syntax/expected',
      say`Expected ${word} after ${this.lastImage() ?? ''}, not ${image}.`,
      span,
      [{ title: say`Change to ${word}`, span, text: word }],
    );
    for (const _ of other) this.skip();
  }

  /** One or two words in the place of `into`, `from` or `on`, where the name of a chamber follows. */
  private otherLink(): readonly RigToken[] | null {
    const [first, second, third] = [this.peek(1), this.peek(2), this.peek(3)];
    if (!LINKS.has(first.image)) return null;
    if (LINKS.has(second.image) && isWord(third)) return [first, second];
    return isWord(second) ? [first] : null;
  }

  protected supplyStatement = this.RULE('supplyStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('supply')));
    const properties = this.SUBRULE(this.properties, { ARGS: ['supply'] });
    return this.ACTION(() => ({ kind: 'supply', properties, ...this.base(head) }));
  });

  protected atmosphereStatement = this.RULE('atmosphereStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('atmosphere')));
    const properties = this.SUBRULE(this.properties, { ARGS: ['atmosphere'] });
    return this.ACTION(() => ({ kind: 'atmosphere', properties, ...this.base(head) }));
  });

  protected sensorStatement = this.RULE('sensorStatement', (): Statement => {
    const head = this.begin(this.CONSUME(statementType('sensor')));
    const name = this.SUBRULE(this.name, { ARGS: [say`a name for the sensor`, 'on'] });
    const link = this.OPTION(() => this.CONSUME(On)) as RigToken | undefined;
    this.ACTION(() => this.checkLink(link, 'on'));
    const chamber = this.SUBRULE2(this.name, { ARGS: [say`the name of a chamber`] });
    const properties = this.SUBRULE(this.properties, { ARGS: ['sensor'] });
    return this.ACTION(() => ({ kind: 'sensor', name, chamber, properties, ...this.base(head) }));
  });
}
