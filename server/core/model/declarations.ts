/** The first pass over statements: names are declared, indices and nets given out, placed parts opened. */
import type {
  Expression,
  LetStatement,
  MediumStatement,
  Name,
  PartStatement,
  PlaceStatement,
  Statement,
} from '../../../grammar/src/ast';
import {
  type At,
  excerpt,
  type Argument,
  type Binding,
  type Context,
  createScope,
  declare,
  declareAt,
  type LetCell,
  type NetItemKind,
  type PlainItemKind,
  place,
  report,
  type Scope,
} from './context';
import { bind, lookup } from './names';
import type { Source } from './problem';
import type { ItemKind, Net } from './rig';
import { unswappedArguments } from './swapped';
import { say } from '../words/say';

/** A statement with the scope it stands in and what its name was given. */
export interface Step {
  readonly statement: Statement;
  readonly scope: Scope;
  readonly binding: Binding | null;
  /** Steps of a placed part. */
  readonly inner: readonly Step[] | null;
}

type PartBinding = Extract<Binding, { kind: 'part' }>;

/** Counters of one rig while names are declared. */
export interface Tally {
  readonly ctx: Context;
  readonly counts: Record<
    'chamber' | 'door' | 'line' | 'switch' | 'sensor' | 'signal' | 'sequence' | 'scenario',
    number
  >;
  readonly nets: Net[];
  /** Statements declared so far, those of placed parts counted at each place. */
  statements: number;
}

export function createTally(ctx: Context): Tally {
  return {
    ctx,
    counts: { chamber: 0, door: 0, line: 0, switch: 0, sensor: 0, signal: 0, sequence: 0, scenario: 0 },
    nets: [],
    statements: 0,
  };
}

/** Twice the longest rig that the engines are made for. */
const MOST_STATEMENTS = 20_000;
const DEEPEST_PLACE = 64;

/** How many statements placing a part brings; without end where parts stand too deep. A circle counts once: it is reported. */
function sizeOf(part: PartBinding, known: Map<PartStatement, number>, depth: number): number {
  const before = known.get(part.statement);
  if (before !== undefined) return before;
  if (depth > DEEPEST_PLACE) return Number.POSITIVE_INFINITY;
  known.set(part.statement, 0);
  let size = part.statement.body.length;
  for (const statement of part.statement.body) {
    if (statement.kind !== 'place') continue;
    const inner = lookup(part.scope, statement.part.text);
    if (inner?.kind === 'part') size += sizeOf(inner, known, depth + 1);
  }
  known.set(part.statement, size);
  return size;
}

/** Enters a name, or reports it as declared before. */
function enter(here: At, name: Name, binding: Binding): boolean {
  const { scope } = here;
  const first = scope.names.get(name.text);
  if (first === undefined) {
    scope.names.set(name.text, binding);
    return true;
  }
  reportDuplicate(here, name, first.declaration);
  return false;
}

function reportDuplicate(here: At, name: Name, first: number): void {
  const { ctx, scope } = here;
  const related = [{ at: ctx.declarations[first]!.at, message: say`${name.text} is declared first here` }];
  report(ctx, 'name/duplicate', say`${name.text} is declared twice.`, place(scope, name.span), { related });
}

function letCell(here: At, statement: LetStatement): LetCell {
  const { ctx, scope } = here;
  const outside = scope.repeated ? undefined : ctx.overrides.get(statement.name.text);
  if (outside !== undefined) reportOverridden(here, statement, outside);
  return {
    statement,
    expression: outside ?? statement.value,
    overridden: outside !== undefined,
    scope,
    state: 'open',
    value: null,
  };
}

/** Every result rests on the value from outside; whoever reads the text alone would be misled. */
function reportOverridden(here: At, { name, value }: LetStatement, outside: Expression): void {
  const { ctx, scope } = here;
  const text =
    outside.kind === 'quantity' ? `${outside.number} ${outside.unit?.text ?? ''}`.trim() : say`another value`;
  const message = say`${name.text} counts as ${text} here, given from outside (--let or the setting caisson.constants), not as ${excerpt(scope, value.span)}.`;
  report(ctx, 'value/overridden', message, place(scope, name.span));
}

function declareLet(here: At, statement: LetStatement): Binding {
  const declaration = declare(here, 'let', statement.name, statement);
  const binding: Binding = { kind: 'let', declaration, cell: letCell(here, statement) };
  if (statement.name.text !== '') enter(here, statement.name, binding);
  return binding;
}

function declarePart(here: At, statement: PartStatement): Binding {
  const declaration = declare(here, 'part', statement.name, statement);
  const binding: Binding = { kind: 'part', declaration, statement, scope: here.scope };
  if (statement.name.text !== '') enter(here, statement.name, binding);
  return binding;
}

function declareMedium(here: At, statement: MediumStatement): void {
  const { scope } = here;
  const { name } = statement;
  if (name.text === '') return;
  const first = scope.media.get(name.text);
  if (first !== undefined) {
    reportDuplicate(here, name, first.declaration);
    return;
  }
  const declaration = declare(here, 'medium', name, statement);
  scope.media.set(name.text, { declaration, statement, scope });
}

/** Declares what a file offers: constants, media, parts. */
export function declareFile(here: At, statements: readonly Statement[]): void {
  for (const statement of statements) {
    if (statement.kind === 'let') declareLet(here, statement);
    if (statement.kind === 'part') declarePart(here, statement);
    if (statement.kind === 'medium') declareMedium(here, statement);
  }
}

/** Declares the statements of a rig or part in the order of the text; parts first, since a place may stand before its part. */
export function declareBody(
  tally: Tally,
  scope: Scope,
  statements: readonly Statement[],
  path: readonly PartStatement[],
): Step[] {
  const { ctx } = tally;
  const parts = new Map<Statement, Binding>();
  for (const statement of statements) {
    if (statement.kind === 'part') parts.set(statement, declarePart({ ctx, scope }, statement));
  }
  const steps: Step[] = [];
  for (const statement of statements) {
    tally.statements++;
    const binding = parts.get(statement) ?? declareStatement(tally, scope, statement);
    const inner =
      statement.kind === 'place' && binding?.kind === 'place'
        ? openPlace(tally, scope, statement, binding, path, statements)
        : null;
    steps.push({ statement, scope, binding, inner });
  }
  return steps;
}

const COUNTED = {
  chamber: 'chamber',
  door: 'door',
  feed: 'line',
  draw: 'line',
  switch: 'switch',
  sensor: 'sensor',
  signal: 'signal',
  sequence: 'sequence',
  scenario: 'scenario',
} as const;

const NET_KINDS = { switch: 'switch', sensor: 'sensor', signal: 'element' } as const;

type CountedKind = NetItemKind | PlainItemKind;

function isNetKind(kind: CountedKind): kind is NetItemKind {
  return kind === 'switch' || kind === 'sensor' || kind === 'signal';
}

function declareStatement(tally: Tally, scope: Scope, statement: Statement): Binding | null {
  const { ctx } = tally;
  const here = { ctx, scope };
  switch (statement.kind) {
    case 'let':
      return declareLet(here, statement);
    case 'place': {
      const declaration = declare(here, 'place', statement.name, statement);
      const binding: Binding = { kind: 'place', declaration, inner: null };
      if (statement.name.text !== '') enter(here, statement.name, binding);
      return binding;
    }
    case 'chamber':
    case 'door':
    case 'feed':
    case 'draw':
    case 'switch':
    case 'sensor':
    case 'signal':
    case 'sequence':
    case 'scenario':
      return declareItem(tally, scope, statement.kind, statement);
    default:
      return null;
  }
}

/** Declares an item; a nameless or second one gets index -1, is read for its problems and kept out of the rig. */
function declareItem(
  tally: Tally,
  scope: Scope,
  kind: CountedKind,
  statement: Statement & { readonly name: Name },
): Binding | null {
  const { ctx, counts, nets } = tally;
  const here = { ctx, scope };
  const { name } = statement;
  if (name.text === '') return null;
  const declaration = declare(here, kind, name, statement);
  const isNew = !scope.names.has(name.text);
  const index = isNew ? counts[COUNTED[kind]]++ : -1;
  const net = isNew && isNetKind(kind) ? nets.length : -1;
  const full = scope.prefix + name.text;
  const binding: Binding = isNetKind(kind)
    ? { kind, declaration, index, name: full, net }
    : { kind, declaration, index, name: full };
  if (net >= 0) nets.push({ name: full, kind: NET_KINDS[kind as NetItemKind], index });
  enter(here, name, binding);
  return binding;
}

// ---------------------------------------------------------------- parts

function openPlace(
  tally: Tally,
  scope: Scope,
  statement: PlaceStatement,
  binding: Extract<Binding, { kind: 'place' }>,
  path: readonly PartStatement[],
  around: readonly Statement[],
): Step[] | null {
  const { ctx } = tally;
  const here = { ctx, scope };
  const found = bind(here, statement.part, ['part']);
  if (found?.binding.kind !== 'part') return null;
  const part = found.binding;
  const at = place(scope, statement.part.span);
  if (path.includes(part.statement)) {
    const names = [...path.slice(path.indexOf(part.statement)), part.statement].map((p) => p.name.text);
    report(
      ctx,
      'name/circle',
      say`The part ${part.statement.name.text} would contain itself: ${names.join(' → ')}.`,
      at,
    );
    return null;
  }
  checkArguments(here, statement, part.statement, part.declaration);
  if (path.length <= 1 && isTooLarge(tally, part, path.length === 0 ? at : null)) return null;
  const args = unswappedArguments(here, statement, part.statement, around).map((expression): Argument => ({
    expression,
    scope,
  }));
  // Which argument is for which parameter is known only of a part whose parameters could all be read.
  const known = part.statement.damaged ? null : args;
  const inner = partScope(ctx, part, known, scope.prefix + statement.name.text + '.');
  if (statement.name.text !== '') binding.inner = inner;
  return declareBody(tally, inner, part.statement.body, [...path, part.statement]);
}

/**
 * Whether placing a part goes beyond what is computed. Asked where a rig places something, which covers what stands inside; and
 * where a part is read on its own, without a place to report: what is too large is reported where a rig places it.
 */
function isTooLarge(tally: Tally, part: PartBinding, at: Source | null): boolean {
  if (tally.statements + sizeOf(part, new Map(), 0) <= MOST_STATEMENTS) return false;
  if (at !== null) {
    const limits = say`${MOST_STATEMENTS} statements or ${DEEPEST_PLACE} parts deep`;
    const message = say`Placing ${part.statement.name.text} here makes the rig larger than ${limits}.`;
    report(tally.ctx, 'value/too-large', message, at);
  }
  return true;
}

function checkArguments(here: At, statement: PlaceStatement, part: PartStatement, declaration: number): void {
  const { ctx, scope } = here;
  if (part.damaged || statement.args.length === part.parameters.length) return;
  if (statement.args.some((arg) => arg.kind === 'missing')) return;
  const names = part.parameters.map((p) => p.text).join(', ');
  const takes = part.parameters.length === 0 ? say`nothing` : `${part.parameters.length} (${names})`;
  const message = say`The part ${part.name.text} takes ${takes}, not ${statement.args.length}.`;
  const [first] = statement.args;
  const last = statement.args[statement.args.length - 1];
  const span = first === undefined ? statement.part.span : { start: first.span.start, end: last!.span.end };
  report(ctx, 'value/arguments', message, place(scope, span), {
    related: [{ at: ctx.declarations[declaration]!.at, message: say`the part` }],
  });
}

/** The scope of a part with its parameters; `args` null: read on its own, parameters stand for anything. */
export function partScope(ctx: Context, part: PartBinding, args: readonly Argument[] | null, prefix: string): Scope {
  ctx.expanded.add(part.statement);
  const inner = createScope(part.scope, part.scope, { prefix, container: part.declaration, repeated: true });
  part.statement.parameters.forEach((name, i) => {
    if (name.text === '') return;
    const kind: ItemKind = 'parameter';
    const detail = say`parameter ${name.text} of ${part.statement.name.text}`;
    const about = { whole: name.span, doc: '', detail };
    const declaration = declareAt({ ctx, scope: inner }, kind, name, about);
    enter({ ctx, scope: inner }, name, { kind: 'parameter', declaration, argument: args?.[i] ?? null });
  });
  return inner;
}
