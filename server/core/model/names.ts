/** Finding what a name stands for, through places, parameters, parts and imports, and recording each use. */
import type { Expression, Name, Span } from '../../../grammar/src/ast';
import { ATMOSPHERE_NAME, atmosphereBinding } from './atmosphere';
import { type At, type Argument, type Binding, type Context, place, recordUse, report, type Scope } from './context';
import { suggest } from './near-match';
import type { Source } from './problem';
import type { Use } from './resolution';
import type { ItemKind } from './rig';
import { say } from '../words/say';

/** Kinds in words for messages. */
const KIND_WORDS: Readonly<Record<ItemKind, () => string>> = {
  chamber: () => say`a chamber`,
  door: () => say`a door`,
  feed: () => say`a feed`,
  draw: () => say`a draw`,
  switch: () => say`a switch`,
  sensor: () => say`a sensor`,
  signal: () => say`a signal`,
  sequence: () => say`a sequence`,
  scenario: () => say`a scenario`,
  part: () => say`a part`,
  let: () => say`a constant`,
  medium: () => say`a medium`,
  place: () => say`a placed part`,
  rig: () => say`a rig`,
  parameter: () => say`a parameter`,
};

export function describeKind(kind: ItemKind): string {
  return KIND_WORDS[kind]();
}

/** `a chamber, a door or a feed` */
export function describeKinds(kinds: readonly ItemKind[]): string {
  const words = kinds.map((kind) => (kind === 'let' ? say`a quantity` : describeKind(kind)));
  return words.length < 2 ? words.join('') : say`${words.slice(0, -1).join(', ')} or ${words[words.length - 1]!}`;
}

export function ownName(scope: Scope, name: string): Binding | null {
  const own = scope.names.get(name);
  if (own !== undefined) return own;
  for (const file of scope.imports) {
    const found = file.names.get(name);
    if (found !== undefined) return found;
  }
  return null;
}

/** What a name without dots stands for, from inner scopes outward; records nothing. */
export function lookup(scope: Scope, name: string): Binding | null {
  for (let at: Scope | null = scope; at !== null; at = at.parent) {
    const found = ownName(at, name);
    if (found !== null) return found;
  }
  return null;
}

/** All names that can be seen from a scope, inner ones first. */
export function* visibleNames(scope: Scope): Generator<readonly [string, Binding]> {
  for (let at: Scope | null = scope; at !== null; at = at.parent) {
    yield* at.names;
    for (const file of at.imports) yield* file.names;
  }
}

/** What needs no declaration: the atmosphere, which counts as declared once something names it. */
function builtIn(ctx: Context, name: string): Binding | null {
  return name === ATMOSPHERE_NAME ? atmosphereBinding(ctx) : null;
}

/** What a use means: the item itself, `null` where there is nothing more to report (reported, or a part read on its own). */
export interface Found {
  readonly binding: Binding;
  /** Where to blame and to edit: the use, or the argument of the place where a parameter was named. */
  readonly at: Source;
}

interface Segment {
  readonly text: string;
  readonly span: Span;
}

/** The pieces of a dotted name with their own places. */
function segmentsOf(scope: Scope, name: Name): readonly Segment[] {
  // A name declared with a dot was reported there; its uses are not reported again.
  if (!name.text.includes('.') || lookup(scope, name.text) !== null) return [name];
  const raw = scope.text.slice(name.span.start, name.span.end).split('.');
  const texts = name.text.split('.');
  if (raw.length !== texts.length) return texts.map((text) => ({ text, span: name.span }));
  let start = name.span.start;
  return texts.map((text, i) => {
    const span = { start, end: start + raw[i]!.length };
    start = span.end + 1;
    return { text, span };
  });
}

const MOST_COMPARISONS = 20_000;

function reportUnknown(
  here: At,
  segment: Segment,
  known: Iterable<readonly [string, Binding]>,
  wanted: readonly ItemKind[],
): void {
  const { ctx, scope } = here;
  if (ctx.lost.words.has(segment.text) || wanted.some((kind) => ctx.lost.kinds.has(kind))) return;
  const at = place(scope, segment.span);
  // Comparing with every name is expensive in a large broken file; after this many, suggestions help nobody.
  const all = ctx.namesCompared < MOST_COMPARISONS ? [...known] : [];
  ctx.namesCompared += all.length;
  const fitting = all.filter(([, b]) => wanted.includes(b.kind) || b.kind === 'parameter' || b.kind === 'place');
  const names = (list: typeof all): string[] => list.map(([name]) => name);
  const near = suggest(segment.text, names(fitting), at);
  const { question, fixes } = near.fixes.length > 0 ? near : suggest(segment.text, names(all), at);
  report(ctx, 'name/unknown', say`Nothing here is called ${segment.text}.${question}`, at, { fixes });
}

/** Goes through a dotted name, recording a use of each piece; null where a piece is unknown (reported). */
function follow(
  here: At,
  name: Name,
  wanted: readonly ItemKind[],
  role: Use['role'],
): { binding: Binding; segment: Segment } | null {
  const { ctx, scope } = here;
  const segments = segmentsOf(scope, name);
  const first = segments[0]!;
  if (first.text === '') return null;
  let binding = lookup(scope, first.text) ?? builtIn(ctx, first.text);
  if (binding === null) {
    reportUnknown(here, first, visibleNames(scope), segments.length > 1 ? ['place'] : wanted);
    return null;
  }
  recordUse(here, binding.declaration, first.span, segments.length > 1 ? 'read' : role);
  let segment = first;
  for (const next of segments.slice(1)) {
    if (next.text === '') return null;
    const inner = innerScope(ctx, binding);
    if (inner === 'none') {
      const at = place(scope, segment.span);
      report(
        ctx,
        'name/wrong-kind',
        say`${segment.text} is ${describeKind(binding.kind)}; only a placed part has parts of its own.`,
        at,
      );
      return null;
    }
    if (inner === null) return null;
    const found: Binding | undefined = inner.names.get(next.text);
    if (found === undefined) {
      reportUnknown(here, next, inner.names, wanted);
      return null;
    }
    recordUse(here, found.declaration, next.span, next === segments[segments.length - 1] ? role : 'read');
    binding = found;
    segment = next;
  }
  return { binding, segment };
}

function innerScope(ctx: Context, binding: Binding): Scope | null | 'none' {
  if (binding.kind === 'place') return binding.inner;
  if (binding.kind !== 'parameter') return 'none';
  const target = argumentTarget(ctx, binding.argument);
  return target === null ? null : innerScope(ctx, target);
}

/** What the argument of a parameter names; null where it is not a name, or unknown (reported at the place). */
function argumentTarget(ctx: Context, argument: Argument | null): Binding | null {
  if (argument === null || argument.expression.kind !== 'reference') return null;
  let binding: Binding | null = null;
  let scope: Scope | null = argument.scope;
  for (const text of argument.expression.name.text.split('.')) {
    if (scope === null) return null;
    binding = binding === null ? (lookup(scope, text) ?? builtIn(ctx, text)) : (scope.names.get(text) ?? null);
    if (binding?.kind === 'parameter') binding = argumentTarget(ctx, binding.argument);
    if (binding === null) return null;
    scope = binding.kind === 'place' ? binding.inner : scope;
  }
  return binding;
}

/** The argument a bare parameter finally stands for, through parts within parts. */
export function finalArgument(argument: Argument): Argument {
  const { expression, scope } = argument;
  if (expression.kind !== 'reference') return argument;
  const binding = lookup(scope, expression.name.text);
  return binding?.kind === 'parameter' && binding.argument !== null ? finalArgument(binding.argument) : argument;
}

/**
 * Binds a name that must be one of the `wanted` kinds. Records the uses; reports an unknown name or one of another kind once.
 * A parameter stands for what its place gives it; `parameter` comes back only where that is a quantity.
 */
export function bind(here: At, name: Name, wanted: readonly ItemKind[], role: Use['role'] = 'read'): Found | null {
  const { ctx, scope } = here;
  const followed = follow(here, name, wanted, role);
  if (followed === null) return null;
  const at = place(scope, name.span);
  const { binding } = followed;
  if (binding.kind !== 'parameter') return fitting(ctx, { binding, at }, name.text, wanted);
  if (binding.argument === null) return null;
  const argument = finalArgument(binding.argument);
  const blame = place(argument.scope, argument.expression.span);
  if (argument.expression.kind === 'reference') {
    const target = argumentTarget(ctx, argument);
    if (target === null || target.kind === 'parameter') return null;
    return fitting(ctx, { binding: target, at: blame }, argument.expression.name.text, wanted, at);
  }
  if (wanted.includes('let')) return { binding, at: blame };
  report(
    ctx,
    'name/wrong-kind',
    say`This part needs ${describeKinds(wanted)} for ${name.text}, not a quantity.`,
    blame,
    {
      related: [{ at, message: say`used here` }],
    },
  );
  return null;
}

function fitting(ctx: Context, found: Found, name: string, wanted: readonly ItemKind[], usedAt?: Source): Found | null {
  if (wanted.includes(found.binding.kind)) return found;
  const declared = ctx.declarations[found.binding.declaration]!;
  const related = [{ at: declared.at, message: say`${declared.name} is declared here` }];
  if (usedAt !== undefined) related.push({ at: usedAt, message: say`used here` });
  const is = describeKind(found.binding.kind);
  report(ctx, 'name/wrong-kind', say`${name} is ${is}; ${describeKinds(wanted)} is needed here.`, found.at, {
    related,
  });
  return null;
}

const ANY_KIND: readonly ItemKind[] = Object.keys(KIND_WORDS) as ItemKind[];

/** Records the names in an expression that has no meaning where it stands, so that they count as used and can be renamed. */
export function noteNames(here: At, expression: Expression): void {
  switch (expression.kind) {
    case 'reference':
      bind(here, expression.name, ANY_KIND);
      return;
    case 'event':
      bind(here, expression.subject, ANY_KIND);
      return;
    case 'unary':
      noteNames(here, expression.operand);
      return;
    case 'binary':
      noteNames(here, expression.left);
      noteNames(here, expression.right);
      return;
    case 'call':
      for (const arg of expression.args) noteNames(here, arg);
  }
}
