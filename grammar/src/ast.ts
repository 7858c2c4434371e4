/**
 * The syntax tree of a `.rig` text. Plain data, imports nothing. The parser returns a tree for any text: what is missing in
 * the text is a `missing` expression or a name with empty text, and each such place has exactly one problem beside the tree.
 * Offsets are UTF-16 code units from the start of the text.
 */

/** Half-open range of UTF-16 offsets. */
export interface Span {
  readonly start: number;
  readonly end: number;
}

/**
 * A name as written. `text` is NFC-normalised; dotted names (`gate.upper`, an item inside a placed part) keep the dots.
 * Empty `text` means the name is missing (already reported).
 */
export interface Name {
  readonly text: string;
  readonly span: Span;
}

export interface StringLiteral {
  /** Content without quotes, escapes resolved. */
  readonly value: string;
  readonly span: Span;
}

// ---------------------------------------------------------------- expressions

export type BinaryOperator =
  'and' | 'or' | 'xor' | '+' | '-' | '*' | '/' | '<' | '<=' | '>' | '>=' | '=' | '<>' | '+-' | '..';

/**
 * Precedence, loosest first: `..`, `+-`, `or`, `xor`, `and`, comparisons, `+ -`, `* /`, unary `not` and `-`.
 * (Boolean order as in IEC 61131-3 structured text: NOT, AND, XOR, OR.)
 */
export type Expression =
  | QuantityLiteral
  | StateLiteral
  | Reference
  | UnaryExpression
  | BinaryExpression
  | CallExpression
  | EventExpression
  | MissingExpression;

/** A number with its unit as written: `1.4 s`, `2 %`, `6 m3`, `3` (no unit). */
export interface QuantityLiteral {
  readonly kind: 'quantity';
  /** The digits as written, e.g. `1.50` (exact decimal; never pre-rounded). */
  readonly number: string;
  readonly numberSpan: Span;
  readonly unit: Name | null;
  readonly span: Span;
}

/** `on` or `off`. */
export interface StateLiteral {
  readonly kind: 'state';
  readonly on: boolean;
  readonly span: Span;
}

export interface Reference {
  readonly kind: 'reference';
  readonly name: Name;
  readonly span: Span;
}

export interface UnaryExpression {
  readonly kind: 'unary';
  readonly operator: 'not' | '-';
  readonly operand: Expression;
  readonly span: Span;
}

export interface BinaryExpression {
  readonly kind: 'binary';
  readonly operator: BinaryOperator;
  readonly operatorSpan: Span;
  readonly left: Expression;
  readonly right: Expression;
  readonly span: Span;
}

/** `TON(start, 1 s)`, `overlap(upper, middle)`, `part_name(2 s)`. */
export interface CallExpression {
  readonly kind: 'call';
  readonly callee: Name;
  readonly args: readonly Expression[];
  /** From the opening to after the closing parenthesis (or to where the text ends, if it is not closed). */
  readonly argsSpan: Span;
  readonly span: Span;
}

/** `upper opens`, as an argument of a metric. Words: see `EVENT_WORDS` in vocabulary.ts. */
export interface EventExpression {
  readonly kind: 'event';
  readonly subject: Name;
  readonly event: Name;
  readonly span: Span;
}

export interface MissingExpression {
  readonly kind: 'missing';
  readonly span: Span;
}

// ---------------------------------------------------------------- properties

/**
 * `keyword word* value?` inside braces: `volume 6 m3`, `rest closed`, `pressure above 1.5 bar`, `power moving 300 W`.
 * Which words may follow which keyword stands in vocabulary.ts. A keyword not listed there is kept and reported.
 */
export interface Property {
  readonly keyword: Name;
  readonly words: readonly Name[];
  readonly value: Expression | null;
  /** A list of pairs, `curve 1 bar 10 m3/h, 3 bar 7 m3/h`; absent for every other property. */
  readonly pairs?: readonly (readonly [Expression, Expression])[];
  /** A list of names, `vents header, store`; absent for every other property. */
  readonly names?: readonly Name[];
  readonly span: Span;
}

// ---------------------------------------------------------------- statements

interface StatementBase {
  /** Whole statement, from keyword to the last token that belongs to it. */
  readonly span: Span;
  readonly keywordSpan: Span;
  /** `#` comment lines directly above and/or the comment at the end of the first line, without `#`; for hovers. */
  readonly documentation: string;
  /** Part of it could not be read, so that it means something else than was meant; absent where all was. */
  readonly damaged?: true;
}

export interface ImportStatement extends StatementBase {
  readonly kind: 'import';
  readonly path: StringLiteral | null;
}
export interface RigStatement extends StatementBase {
  readonly kind: 'rig';
  readonly name: Name;
  readonly title: StringLiteral | null;
  readonly body: readonly Statement[];
  /** From `{` to after `}`. */
  readonly bodySpan: Span;
}
export interface PartStatement extends StatementBase {
  readonly kind: 'part';
  readonly name: Name;
  readonly parameters: readonly Name[];
  readonly body: readonly Statement[];
  readonly bodySpan: Span;
}
/** `place west = lock_gate(2 s, tank)`: arguments are quantities or names of items outside (chambers, signals, …). */
export interface PlaceStatement extends StatementBase {
  readonly kind: 'place';
  readonly name: Name;
  readonly part: Name;
  readonly args: readonly Expression[];
}
/** `let settle = 1.8 s`, or `let settle = 1.8 s in 500 ms .. 3 s`: a constant that may be chosen within a range. */
export interface LetStatement extends StatementBase {
  readonly kind: 'let';
  readonly name: Name;
  readonly value: Expression;
  /** After `in`: a binary expression with operator `..` (anything else is reported). */
  readonly range: Expression | null;
}
/** `medium water` (built-in) or `medium NAME gas|liquid|packed { … }`. */
export interface MediumStatement extends StatementBase {
  readonly kind: 'medium';
  readonly name: Name;
  /** `gas`, `liquid` or `packed`. */
  readonly phase: Name | null;
  readonly properties: readonly Property[];
}
export interface ChamberStatement extends StatementBase {
  readonly kind: 'chamber';
  readonly name: Name;
  readonly properties: readonly Property[];
}
export interface DoorStatement extends StatementBase {
  readonly kind: 'door';
  readonly name: Name;
  readonly properties: readonly Property[];
}
/** `atmosphere { pressure 0.9 bar }` */
export interface AtmosphereStatement extends StatementBase {
  readonly kind: 'atmosphere';
  readonly properties: readonly Property[];
}
/** `stack a > upper > middle > b { moves 24 % }` */
export interface StackStatement extends StatementBase {
  readonly kind: 'stack';
  readonly members: readonly Name[];
  readonly properties: readonly Property[];
}
/** `feed NAME into CHAMBER { … }` */
export interface FeedStatement extends StatementBase {
  readonly kind: 'feed';
  readonly name: Name;
  readonly chamber: Name;
  readonly properties: readonly Property[];
}
/** `draw NAME from CHAMBER { … }` */
export interface DrawStatement extends StatementBase {
  readonly kind: 'draw';
  readonly name: Name;
  readonly chamber: Name;
  readonly properties: readonly Property[];
}
/** `supply { limit 2 kW }` */
export interface SupplyStatement extends StatementBase {
  readonly kind: 'supply';
  readonly properties: readonly Property[];
}
/** `controller { response 50 ms +- 10 ms   timer_accuracy 2 % }` */
export interface ControllerStatement extends StatementBase {
  readonly kind: 'controller';
  readonly properties: readonly Property[];
}
/** `switch run = on` */
export interface SwitchStatement extends StatementBase {
  readonly kind: 'switch';
  readonly name: Name;
  readonly initial: Expression;
  readonly properties: readonly Property[];
}
/** `sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }` */
export interface SensorStatement extends StatementBase {
  readonly kind: 'sensor';
  readonly name: Name;
  readonly chamber: Name;
  readonly properties: readonly Property[];
}
/** `signal NAME = expression [responds T]` */
export interface SignalStatement extends StatementBase {
  readonly kind: 'signal';
  readonly name: Name;
  readonly value: Expression;
  readonly responds: Expression | null;
}
/** `drive DOOR|FEED|DRAW = expression` */
export interface DriveStatement extends StatementBase {
  readonly kind: 'drive';
  readonly target: Name;
  readonly value: Expression;
}
/** `sequence NAME on SIGNAL { at 0 s open upper, middle … repeat after 16 s }` */
export interface SequenceStatement extends StatementBase {
  readonly kind: 'sequence';
  readonly name: Name;
  readonly trigger: Name | null;
  readonly steps: readonly SequenceStep[];
  readonly repeatAfter: Expression | null;
  readonly repeatSpan: Span | null;
}
export interface SequenceStep {
  readonly at: Expression;
  /** `open` or `close`. */
  readonly action: Name;
  readonly doors: readonly Name[];
  readonly span: Span;
}
/** `require METRIC(…) COMPARISON VALUE [during SCENARIO]`; `order(…)` and `never(…)` take no comparison. */
export interface RequireStatement extends StatementBase {
  readonly kind: 'require';
  /** Usually a call; anything else is reported by the resolver. */
  readonly metric: Expression;
  readonly comparison: Comparison | null;
  readonly during: Name | null;
}
/** `prefer least|most METRIC(…) [during SCENARIO]` */
export interface PreferStatement extends StatementBase {
  readonly kind: 'prefer';
  /** `least` or `most`; null where it is missing (reported). */
  readonly direction: Name | null;
  /** Usually a call; anything else is reported by the resolver. */
  readonly metric: Expression;
  readonly during: Name | null;
}
export interface Comparison {
  readonly operator: '<' | '<=' | '>' | '>=' | '=' | '<>' | 'in';
  readonly operatorSpan: Span;
  /** For `in`: a binary expression with operator `..`. */
  readonly value: Expression;
  readonly span: Span;
}
/** `scenario NAME { at 0 s feed digester on … for 1 h }` */
export interface ScenarioStatement extends StatementBase {
  readonly kind: 'scenario';
  readonly name: Name;
  readonly steps: readonly ScenarioStep[];
  readonly duration: Expression | null;
}
export interface ScenarioStep {
  readonly at: Expression;
  /** `feed`, `draw`, `switch`, `sensor` or `power`. */
  readonly action: Name;
  /** Absent for `power`. */
  readonly target: Name | null;
  readonly state: StateLiteral | null;
  readonly span: Span;
}
/** A line that is not a statement; kept so that positions and the formatter lose nothing. */
export interface ErrorStatement extends StatementBase {
  readonly kind: 'error';
}

export type Statement =
  | ImportStatement
  | RigStatement
  | PartStatement
  | PlaceStatement
  | LetStatement
  | MediumStatement
  | ChamberStatement
  | DoorStatement
  | AtmosphereStatement
  | StackStatement
  | FeedStatement
  | DrawStatement
  | SupplyStatement
  | ControllerStatement
  | SwitchStatement
  | SensorStatement
  | SignalStatement
  | DriveStatement
  | SequenceStatement
  | RequireStatement
  | PreferStatement
  | ScenarioStatement
  | ErrorStatement;

export type StatementKind = Statement['kind'];

export interface Tree {
  readonly statements: readonly Statement[];
  readonly span: Span;
}

/** A mistake in the form of the text. `code` is `syntax/…`; offsets as everywhere. */
export interface SyntaxProblem {
  readonly code: string;
  readonly message: string;
  readonly span: Span;
  /** What stands there was not understood: what else is found of its line may follow from that alone. Absent where it was. */
  readonly misread?: true;
  /** Mechanical repairs, if any: replace `span` by `text`. */
  readonly fixes?: readonly {
    readonly title: string;
    readonly edits: readonly { readonly span: Span; readonly text: string }[];
  }[];
}

export type TokenKind =
  | 'keyword'
  | 'property'
  | 'word'
  | 'name'
  | 'function'
  | 'number'
  | 'unit'
  | 'string'
  | 'operator'
  | 'bracket'
  | 'separator'
  | 'comment'
  | 'newline'
  | 'unknown';

/** A token for the formatter, completion and semantic colours: every character but blanks belongs to exactly one. */
export interface Token {
  readonly kind: TokenKind;
  readonly text: string;
  readonly span: Span;
}

export interface ParseResult {
  readonly tree: Tree;
  readonly problems: readonly SyntaxProblem[];
  /** All tokens in order, comments and newlines included. */
  readonly tokens: readonly Token[];
}
