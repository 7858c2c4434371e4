/** Computing constants: expressions → exact amounts, each mistake reported where it stands. */
import type { BinaryExpression, Expression, UnaryExpression } from '../../../grammar/src/ast';
import { describeVector, dimensionOf } from '../units/dimensions';
import { addAmounts, type Amount, type AmountError, negateAmount, scaleAmounts, widenAmount } from './amounts';
import { type At, type Context, excerpt, type LetCell, place, report, type Scope } from './context';
import { evaluateLiteral, missingUnit, type Wanted } from './literals';
import { bind, finalArgument, noteNames, ownName } from './names';
import { say } from '../words/say';

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
    say`${written} is not a quantity; a number with its unit is needed.`,
    place(scope, expression.span),
  );
  noteNames(here, expression);
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
      const message = say`A range can stand only after \`in\` of a requirement.`;
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
    const message = say`A tolerance cannot be negative: ${excerpt(scope, right.span)}.`;
    report(ctx, 'value/out-of-range', message, place(scope, right.span));
    return null;
  }
  return settled(here, expression, widenAmount(left, by), left, by);
}

const OPERATION_TEXTS: Readonly<Record<string, (moved: string, to: string) => string>> = {
  '+': (moved, to) => say`${moved} cannot be added to ${to}.`,
  '-': (moved, to) => say`${moved} cannot be subtracted from ${to}.`,
  '+-': (moved, to) => say`${moved} cannot be a tolerance of ${to}.`,
};
const combined = (moved: string, to: string): string => say`${moved} cannot be combined with ${to}.`;

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
    const message = say`${written} has no single meaning, because gauge pressures and degC count from a shifted zero; write it in bar or K.`;
    report(ctx, 'unit/offset', message, at);
  }
  if (result === 'zero' && expression.kind === 'binary') {
    report(
      ctx,
      'value/zero-division',
      say`This divides by zero, or by a tolerance that reaches zero.`,
      place(scope, expression.right.span),
    );
  }
  if (result === 'size')
    report(ctx, 'value/out-of-range', say`The result is a number too large or too fine to be a quantity.`, at);
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
  const [moved, to] = [describeVector(right.vector), describeVector(left.vector)];
  const text = OPERATION_TEXTS[expression.operator] ?? combined;
  const message = text(`${moved[0]!.toUpperCase()}${moved.slice(1)}`, to);
  report(ctx, 'unit/dimension', message, place(scope, expression.span));
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
  if (shown !== circle) names.splice(-1, 0, say`${circle.length - shown.length} more`);
  const cell = circle[0]!;
  const message = say`${names[0]!} is defined by itself: ${names.join(' → ')}.`;
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
  const message = say`The value given from outside for ${name.text} cannot be computed; ${name.text} is left without value.`;
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
