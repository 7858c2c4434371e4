/** Arguments in another order than the block, part or metric takes them: one message instead of one for each. */
import type {
  CallExpression,
  DriveStatement,
  Expression,
  PartStatement,
  PlaceStatement,
  Statement,
} from '../../../grammar/src/ast';
import { FUNCTIONS, type FunctionSpec } from '../../../grammar/src/vocabulary';
import { type At, excerpt, markIncomplete, place, report, type Scope } from './context';
import { lookup } from './names';
import { say } from '../words/say';

/** What an expression looks like, without computing it; null where that cannot be known. */
type Shape = 'logic' | 'quantity';

function shapeOf(scope: Scope, expression: Expression, around: Around = []): Shape | null {
  switch (expression.kind) {
    case 'quantity':
      return 'quantity';
    case 'state':
    case 'call':
      return 'logic';
    case 'unary':
      return expression.operator === 'not' ? 'logic' : shapeOf(scope, expression.operand, around);
    case 'binary':
      if (['and', 'or', 'xor'].includes(expression.operator)) return 'logic';
      return ['+', '-', '*', '/', '+-'].includes(expression.operator) ? 'quantity' : null;
    case 'reference':
      return shapeOfName(scope, expression, around);
    default:
      return null;
  }
}

/** Statements of the body whose names are still being declared. */
type Around = readonly Statement[];

function shapeOfName(scope: Scope, { name }: Expression & { kind: 'reference' }, around: Around): Shape | null {
  const binding = lookup(scope, name.text);
  if (binding === null) return shapeOfStatement(around.find((s) => 'name' in s && s.name?.text === name.text));
  if (binding.kind === 'let') return 'quantity';
  if ('net' in binding) return 'logic';
  // What a place gives to a parameter is its own mistake, reported there.
  return null;
}

function shapeOfStatement(statement: Statement | undefined): Shape | null {
  if (statement?.kind === 'let') return 'quantity';
  return statement && ['switch', 'sensor', 'signal'].includes(statement.kind) ? 'logic' : null;
}

/** The arguments of a block in the order it takes them, where they were given in another (reported); null where they were not. */
export function unswapped(here: At, call: CallExpression, spec: FunctionSpec): readonly Expression[] | null {
  const { ctx, scope } = here;
  const amount = spec.inputs.findIndex((input) => input === 'PT' || input === 'PV');
  if (amount < 0 || shapeOf(scope, call.args[amount]!) !== 'logic') return null;
  const given = call.args.findIndex((arg) => shapeOf(scope, arg) === 'quantity');
  const others = call.args.filter((_, i) => i !== given);
  if (given < 0 || others.some((arg) => shapeOf(scope, arg) === 'quantity')) return null;
  const ordered = [...others.slice(0, amount), call.args[given]!, ...others.slice(amount)];
  const written = ordered.map((arg) => excerpt(scope, arg.span, 200)).join(', ');
  const { name, inputs } = spec;
  const at = place(scope, call.argsSpan);
  const message = say`${name} takes ${inOrder(inputs)}: write ${name}(${written}).`;
  report(ctx, 'value/arguments', message, at, {
    fixes: [{ title: say`Swap the inputs`, edits: [{ at, text: `(${written})` }], preferred: true }],
  });
  return ordered;
}

/** `drive upper_on = upper`: what drives and what is driven the other way round; one message for both. */
export function turnedDrive(here: At, { target, value, span }: DriveStatement, kinds: readonly string[]): boolean {
  const { ctx, scope } = here;
  if (value.kind !== 'reference') return false;
  const [driver, driven] = [lookup(scope, target.text), lookup(scope, value.name.text)];
  if (driver === null || driven === null || !('net' in driver)) return false;
  if (!kinds.includes(driven.kind)) return false;
  const at = place(scope, { start: target.span.start, end: value.span.end });
  const text = `${value.name.text} = ${target.text}`;
  const message = say`A drive names first what is driven, then what drives it: drive ${text}.`;
  report(ctx, 'name/wrong-kind', message, at, {
    fixes: [{ title: say`Write drive ${text}`, edits: [{ at, text }], preferred: true }],
  });
  markIncomplete(here, span);
  return true;
}

const INPUTS: ReadonlyMap<string, readonly string[]> = new Map(FUNCTIONS.map((f) => [f.name, f.inputs]));

/** Notes what an expression takes each name for. */
function noteShapes(expression: Expression, shape: Shape, found: Map<string, Set<Shape>>): void {
  switch (expression.kind) {
    case 'reference': {
      const known = found.get(expression.name.text);
      if (known === undefined) found.set(expression.name.text, new Set([shape]));
      else known.add(shape);
      return;
    }
    case 'unary':
      return noteShapes(expression.operand, shape, found);
    case 'binary':
      noteShapes(expression.left, shape, found);
      return noteShapes(expression.right, shape, found);
    case 'call': {
      const inputs = INPUTS.get(expression.callee.text);
      expression.args.forEach((arg, i) => {
        const input = inputs?.[i];
        if (input !== undefined) noteShapes(arg, input === 'PT' || input === 'PV' ? 'quantity' : 'logic', found);
      });
    }
  }
}

function shapesIn(body: readonly Statement[]): ReadonlyMap<string, ReadonlySet<Shape>> {
  const found = new Map<string, Set<Shape>>();
  for (const statement of body) {
    if (statement.kind === 'signal' || statement.kind === 'drive') noteShapes(statement.value, 'logic', found);
    if (statement.kind === 'let') noteShapes(statement.value, 'quantity', found);
    if (!('properties' in statement)) continue;
    for (const { value } of statement.properties) if (value) noteShapes(value, 'quantity', found);
  }
  return found;
}

/** The arguments of a place with the two that stand in each other's place put right (reported); as written where none do. */
export function unswappedArguments(
  here: At,
  { args }: PlaceStatement,
  part: PartStatement,
  around: Around,
): readonly Expression[] {
  const { ctx, scope } = here;
  if (args.length !== part.parameters.length || args.length < 2) return args;
  const shapes = shapesIn(part.body);
  const wrong = args.flatMap((arg, i) => {
    const wanted = shapes.get(part.parameters[i]!.text);
    const given = shapeOf(scope, arg, around);
    return wanted?.size === 1 && given !== null && !wanted.has(given) ? [{ i, given }] : [];
  });
  const [first, second] = wrong;
  if (wrong.length !== 2 || first!.given === second!.given) return args;
  const ordered = args.map((arg, i) => (i === first!.i ? args[second!.i]! : i === second!.i ? args[first!.i]! : arg));
  const written = ordered.map((arg) => excerpt(scope, arg.span, 200)).join(', ');
  const at = place(scope, { start: args[0]!.span.start, end: args[args.length - 1]!.span.end });
  const names = inOrder(part.parameters.map((p) => p.text));
  const message = say`The part ${part.name.text} takes ${names}: write ${part.name.text}(${written}).`;
  report(ctx, 'value/arguments', message, at, {
    fixes: [{ title: say`Swap the arguments`, edits: [{ at, text: written }], preferred: true }],
  });
  return ordered;
}

/** `IN, then PT` */
const inOrder = (names: readonly string[]): string => names.reduce((before, name) => say`${before}, then ${name}`);
