/** Computing constants: expressions → exact amounts, each mistake reported where it stands. */
import type { BinaryExpression, Expression, QuantityLiteral, UnaryExpression } from '../../../grammar/src/ast';
import { describe, describeVector, type DimensionName, dimensionOf } from '../units/dimensions';
import { type Rational, toNumber } from '../units/rational';
import { AMBIGUOUS_UNITS, COMMON_SLIPS, type Unit, UNITS } from '../units/table';
import { timeLiteral, unitNamed, unitsOf } from '../units/units';
import {
  addAmounts,
  type Amount,
  type AmountError,
  type Literal,
  negateAmount,
  readLiteral,
  scaleAmounts,
  widenAmount,
} from './amounts';
import { type At, type Context, excerpt, type LetCell, place, report, type Scope } from './context';
import { bind, finalArgument, noteNames, ownName } from './names';
import { suggest, suggestionOf } from './near-match';
import type { Fix, Source } from './problem';

/** Dimensions that a place takes; only units of these are suggested there. Absent: any. */
type Wanted = readonly DimensionName[] | undefined;

/** Computes an expression; null where that cannot be done (reported, or nothing was written). */
export function evaluate(here: At, expression: Expression, wanted?: Wanted): Amount | null {
  switch (expression.kind) {
    case 'quantity':
      return evaluateLiteral(here, expression, 'value', wanted);
    case 'reference':
      return evaluateName(here, expression, wanted);
    case 'unary':
      return evaluateUnary(here, expression, wanted);
    case 'binary':
      return evaluateBinary(here, expression, wanted);
    case 'missing':
      return null;
    default:
      return refuse(here, expression);
  }
}

function refuse(here: At, expression: Expression): null {
  const { ctx, scope } = here;
  const written = excerpt(scope, expression.span);
  report(
    ctx,
    'value/not-a-quantity',
    `${written} is not a quantity; a number with its unit is needed.`,
    place(scope, expression.span),
  );
  noteNames(here, expression);
  return null;
}

function evaluateLiteral(
  here: At,
  literal: QuantityLiteral,
  as: 'value' | 'difference',
  wanted?: Wanted,
): Amount | null {
  const { ctx, scope } = here;
  const unit = literal.unit?.text ?? null;
  if (unit === '') return null;
  const read = literalOf(ctx, literal.number, unit);
  if (!read.ok) {
    if (read.reason === 'unit') return unknownUnit(here, literal, wanted);
    const message = 'This number has too many digits to be a quantity.';
    report(ctx, 'value/out-of-range', message, place(scope, literal.numberSpan));
    return null;
  }
  if (read.time !== null && typeof read.time !== 'number') {
    const at = place(scope, literal.span);
    return refuseTime(ctx, read.value.nominal, read.time, at, excerpt(scope, literal.span));
  }
  return as === 'value' ? read.value : read.difference;
}

function literalOf(ctx: Context, number: string, unit: string | null): Literal {
  const key = unit ?? '';
  let known = ctx.literals.get(key);
  if (known === undefined) ctx.literals.set(key, (known = new Map()));
  let literal = known.get(number);
  if (literal === undefined) known.set(number, (literal = readLiteral(number, unit)));
  return literal;
}

/** A piece of a unit as it is written here: `g/sec` is `g/s`. */
const unitWord = (word: string): string => (Object.hasOwn(COMMON_SLIPS, word) ? COMMON_SLIPS[word]! : word);

function unknownUnit(here: At, literal: QuantityLiteral, wanted: Wanted): null {
  const { ctx, scope } = here;
  const { text, span } = literal.unit!;
  const at = place(scope, span);
  const ambiguous = Object.hasOwn(AMBIGUOUS_UNITS, text) ? AMBIGUOUS_UNITS[text]! : null;
  if (ambiguous !== null) {
    const choices = ambiguous.meant.map((name): Fix => ({ title: `Change to ${name}`, edits: [{ at, text: name }] }));
    report(ctx, 'unit/unknown', `${text} is not a known unit: ${ambiguous.why}.`, at, { fixes: choices });
    return null;
  }
  const fits = (unit: Unit): boolean => wanted === undefined || wanted.includes(unit.dimension);
  const slip = unitNamed(unitWord(text)) ?? unitNamed(text.split('/').map(unitWord).join('/'));
  const fitting = UNITS.filter(fits).map((u) => u.name);
  const names = [...fitting.filter((name) => name.startsWith(text)), ...fitting];
  const near = slip !== null && fits(slip) ? suggestionOf(slip.name, at) : suggest(text, names, at);
  if (near.fixes.length > 0 || wanted === undefined || names.length === 0) {
    report(ctx, 'unit/unknown', `${text} is not a known unit.${near.question}`, at, { fixes: near.fixes });
    return null;
  }
  const likely = wanted.flatMap((dimension) => unitsOf(dimension).slice(0, wanted.length > 1 ? 2 : 4));
  const such = likely.map((u) => u.name).join(', ');
  const fixes = likely.slice(0, 3).map((u): Fix => ({ title: `Change to ${u.name}`, edits: [{ at, text: u.name }] }));
  report(ctx, 'unit/unknown', `${text} is not a known unit; ${oneOf(wanted)} is needed here, in ${such}.`, at, {
    fixes,
  });
  return null;
}

/** Reports a time that is not a whole number of microseconds within bounds. */
export function refuseTime(
  ctx: Context,
  seconds: Rational,
  why: 'too-fine' | 'out-of-range',
  at: Source,
  written: string,
): null {
  if (why === 'too-fine') {
    const us = toNumber(seconds) * 1e6;
    const size = `${Number(us.toPrecision(9))} us`;
    const is = size === written ? 'is' : `is ${size},`;
    const rounded = timeLiteral(Math.max(1, Math.round(us)));
    report(
      ctx,
      'value/too-fine',
      `${written} ${is} not a whole number of microseconds, the finest time there is.`,
      at,
      {
        fixes: us > 0 ? [{ title: `Change to ${rounded}`, edits: [{ at, text: rounded }] }] : [],
      },
    );
  } else {
    report(ctx, 'value/out-of-range', `${written} is longer than the longest time there is, about 285 years.`, at);
  }
  return null;
}

function evaluateName(here: At, expression: Expression & { kind: 'reference' }, wanted: Wanted): Amount | null {
  const { ctx } = here;
  const found = bind(here, expression.name, ['let']);
  if (found === null) return null;
  if (found.binding.kind === 'let') return valueOf(ctx, found.binding.cell);
  if (found.binding.kind !== 'parameter' || found.binding.argument === null) return null;
  const { expression: argument, scope: outer } = finalArgument(found.binding.argument);
  return evaluate({ ctx, scope: outer }, argument, wanted);
}

function evaluateUnary(here: At, expression: UnaryExpression, wanted: Wanted): Amount | null {
  if (expression.operator === 'not') return refuse(here, expression);
  const { operand } = expression;
  // `-10 degC` and `-0.2 barg` are values on their scales, not negated absolute ones.
  if (operand.kind === 'quantity') {
    return evaluateLiteral(here, { ...operand, number: `-${operand.number}`, span: expression.span }, 'value', wanted);
  }
  const amount = evaluate(here, operand, wanted);
  return amount === null ? null : settled(here, expression, negateAmount(amount), amount, amount);
}

function evaluateBinary(here: At, expression: BinaryExpression, wanted: Wanted): Amount | null {
  const { ctx, scope } = here;
  const { operator } = expression;
  switch (operator) {
    case '+-':
      return evaluateTolerance(here, expression, wanted);
    case '+':
    case '-':
    case '*':
    case '/': {
      const sum = operator === '+' || operator === '-';
      const left = evaluate(here, expression.left, sum ? wanted : undefined);
      const right = evaluate(here, expression.right, sum ? wanted : undefined);
      if (left === null || right === null) return null;
      const result = sum ? addAmounts(left, right, operator) : scaleAmounts(left, right, operator);
      return settled(here, expression, result, left, right);
    }
    case '..': {
      const message = 'A range can stand only after `in` of a requirement.';
      report(ctx, 'value/not-a-quantity', message, place(scope, expression.span));
      noteNames(here, expression);
      return null;
    }
    default:
      return refuse(here, expression);
  }
}

function evaluateTolerance(here: At, expression: BinaryExpression, wanted: Wanted): Amount | null {
  const { ctx, scope } = here;
  const left = evaluate(here, expression.left, wanted);
  const { right } = expression;
  // A tolerance is a difference: +- 0.1 barg is 0.1 bar either way.
  const spread = wanted === undefined ? undefined : ([...wanted, 'none'] as const);
  const by =
    right.kind === 'quantity' ? evaluateLiteral(here, right, 'difference', spread) : evaluate(here, right, spread);
  if (left === null || by === null) return null;
  if (by.low.n < 0n) {
    const message = `A tolerance cannot be negative: ${excerpt(scope, right.span)}.`;
    report(ctx, 'value/out-of-range', message, place(scope, right.span));
    return null;
  }
  return settled(here, expression, widenAmount(left, by), left, by);
}

const OPERATION_WORDS: Readonly<Record<string, string>> = {
  '+': 'be added to',
  '-': 'be subtracted from',
  '+-': 'be a tolerance of',
};

/** Reports what went wrong in an operation, or passes its result on. */
function settled(
  here: At,
  expression: BinaryExpression | UnaryExpression,
  result: Amount | AmountError,
  left: Amount,
  right: Amount,
): Amount | null {
  const { ctx, scope } = here;
  if (typeof result !== 'string') return result;
  const at = place(scope, expression.span);
  if (result === 'dimension' && expression.kind === 'binary') mismatch(here, expression, left, right);
  if (result === 'offset') {
    const written = excerpt(scope, expression.span);
    const message = `${written} has no single meaning, because gauge pressures and degC count from a shifted zero; write it in bar or K.`;
    report(ctx, 'unit/offset', message, at);
  }
  if (result === 'zero' && expression.kind === 'binary') {
    report(
      ctx,
      'value/zero-division',
      'This divides by zero, or by a tolerance that reaches zero.',
      place(scope, expression.right.span),
    );
  }
  if (result === 'size')
    report(ctx, 'value/out-of-range', 'The result is a number too large or too fine to be a quantity.', at);
  return null;
}

function mismatch(here: At, expression: BinaryExpression, left: Amount, right: Amount): void {
  const { ctx, scope } = here;
  for (const [bare, side, other] of [
    [right.bare, expression.right, left],
    [left.bare, expression.left, right],
  ] as const) {
    const dimension = dimensionOf(other.vector);
    if (bare && side.kind === 'quantity' && dimension !== null) return missingUnit(here, side, [dimension]);
  }
  const how = OPERATION_WORDS[expression.operator] ?? 'be combined with';
  const [moved, to] = [describeVector(right.vector), describeVector(left.vector)];
  const message = `${moved[0]!.toUpperCase()}${moved.slice(1)} cannot ${how} ${to}.`;
  report(ctx, 'unit/dimension', message, place(scope, expression.span));
}

/** `300` where a time is needed: offers the likeliest units. */
export function missingUnit(here: At, literal: QuantityLiteral, wanted: readonly DimensionName[]): void {
  const { ctx, scope } = here;
  const at = place(scope, literal.span);
  const units = wanted.flatMap((dimension) => unitsOf(dimension).slice(0, 3));
  const end: Source = { ...at, start: literal.numberSpan.end, end: literal.numberSpan.end };
  const fixes: Fix[] = units.map((u) => ({
    title: `Add the unit ${u.name} (${u.doc})`,
    edits: [{ at: end, text: ` ${u.name}` }],
  }));
  const such = units[0] === undefined ? '' : `, such as ${literal.number} ${units[0].name}`;
  const message = `${literal.number} has no unit; ${oneOf(wanted)} is needed here${such}.`;
  report(ctx, 'unit/missing', message, at, { fixes });
}

/** `a pressure, a density or a mass` */
export function oneOf(dimensions: readonly DimensionName[]): string {
  const words = dimensions.map(describe);
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} or ${words[words.length - 1]!}`;
}

/** Names of constants in an expression that are not computed yet. */
function openLets(scope: Scope, expression: Expression, found: LetCell[] = []): LetCell[] {
  if (expression.kind === 'reference') {
    for (let at: Scope | null = scope; at !== null; at = at.parent) {
      const binding = ownName(at, expression.name.text);
      if (binding === null) continue;
      if (binding.kind === 'let' && binding.cell.state !== 'done') found.push(binding.cell);
      if (binding.kind === 'parameter' && binding.argument !== null) {
        openLets(binding.argument.scope, binding.argument.expression, found);
      }
      break;
    }
  } else if (expression.kind === 'binary') {
    openLets(scope, expression.left, found);
    openLets(scope, expression.right, found);
  } else if (expression.kind === 'unary') {
    openLets(scope, expression.operand, found);
  }
  return found;
}

/** Reports a circle and leaves its constants without value; their texts are still read, for the names they use. */
function breakCircle(ctx: Context, circle: readonly LetCell[]): void {
  reportCircle(ctx, circle);
  for (const member of circle) member.state = 'done';
  for (const member of circle) evaluate({ ctx, scope: member.scope }, member.expression);
}

function reportCircle(ctx: Context, circle: readonly LetCell[]): void {
  const shown = circle.length > 8 ? circle.slice(0, 8) : circle;
  const names = [...shown, circle[0]!].map((cell) => cell.statement.name.text);
  if (shown !== circle) names.splice(-1, 0, `${circle.length - shown.length} more`);
  const cell = circle[0]!;
  const message = `${names[0]!} is defined by itself: ${names.join(' → ')}.`;
  report(ctx, 'name/circle', message, place(cell.scope, cell.statement.name.span));
}

/** Places in a text given from outside are not places in the file: its problems are reported as one, at the constant. */
function evaluateOverride(ctx: Context, cell: LetCell): Amount | null {
  noteNames({ ctx, scope: cell.scope }, cell.statement.value);
  const value = evaluate(
    { ctx: { ...ctx, problems: [], uses: [], reported: new Set() }, scope: cell.scope },
    cell.expression,
  );
  if (value !== null) return value;
  const { name } = cell.statement;
  const message = `The value given from outside for ${name.text} cannot be computed; ${name.text} is left without value.`;
  report(ctx, 'value/override', message, place(cell.scope, name.span));
  return null;
}

/**
 * Value of a constant, computed once. Constants it needs come first, with a stack of our own, so that a chain of thousands
 * in any order does not exhaust the one of the machine.
 */
export function valueOf(ctx: Context, cell: LetCell): Amount | null {
  if (cell.state === 'done') return cell.value;
  if (cell.state === 'working') {
    reportCircle(ctx, [cell]);
    return null;
  }
  const stack: LetCell[] = [cell];
  while (stack.length > 0) {
    const top = stack[stack.length - 1]!;
    const open = top.state === 'done' ? [] : openLets(top.scope, top.expression);
    const started = open.find((other) => other.state === 'working');
    if (top.state === 'open') top.state = 'working';
    if (started !== undefined || open.includes(top)) {
      const circle = stack.filter((other) => other.state === 'working');
      breakCircle(ctx, circle.slice(Math.max(0, circle.indexOf(started ?? top))));
      continue;
    }
    if (open.length > 0) {
      stack.push(...open);
      continue;
    }
    if (top.state === 'working') {
      const value = top.overridden ? evaluateOverride(ctx, top) : evaluate({ ctx, scope: top.scope }, top.expression);
      // What could be read of a damaged line may be another value than the one that is meant.
      top.value = top.statement.damaged ? null : value;
      top.state = 'done';
    }
    stack.pop();
  }
  return cell.value;
}
