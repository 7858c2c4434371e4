/** What resolving carries along: the sinks for problems, declarations and uses, and the scopes that names live in. */
import type {
  AtmosphereStatement,
  Expression,
  LetStatement,
  MediumStatement,
  Name,
  PartStatement,
  Span,
  Statement,
} from '../../../grammar/src/ast';
import type { Fix, Problem, RelatedPlace, Severity, Source } from './problem';
import { type ProblemCode, severityOf } from './problem-codes';
import type { Declaration, Use } from './resolution';
import type { ItemKind } from './rig';
import type { Amount, Literal } from './amounts';

export interface Context {
  readonly problems: Problem[];
  readonly declarations: Declaration[];
  readonly uses: Use[];
  /** Keys of what was reported: a part placed twice reports once. */
  readonly reported: Set<string>;
  /** The same for declarations and uses inside parts. */
  readonly declaredAt: Map<string, number>;
  readonly usedAt: Set<string>;
  /** Declarations that something reads or operates. */
  readonly used: Set<number>;
  /** Literals met before, by unit and digits: rigs repeat the same few. */
  readonly literals: Map<string, Map<string, Literal>>;
  /** Parts that were placed somewhere. */
  readonly expanded: Set<PartStatement>;
  readonly overrides: ReadonlyMap<string, Expression>;
  /** `Rig.incomplete` of the rig that is being resolved. */
  incomplete: Source[];
  /** How often something could not be read, reported here or elsewhere: one that has grown over a statement says that this one was not read in full. */
  misread: number;
  /** The atmosphere of the rig that is being resolved. */
  atmosphere: AtmospherePlace | null;
  /** What lines that could not be read may have declared. */
  lost: Lost;
  /** How many names were compared with unknown ones so far. */
  namesCompared: number;
}

/** Names that are unknown only because a line could not be read: all of these kinds, and these words. */
export interface Lost {
  readonly kinds: ReadonlySet<ItemKind>;
  readonly words: ReadonlySet<string>;
}

/** Where the atmosphere of one rig stands, and what its name means once it is used. */
export interface AtmospherePlace {
  /** Index into the rig's chambers. */
  readonly index: number;
  readonly statement: { readonly statement: AtmosphereStatement; readonly scope: Scope } | null;
  /** Of its statement, or of the rig; no text of its own, so that it is never renamed. */
  readonly at: Source;
  binding: Binding | null;
}

/** A `let` and what it is worth; `working` while its value is being computed (to find circles). */
export interface LetCell {
  readonly statement: LetStatement;
  /** The statement's value, or the expression given from outside. */
  readonly expression: Expression;
  readonly overridden: boolean;
  readonly scope: Scope;
  state: 'open' | 'working' | 'done';
  value: Amount | null;
}

/** What a place gives to a parameter: an expression and where it is to be read; null while a part is read on its own. */
export interface Argument {
  readonly expression: Expression;
  readonly scope: Scope;
}

export type NetItemKind = 'switch' | 'sensor' | 'signal';
export type PlainItemKind = 'chamber' | 'door' | 'feed' | 'draw' | 'sequence' | 'scenario';

interface ItemPlace {
  readonly declaration: number;
  readonly index: number;
  /** With the prefix of the places it stands in. */
  readonly name: string;
}

/** What a name stands for. `index` counts in the rig's list of that kind (-1: a duplicate, kept out of the rig). */
export type Binding =
  | { readonly kind: 'let'; readonly declaration: number; readonly cell: LetCell }
  | { readonly kind: 'parameter'; readonly declaration: number; readonly argument: Argument | null }
  | { readonly kind: 'part'; readonly declaration: number; readonly statement: PartStatement; readonly scope: Scope }
  | { readonly kind: 'place'; readonly declaration: number; inner: Scope | null }
  | (ItemPlace & { readonly kind: NetItemKind; readonly net: number })
  | (ItemPlace & { readonly kind: PlainItemKind });

export type ItemBinding = Extract<Binding, { index: number }>;
export type NetBinding = Extract<Binding, { net: number }>;

export interface FileMedium {
  readonly declaration: number;
  readonly statement: MediumStatement;
  readonly scope: Scope;
}

export interface Scope {
  readonly uri: string;
  readonly text: string;
  readonly parent: Scope | null;
  readonly names: Map<string, Binding>;
  /** Media have names of their own: a chamber may be called `water`. Files only. */
  readonly media: Map<string, FileMedium>;
  /** Scopes of imported files (files only). */
  readonly imports: Scope[];
  /** Put before item names: `west.` inside what `place west` puts there. */
  readonly prefix: string;
  /** Id of the declaration this scope belongs to, -1 for a file. */
  readonly container: number;
  /** True inside parts, whose text is read once per place. */
  readonly repeated: boolean;
}

/** Where a text is being read: what resolving carries along, and the scope that its names live in. */
export interface At {
  readonly ctx: Context;
  readonly scope: Scope;
}

export function createContext(overrides: ReadonlyMap<string, Expression>): Context {
  return {
    problems: [],
    declarations: [],
    uses: [],
    reported: new Set(),
    declaredAt: new Map(),
    usedAt: new Set(),
    used: new Set(),
    literals: new Map(),
    expanded: new Set(),
    overrides,
    incomplete: [],
    misread: 0,
    atmosphere: null,
    lost: { kinds: new Set(), words: new Set() },
    namesCompared: 0,
  };
}

/** A new scope inside `parent`, in the same file unless a file is given. */
export function createScope(
  parent: Scope | null,
  file: { readonly uri: string; readonly text: string },
  rest: { readonly prefix: string; readonly container: number; readonly repeated: boolean },
): Scope {
  return {
    uri: file.uri,
    text: file.text,
    parent,
    names: new Map(),
    media: new Map(),
    imports: [],
    ...rest,
  };
}

export function place(scope: Scope, span: Span): Source {
  return { uri: scope.uri, start: span.start, end: span.end };
}

const IRREGULAR_BLANKS = /[^\S ]| {2}/;

/** The text of a span, white space folded, shortened for messages. */
export function excerpt(scope: Scope, span: Span, longest = 40): string {
  const raw = scope.text.slice(span.start, Math.min(span.end, span.start + 4 * longest));
  const text = IRREGULAR_BLANKS.test(raw) ? raw.replace(/\s+/g, ' ').trim() : raw.trim();
  return text.length > longest ? `${text.slice(0, longest - 1)}…` : text;
}

export interface Extras {
  readonly related?: readonly RelatedPlace[];
  readonly fixes?: readonly Fix[];
  readonly unnecessary?: boolean;
  readonly severity?: Severity;
}

/** Reports a problem, once per code and place. */
export function report(ctx: Context, code: ProblemCode, message: string, at: Source, extras: Extras = {}): void {
  if (severityOf(code) === 'error') ctx.misread += 1;
  const key = `${code} ${at.uri} ${at.start} ${at.end}`;
  if (ctx.reported.has(key)) return;
  ctx.reported.add(key);
  ctx.problems.push({ code, severity: severityOf(code), message, at, ...extras });
}

/** Notes that a statement of the control could not be read in full. */
export function markIncomplete(here: At, span: Span): void {
  const { ctx, scope } = here;
  ctx.incomplete.push(place(scope, span));
}

/** Whether something of what `read` reads could not be read. */
export function isMisread(ctx: Context, read: () => void): boolean {
  const before = ctx.misread;
  read();
  return ctx.misread > before;
}

/** Declares a name of a statement; the same place in a part gives the same id each time. */
export function declare(here: At, kind: ItemKind, name: Name, statement: Statement): number {
  return declareAt(here, kind, name, {
    whole: statement.span,
    doc: statement.documentation,
    detail: detailOf(here.scope, kind, statement),
  });
}

/** As `declare`, for names that belong to no statement (parameters). */
export function declareAt(
  here: At,
  kind: ItemKind,
  name: Name,
  about: { readonly whole: Span; readonly doc: string; readonly detail: string },
): number {
  const { ctx, scope } = here;
  const key = scope.repeated || scope.parent === null ? `${scope.uri} ${name.span.start}` : '';
  const known = key === '' ? undefined : ctx.declaredAt.get(key);
  if (known !== undefined) return known;
  const id = ctx.declarations.length;
  ctx.declarations.push({
    id,
    kind,
    name: name.text,
    at: place(scope, name.span),
    whole: place(scope, about.whole),
    doc: about.doc,
    container: scope.container,
    detail: about.detail,
  });
  if (key !== '') ctx.declaredAt.set(key, id);
  return id;
}

function detailOf(scope: Scope, kind: ItemKind, statement: Statement): string {
  const end = 'bodySpan' in statement ? statement.bodySpan.start : statement.span.end;
  const text = excerpt(scope, { start: statement.span.start, end }, 80);
  return text === '' ? kind : text;
}

export function recordUse(here: At, declaration: number, span: Span, role: Use['role']): void {
  const { ctx, scope } = here;
  ctx.used.add(declaration);
  if (scope.repeated) {
    const key = `${declaration} ${scope.uri} ${span.start}`;
    if (ctx.usedAt.has(key)) return;
    ctx.usedAt.add(key);
  }
  ctx.uses.push({ declaration, at: place(scope, span), role });
}
