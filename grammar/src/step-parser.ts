/** Blocks of steps: `sequence` (at … open|close …, repeat after …) and `scenario` (at … feed … on, for …). */
import { EOF } from 'chevrotain';
import type { Expression, Name, ScenarioStep, SequenceStep, Span, StateLiteral } from './ast';
import { ANY_OPERATOR } from './operators';
import { spanOf } from './lexer';
import { nearMatch } from './near-match';
import { alternatives, PropertyParser } from './property-parser';
import {
  At,
  Comma,
  For,
  LeftBrace,
  Newline,
  Off,
  On,
  Repeat,
  RightBrace,
  Stray,
  isWord,
  Word,
  type RigToken,
} from './tokens';
import { say } from './say';

/** What a step of a sequence may do. */
export const SEQUENCE_ACTIONS: readonly string[] = ['open', 'close'];
/** What a step of a scenario may work on. */
export const SCENARIO_ACTIONS: readonly string[] = ['feed', 'draw', 'switch', 'sensor', 'power'];

/** Those of them that have a name. */
const SCENARIO_KINDS = SCENARIO_ACTIONS.filter((action) => action !== 'power');

interface SequenceBody {
  steps: SequenceStep[];
  repeatAfter: Expression | null;
  repeatSpan: Span | null;
}
interface ScenarioBody {
  steps: ScenarioStep[];
  duration: Expression | null;
}

/** Adds step blocks to the parser. */
export class StepParser extends PropertyParser {
  protected sequenceSteps = this.RULE('sequenceSteps', (): SequenceBody => {
    const body: SequenceBody = { steps: [], repeatAfter: null, repeatSpan: null };
    this.stepBlock(alternatives(['at', 'repeat after']), [
      { ALT: () => body.steps.push(this.SUBRULE(this.sequenceStep)) },
      { ALT: () => this.SUBRULE(this.repeatStep, { ARGS: [body] }) },
    ]);
    return body;
  });

  protected scenarioSteps = this.RULE('scenarioSteps', (): ScenarioBody => {
    const body: ScenarioBody = { steps: [], duration: null };
    this.stepBlock(alternatives(['at', 'for']), [
      { ALT: () => body.steps.push(this.SUBRULE(this.scenarioStep)) },
      { ALT: () => this.SUBRULE(this.durationStep, { ARGS: [body] }) },
    ]);
    return body;
  });

  /** Braces round steps, each on a line of its own; whatever begins like none of them is one message. */
  private stepBlock(starts: string, steps: readonly { readonly ALT: () => unknown }[]): void {
    this.ACTION(() => this.peek().tokenType !== LeftBrace && this.expected('{', this.lastImage()));
    this.OPTION(() => {
      this.CONSUME(LeftBrace);
      this.MANY(() =>
        this.OR({
          DEF: [
            { ALT: () => this.CONSUME(Newline) },
            ...steps,
            { ALT: () => this.SUBRULE(this.noStep, { ARGS: [starts] }) },
          ],
          IGNORE_AMBIGUITIES: true,
        }),
      );
      this.SUBRULE(this.closingBrace);
    });
  }

  private startStep(token: RigToken): void {
    this.quiet = false;
    this.mark(token, 'word');
  }

  /** `at TIME`, common to both kinds. */
  private stepTime = this.RULE('stepTime', (actions: readonly string[]): Expression => {
    const time = this.OPTION({
      GATE: () => !(actions.includes(this.peek().image) && isWord(this.peek(2))),
      DEF: () => this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a time'] }),
    }) as Expression | undefined;
    return this.ACTION(() => time ?? this.missingTime());
  });

  private missingTime(): Expression {
    this.expected('a time', 'at');
    return { kind: 'missing', span: this.endSpan() };
  }

  /** The word that says what a step does. */
  private action = this.RULE('action', (actions: readonly string[]): Name => {
    const token = this.OPTION(() => this.CONSUME(Word)) as RigToken | undefined;
    return this.ACTION(() => {
      if (token) return this.checkAction(token, actions);
      this.expected(alternatives(actions));
      return this.noName();
    });
  });

  private checkAction(token: RigToken, actions: readonly string[]): Name {
    this.mark(token, 'word');
    const isKindMissing = actions === SCENARIO_ACTIONS && this.stateWord() !== undefined;
    if (!actions.includes(token.image) && isKindMissing) this.kindMissing(token);
    else if (!actions.includes(token.image)) {
      const near = nearMatch(token.image, actions);
      const span = spanOf(token);
      const repairs = near ? [{ title: say`Change to ${near}`, span, text: near }] : [];
      this.report('syntax/expected', say`Expected ${alternatives(actions)}, not ${token.image}.`, span, repairs);
    }
    return this.nameOf(token);
  }

  /** `at 5 min rinse on`: a name without what it is; the text may say what, before or after. */
  private kindMissing(token: RigToken): void {
    const span = spanOf(token);
    const { input } = this;
    const place = input.findIndex(
      ({ image }, i) => SCENARIO_KINDS.includes(image) && input[i + 1]?.image === token.image,
    );
    const kind = input[place]?.image;
    if (kind === undefined) {
      const message = say`Say what ${token.image} is, before its name: ${alternatives(SCENARIO_KINDS)}.`;
      return this.report('syntax/expected', message, span);
    }
    const written = `${kind} ${token.image}`;
    const repair = { title: say`Write ${written}`, span, text: written };
    this.report('syntax/expected', say`Say what ${token.image} is, before its name: ${written}.`, span, [repair]);
  }

  private sequenceStep = this.RULE('sequenceStep', (): SequenceStep => {
    const start = this.CONSUME(At) as RigToken;
    this.ACTION(() => this.startStep(start));
    const at = this.SUBRULE(this.stepTime, { ARGS: [SEQUENCE_ACTIONS] });
    const action = this.SUBRULE(this.action, { ARGS: [SEQUENCE_ACTIONS] });
    const doors = [this.SUBRULE(this.name, { ARGS: [say`the name of a door`] })];
    this.MANY(() => {
      this.CONSUME(Comma);
      doors.push(this.SUBRULE2(this.name, { ARGS: [say`the name of a door`] }));
    });
    return this.ACTION(() => {
      const span = this.since(start.startOffset);
      this.endStep();
      return { at, action, doors: doors.filter((door) => door.text !== ''), span };
    });
  });

  private repeatStep = this.RULE('repeatStep', (body: SequenceBody): void => {
    const start = this.CONSUME(Repeat) as RigToken;
    this.ACTION(() => {
      this.startStep(start);
      if (this.peek().image !== 'after') this.afterMissing();
      else this.mark(this.skip(), 'word');
    });
    const value = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a time'] });
    this.ACTION(() => {
      const span = this.since(start.startOffset);
      if (body.repeatAfter) this.report('syntax/expected', say`A sequence has only one repeat after.`, span);
      body.repeatAfter ??= value;
      body.repeatSpan ??= span;
      this.endStep();
    });
  });

  private afterMissing(): void {
    const end = this.lastEnd();
    const repair = { title: say`Write repeat after`, span: { start: end, end }, text: ' after' };
    this.report('syntax/expected', say`Write repeat after, then a time.`, this.here(), [repair]);
  }

  private scenarioStep = this.RULE('scenarioStep', (): ScenarioStep => {
    const start = this.CONSUME(At) as RigToken;
    this.ACTION(() => this.startStep(start));
    const at = this.SUBRULE(this.stepTime, { ARGS: [SCENARIO_ACTIONS] });
    const action = this.SUBRULE(this.action, { ARGS: [SCENARIO_ACTIONS] });
    const target = this.OPTION({
      GATE: () => action.text !== 'power',
      DEF: () => this.SUBRULE(this.name, { ARGS: [say`the name of a ${action.text || 'feed'}`, this.stateWord()] }),
    }) as Name | undefined;
    const state = this.SUBRULE(this.stepState);
    return this.ACTION(() => {
      const span = this.since(start.startOffset);
      this.endStep();
      return { at, action, target: target ?? null, state, span };
    });
  });

  /** `on` or `off`, if it is next: then the name before it was left out. */
  private stateWord(): string | undefined {
    const { image, tokenType } = this.peek();
    return tokenType === On || tokenType === Off ? image : undefined;
  }

  private stepState = this.RULE('stepState', (): StateLiteral | null => {
    const token = this.OPTION(() => this.OR([{ ALT: () => this.CONSUME(On) }, { ALT: () => this.CONSUME(Off) }])) as
      RigToken | undefined;
    return this.ACTION(() => {
      if (token) return { kind: 'state', on: token.tokenType === On, span: spanOf(token) };
      this.expected(alternatives(['on', 'off']), this.lastImage());
      return null;
    });
  });

  private durationStep = this.RULE('durationStep', (body: ScenarioBody): void => {
    const start = this.CONSUME(For) as RigToken;
    this.ACTION(() => this.startStep(start));
    const value = this.SUBRULE(this.expression, { ARGS: [ANY_OPERATOR, 'a time'] });
    this.ACTION(() => {
      if (body.duration)
        this.report('syntax/expected', say`A scenario has only one for.`, this.since(start.startOffset));
      body.duration ??= value;
      this.endStep();
    });
  });

  private noStep = this.RULE('noStep', (what: string): void => {
    const token = this.OR([{ ALT: () => this.CONSUME(Word) }, { ALT: () => this.CONSUME(Stray) }]) as RigToken;
    this.ACTION(() => {
      this.quiet = token.index === -1;
      if (token.kind === 'unknown') this.strayCharacter(token);
      this.report('syntax/expected', say`Expected ${what}, not ${token.image}.`, spanOf(token));
      if (token.tokenType === LeftBrace) this.skipBlock();
      this.endStep();
    });
  });

  /** Up to the next step or the end of the line. */
  private endStep(): void {
    this.dropPutIn();
    if (this.atStep()) return;
    this.expected(say`the end of the line`, this.lastImage());
    while (!this.atStep()) {
      const token = this.skip();
      if (token.tokenType === LeftBrace) this.skipBlock();
    }
  }

  private atStep(): boolean {
    const type = this.peek().tokenType;
    return type === Newline || type === RightBrace || type === EOF || type === At || type === For || type === Repeat;
  }
}
