/** Requirements: arguments of metrics bound, comparisons as numbers. */
import type {
  CallExpression,
  Comparison,
  EventExpression,
  Expression,
  Name,
  PreferStatement,
  RequireStatement,
  Statement,
} from '../../../grammar/src/ast';
import { EVENT_WORDS } from '../../../grammar/src/vocabulary';
import { type At, type Binding, excerpt, place, report, type Scope } from './context';
import { evaluate } from './evaluate';
import { quantityFrom } from './quantities';
import { bind, noteNames } from './names';
import { booleanOf } from './network';
import type { Source } from './problem';
import type { Condition, DoorEvent, ItemKind, MetricArgument, Preference, Quantity, Requirement } from './rig';
import { say } from '../words/say';

const ARGUMENT_KINDS: readonly ItemKind[] = [
  'chamber',
  'door',
  'feed',
  'draw',
  'switch',
  'sensor',
  'signal',
  'sequence',
  'scenario',
  'let',
];

/** Reads a requirement; null where it is not a metric at all (reported). */
export function resolveRequirement(here: At, statement: RequireStatement): Requirement | null {
  const { scope } = here;
  if (isTurned(here, statement)) return null;
  const call = metricCall(here, statement.metric);
  const args = call === null ? [] : call.args.map((arg) => readArgument(here, arg));
  const comparison = statement.comparison === null ? null : readComparison(here, statement.comparison);
  const during = statement.during === null ? null : scenarioIndex(here, statement.during);
  if (call === null || comparison === 'broken' || during === 'broken') return null;
  return {
    text: writtenAfter(scope, statement.metric.span.start, statement),
    metric: call.callee.text,
    metricAt: place(scope, call.callee.span),
    args,
    comparison,
    during,
    at: place(scope, statement.span),
  };
}

const TURNED: Readonly<Record<string, string>> = { '<': '>', '<=': '>=', '>': '<', '>=': '<=', '=': '=', '<>': '<>' };

/** `require 100 ms <= gap(upper, lower)`: the two sides the other way round (reported). */
function isTurned(here: At, { metric, comparison }: RequireStatement): boolean {
  const { ctx, scope } = here;
  if (metric.kind === 'call' || metric.kind === 'missing' || comparison?.value.kind !== 'call') return false;
  const operator = TURNED[comparison.operator];
  if (operator === undefined) return false;
  noteNames(here, metric);
  noteNames(here, comparison.value);
  const [value, call] = [metric, comparison.value].map(({ span }) => excerpt(scope, span, 200));
  const text = `${call} ${operator} ${value}`;
  const at = place(scope, { start: metric.span.start, end: comparison.value.span.end });
  report(ctx, 'value/not-a-metric', say`The metric comes first: write ${text}.`, at, {
    fixes: [{ title: say`Turn the two sides round`, edits: [{ at, text }], preferred: true }],
  });
  return true;
}

/** Reads a preference; null where it is not a metric at all (reported). */
export function resolvePreference(here: At, statement: PreferStatement): Preference | null {
  const { scope } = here;
  const call = metricCall(here, statement.metric);
  const args = call === null ? [] : call.args.map((arg) => readArgument(here, arg));
  const during = statement.during === null ? null : scenarioIndex(here, statement.during);
  const direction = DIRECTIONS.find((word) => word === statement.direction?.text);
  if (call === null || during === 'broken' || direction === undefined) return null;
  return {
    text: writtenAfter(scope, statement.direction!.span.start, statement),
    direction,
    metric: call.callee.text,
    metricAt: place(scope, call.callee.span),
    args,
    during,
    at: place(scope, statement.span),
  };
}

const DIRECTIONS = ['least', 'most'] as const;

/** A statement from `start` on, as it is named in lists. */
function writtenAfter(scope: Scope, start: number, statement: Statement): string {
  const owner = scope.prefix === '' ? '' : ` (${scope.prefix.slice(0, -1)})`;
  return excerpt(scope, { start, end: statement.span.end }, 200) + owner;
}

function scenarioIndex(here: At, during: Name): number | 'broken' {
  const found = bind(here, during, ['scenario']);
  return found?.binding.kind === 'scenario' && found.binding.index >= 0 ? found.binding.index : 'broken';
}

function metricCall(here: At, metric: Expression): CallExpression | null {
  const { ctx, scope } = here;
  if (metric.kind === 'call') return metric.callee.text === '' ? null : metric;
  if (metric.kind === 'missing') return null;
  const at = place(scope, metric.span);
  if (metric.kind !== 'reference') noteNames(here, metric);
  const message = say`${excerpt(scope, metric.span)} is not a metric; one is written with its arguments in parentheses, such as repeat().`;
  const fixes =
    metric.kind === 'reference'
      ? [{ title: say`Add parentheses`, edits: [{ at: { ...at, start: at.end }, text: '()' }], preferred: true }]
      : [];
  report(ctx, 'value/not-a-metric', message, at, { fixes });
  return null;
}

function readArgument(here: At, arg: Expression): MetricArgument {
  const at = place(here.scope, arg.span);
  switch (arg.kind) {
    case 'event':
      return readEvent(here, arg, at);
    case 'reference':
      return readItem(here, arg, at);
    case 'missing':
      return { kind: 'unknown', at };
    default:
      return isCondition(arg) ? readCondition(here, arg, at) : readQuantity(here, arg, at);
  }
}

function isCondition(arg: Expression): boolean {
  if (arg.kind === 'state' || arg.kind === 'call') return true;
  if (arg.kind === 'unary') return arg.operator === 'not';
  return arg.kind === 'binary' && ['and', 'or', 'xor'].includes(arg.operator);
}

function readEvent(here: At, arg: EventExpression, at: Source): MetricArgument {
  const found = bind(here, arg.subject, ['door']);
  const event = arg.event.text;
  if (found?.binding.kind !== 'door' || found.binding.index < 0 || !EVENT_WORDS.includes(event)) {
    return { kind: 'unknown', at };
  }
  return { kind: 'event', door: found.binding.index, event: event as DoorEvent, name: found.binding.name, at };
}

function readItem(here: At, arg: Expression & { kind: 'reference' }, at: Source): MetricArgument {
  const found = bind(here, arg.name, ARGUMENT_KINDS);
  if (found === null) return { kind: 'unknown', at };
  const { binding } = found;
  if (binding.kind === 'let' || binding.kind === 'parameter') return readQuantity(here, arg, at);
  if (!('index' in binding) || binding.index < 0) return { kind: 'unknown', at };
  return { kind: 'item', of: binding.kind, index: binding.index, name: binding.name, at };
}

function readQuantity(here: At, arg: Expression, at: Source): MetricArgument {
  const made = readAny(here, arg);
  if (made === null) return { kind: 'unknown', at };
  return { kind: 'quantity', dimension: made.dimension, value: made.quantity, at };
}

function readAny(here: At, expression: Expression): { quantity: Quantity; dimension: string } | null {
  const { ctx, scope } = here;
  const amount = evaluate(here, expression);
  if (amount === null) return null;
  const made = quantityFrom(here, expression, amount);
  if (made === null) return null;
  if (made.dimension !== null) return { quantity: made.quantity, dimension: made.dimension };
  const message = say`${excerpt(scope, expression.span)} is of a dimension that the language has no name for.`;
  report(ctx, 'unit/dimension', message, place(scope, expression.span));
  return null;
}

type ConditionLeaf = Extract<Condition, { op: 'net' | 'door' }>;

function readCondition(here: At, arg: Expression, at: Source): MetricArgument {
  const condition = booleanOf(here, arg, (leaf) => conditionLeaf(here, leaf));
  return condition === null ? { kind: 'unknown', at } : { kind: 'condition', condition, at };
}

function conditionLeaf(here: At, leaf: Expression): ConditionLeaf | null {
  const { ctx, scope } = here;
  if (leaf.kind !== 'reference') {
    noteNames(here, leaf);
    const message = say`${excerpt(scope, leaf.span)} cannot stand in a condition; give it to a signal and name the signal here.`;
    report(ctx, 'value/not-a-signal', message, place(scope, leaf.span));
    return null;
  }
  const binding: Binding | undefined = bind(here, leaf.name, ['door', 'switch', 'sensor', 'signal'])?.binding;
  if (binding === undefined) return null;
  if (binding.kind === 'door') return binding.index < 0 ? null : { op: 'door', door: binding.index };
  return 'net' in binding ? { op: 'net', net: binding.net } : null;
}

function readComparison(here: At, comparison: Comparison): NonNullable<Requirement['comparison']> | 'broken' {
  const { operator, value } = comparison;
  const at = place(here.scope, comparison.span);
  if (operator !== 'in') {
    const made = readAny(here, value);
    if (made === null) return 'broken';
    return { operator, dimension: made.dimension, low: made.quantity, high: made.quantity, at };
  }
  if (value.kind === 'binary' && value.operator === '..') return readRange(here, value.left, value.right, at);
  // Reported by the parser; read for the names in it.
  readAny(here, value);
  return 'broken';
}

function readRange(
  here: At,
  left: Expression,
  right: Expression,
  at: Source,
): NonNullable<Requirement['comparison']> | 'broken' {
  const { ctx, scope } = here;
  const low = readAny(here, left);
  const high = readAny(here, right);
  if (low === null || high === null) return 'broken';
  if (low.dimension !== high.dimension) {
    report(
      ctx,
      'unit/dimension',
      say`The two ends of this range measure different things: ${low.dimension} and ${high.dimension}.`,
      at,
    );
    return 'broken';
  }
  if (low.quantity.nominal > high.quantity.nominal) {
    const swap = [
      { at: place(scope, left.span), text: excerpt(scope, right.span, 200) },
      { at: place(scope, right.span), text: excerpt(scope, left.span, 200) },
    ];
    report(ctx, 'value/conflict', say`The low end of this range is above its high end.`, at, {
      fixes: [{ title: say`Swap the ends`, edits: swap, preferred: true }],
    });
    return 'broken';
  }
  return { operator: 'in', dimension: low.dimension, low: low.quantity, high: high.quantity, at };
}
