/** The codes that the resolver reports, with what each means: read by the registry of checks, `explain` and the reference. */
import type { Severity } from './problem';

export interface ProblemCodeSpec {
  readonly code: string;
  readonly severity: Severity;
  /** A short name for lists. */
  readonly title: string;
  /** What it means and what to do about it. */
  readonly explanation: string;
}

const spec = <Code extends string>(
  code: Code,
  title: string,
  explanation: string,
  severity: Severity = 'error',
): ProblemCodeSpec & { readonly code: Code } => ({ code, severity, title, explanation });

export const PROBLEM_CODES = [
  spec(
    'name/unknown',
    'Unknown name',
    'Nothing of this name is declared here, in the file or in what it imports. Where a declared name is near, it is offered.',
  ),
  spec(
    'name/duplicate',
    'Name declared twice',
    'All names of a rig (chambers, doors, feeds, draws, switches, sensors, signals, sequences, scenarios, places, constants) share one list. The first declaration counts; rename the other.',
  ),
  spec(
    'name/unused',
    'Declared but never used',
    'A constant, signal or part that nothing uses. Remove it, or use it.',
    'hint',
  ),
  spec(
    'name/wrong-kind',
    'Name of another kind of item',
    'The name exists but denotes something other than is needed here, for instance a door where a chamber is needed.',
  ),
  spec(
    'name/look-alike',
    'Two names that look the same',
    'Two names differ only by letters that look alike, for instance a Latin and a Cyrillic a. Rename one.',
    'warning',
  ),
  spec(
    'name/circle',
    'Defined by itself',
    'A constant is defined by itself, or a part contains itself, through the names listed. Break the circle. (Signals may refer to themselves: that is feedback.)',
  ),
  spec(
    'name/dotted',
    'Dot in a declared name',
    'Dots reach into placed parts (gate.upper is upper in the part placed as gate); a name that is declared has none.',
  ),
  spec('unit/unknown', 'Unknown unit', 'The unit is not in the table of units. A near match is offered.'),
  spec('unit/missing', 'Unit missing', 'Every quantity carries a unit; the likely ones are offered.'),
  spec(
    'unit/dimension',
    'Wrong dimension',
    'The value measures something else than is needed here; the message names both.',
  ),
  spec(
    'unit/offset',
    'Sum or multiple of gauge values',
    'Gauge pressures and degrees Celsius count from a shifted zero. Two of them cannot be added, negated or multiplied; their difference, or one of them plus an absolute value, is fine. Write such values in bar or K.',
  ),
  spec(
    'value/too-fine',
    'Finer than a microsecond',
    'Times are whole microseconds and never rounded. Write a time that is a whole number of microseconds.',
  ),
  spec(
    'value/out-of-range',
    'Value out of range',
    'The value is impossible here: a volume of nothing, a pressure below vacuum, a negative time, a fraction above 100 %.',
  ),
  spec('value/zero-division', 'Division by zero', 'The divisor is zero, or its tolerance reaches zero.'),
  spec(
    'value/not-a-quantity',
    'A quantity is needed',
    'The expression is a signal, a state or a call where a quantity (a number with its unit) is needed.',
  ),
  spec(
    'value/not-a-signal',
    'A signal is needed',
    'The expression is a quantity or a comparison where something that is on or off is needed. Sensors compare; signals combine.',
  ),
  spec(
    'value/not-a-metric',
    'A metric is needed',
    'A requirement names a metric with its arguments in parentheses, such as repeat() or gap(upper, lower).',
  ),
  spec(
    'value/arguments',
    'Wrong number of arguments',
    'A timer, latch, counter or part has been given more or fewer arguments than it takes.',
  ),
  spec('value/missing', 'Something is not stated', 'The statement lacks something without which it has no meaning.'),
  spec(
    'value/repeated',
    'Stated twice',
    'A property, the controller, the medium or the supply is stated twice, or a door has two places in the stacks. The first one counts; remove the other.',
  ),
  spec(
    'value/conflict',
    'Statements that contradict each other',
    'Two values cannot both hold: a clearance larger than its pocket, a range whose low end is above its high end, a sensor that clears on the wrong side.',
  ),
  spec(
    'value/step-order',
    'Steps of a sequence do not fit together',
    'A sequence opens a door that is open, closes one that is shut, never closes one, or repeats before its last step.',
  ),
  spec(
    'value/no-effect',
    'Has no effect',
    'What is written is legal but changes nothing, for instance a response in a scanned controller, a step after the end of its scenario, or a comment that allows a finding which is not there.',
    'warning',
  ),
  spec(
    'value/too-large',
    'Rig too large',
    'Placing parts inside parts would make the rig larger than the 20 000 statements, or deeper than the 64 parts, that are computed. The place is left out.',
  ),
  spec(
    'value/override',
    'Value from outside not usable',
    'A constant given from outside names no constant of the file.',
  ),
  spec(
    'value/overridden',
    'Constant has another value than the text says',
    'A constant was given another value with `--let` or in the setting `caisson.constants`. Everything computed from it rests on that value; changing the text has no effect here.',
    'information',
  ),
  spec(
    'import/missing',
    'Imported file not read',
    'The imported file is not there or is not read: only regular files of UTF-8 text up to 4 MB are, never from another machine, and in a workspace that is not trusted only files inside it.',
  ),
  spec('import/circle', 'Files import each other', 'The file is imported by a file that it imports itself.'),
  spec(
    'import/ambiguous',
    'Two imported files give the same name',
    'The first file that gives a name counts. Rename one of the two, or declare the name in this file, which hides both.',
    'warning',
  ),
] as const;

/** A code of `PROBLEM_CODES`. */
export type ProblemCode = (typeof PROBLEM_CODES)[number]['code'];

const SEVERITIES = new Map<string, Severity>(PROBLEM_CODES.map((entry) => [entry.code, entry.severity]));

export function severityOf(code: ProblemCode): Severity {
  return SEVERITIES.get(code)!;
}
