/** Constants that may be chosen within a range: `let settle = 1.8 s in 500 ms .. 3 s`. */
import type { DimensionName } from '../units/dimensions';
import { dimensionOf } from '../units/dimensions';
import { type At, type Context, excerpt, type LetCell, place, report } from './context';
import { valueOf } from './evaluate';
import { quantityFrom, quantityOf } from './quantities';
import type { Choosable, Quantity } from './rig';
import { say } from '../words/say';

/** The range of a constant; null where it has none, or one that cannot hold (reported). */
export function readChoosable(ctx: Context, cell: LetCell): Choosable | null {
  const { statement, scope } = cell;
  if (statement.range === null) return null;
  const value = currentValue(ctx, cell);
  const range = value === null ? null : readRange({ ctx, scope }, statement.range, value.dimension);
  if (value === null || range === null || !isWithin(ctx, cell, value.quantity, range)) return null;
  const choosable: Choosable = {
    name: scope.prefix + statement.name.text,
    at: place(scope, statement.name.span),
    valueAt: place(scope, statement.value.span),
    dimension: value.dimension,
    value: value.quantity,
    ...range,
    overridden: cell.overridden,
  };
  return scope.repeated ? refuseInPart(ctx, cell) : choosable;
}

interface Ends {
  readonly low: Quantity;
  readonly high: Quantity;
}

function currentValue(ctx: Context, cell: LetCell): { quantity: Quantity; dimension: DimensionName } | null {
  const { statement, scope } = cell;
  const amount = valueOf(ctx, cell);
  if (amount === null) return null;
  const dimension = dimensionOf(amount.vector);
  const made = quantityFrom({ ctx, scope }, statement.value, amount);
  if (made === null) return null;
  if (dimension !== null) return { quantity: made.quantity, dimension };
  const message = say`${excerpt(scope, statement.value.span)} is of a dimension that the language has no name for, so it cannot have a range.`;
  report(ctx, 'unit/dimension', message, place(scope, statement.value.span));
  return null;
}

/** Both ends of a range of one dimension, the low one first; null where they are none (reported). */
function readRange(here: At, range: LetRange, dimension: DimensionName): Ends | null {
  const { ctx, scope } = here;
  // Anything but a range was reported by the parser.
  if (range.kind !== 'binary' || range.operator !== '..') return null;
  const low = quantityOf(here, range.left, [dimension], null);
  const high = quantityOf(here, range.right, [dimension], null);
  if (low === null || high === null) return null;
  if (low.quantity.nominal <= high.quantity.nominal) return { low: low.quantity, high: high.quantity };
  const swap = [
    { at: place(scope, range.left.span), text: excerpt(scope, range.right.span, 200) },
    { at: place(scope, range.right.span), text: excerpt(scope, range.left.span, 200) },
  ];
  report(ctx, 'value/conflict', say`The low end of this range is above its high end.`, place(scope, range.span), {
    fixes: [{ title: say`Swap the ends`, edits: swap, preferred: true }],
  });
  return null;
}

type LetRange = NonNullable<LetCell['statement']['range']>;

function isWithin(ctx: Context, cell: LetCell, value: Quantity, { low, high }: Ends): boolean {
  if (value.nominal >= low.nominal && value.nominal <= high.nominal) return true;
  const { statement, scope } = cell;
  const range = excerpt(scope, statement.range!.span);
  const { name } = statement;
  const given = excerpt(scope, statement.value.span);
  const message = cell.overridden
    ? say`The value given from outside for ${name.text} is outside its range, ${range}.`
    : say`${name.text} is ${given}, outside its range ${range}.`;
  const at = place(scope, cell.overridden ? name.span : statement.value.span);
  report(ctx, 'value/out-of-range', message, at, {
    related: [{ at: place(scope, statement.range!.span), message: say`the range` }],
  });
  return false;
}

/** What stands in a part is read at every place of it, so that one choice could not be made for all. */
function refuseInPart(ctx: Context, cell: LetCell): null {
  const { statement, scope } = cell;
  const message = say`The range of ${statement.name.text} has no effect in a part; make ${statement.name.text} a parameter and state the range where the part is placed.`;
  report(ctx, 'value/no-effect', message, place(scope, statement.range!.span));
  return null;
}
