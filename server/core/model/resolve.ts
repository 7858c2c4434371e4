/**
 * The resolver: tree → rigs with names bound, parts expanded, constants computed, and the control network. Any tree gives a
 * result; what cannot be resolved has one problem and is left out. Time is linear in the text and in what places expand to.
 */
import type { Problem } from './problem';
import type {
  Expression,
  LetStatement,
  MediumStatement,
  RigStatement,
  Statement,
  Tree,
} from '../../../grammar/src/ast';
import { readChoosable } from './choosable';
import { checkContents } from './contents';
import { type At, type Context, createContext, createScope, declare, isMisread, place, report } from './context';
import { createTally, declareBody, partScope, type Step, type Tally } from './declarations';
import { reportDottedNames } from './dotted-names';
import { evaluate, valueOf } from './evaluate';
import { type FileSet, loadFile } from './files';
import { reportLookAlikes } from './look-alike';
import { lostIn } from './lost';
import { resolveMedium } from './medium';
import { plainSurroundings, resolvedOnce } from './rig-again';
import { reportUnused } from './unused';
import type { Choosable, Medium, Rig } from './rig';
import type { ReadTree, Resolution, ResolveOptions } from './resolution';
import { resolveSteps } from './rig-body';
import { say } from '../words/say';

const NO_OVERRIDES: ReadonlyMap<string, Expression> = new Map();

/**
 * Resolves one file.
 * @param file its URI (or path), tree and text; spans of the tree are offsets into the text
 * @param readTree gives the trees of imported files
 */
export function resolveFile(
  file: { readonly uri: string; readonly tree: Tree; readonly text: string },
  readTree: ReadTree,
  options: ResolveOptions = {},
): Resolution {
  const ctx = createContext(options.overrides ?? NO_OVERRIDES);
  const whyUnread = options.whyUnread ?? (() => undefined);
  const set: FileSet = { ctx, readTree, whyUnread, files: new Map(), imports: [] };
  ctx.lost = lostIn(file.text, file.tree.statements);
  const main = loadFile(set, file);
  const medium = resolveFileStatements({ ctx, scope: main.scope }, main.statements);
  const rigs = resolveRigs({ ctx, scope: main.scope }, main.statements, medium);
  readUnplacedParts({ ctx, scope: main.scope });
  reportLooseOverrides(ctx, file.uri);
  reportUnused({ ctx, scope: main.scope }, main.statements);
  reportDottedNames(ctx, file.uri);
  reportLookAlikes(ctx, file.uri);
  return {
    uri: file.uri,
    rigs,
    problems: withoutUnusable(ctx.problems).sort((a, b) => a.at.start - b.at.start || a.at.end - b.at.end),
    declarations: ctx.declarations,
    uses: ctx.uses,
    files: [...set.files.keys()],
    imports: set.imports,
  };
}

/** A medium that stands outside of rigs, null where it could not be read at all. */
interface OuterMedium {
  readonly medium: Medium | null;
  readonly isUnread: boolean;
}

/** Computes the constants and media of the file; gives the one medium of the file, if it has exactly one. */
function resolveFileStatements(here: At, statements: readonly Statement[]): OuterMedium | null {
  const media: OuterMedium[] = [];
  for (const statement of statements) {
    if (statement.kind === 'let') evaluateLet(here, statement);
    if (statement.kind === 'medium') media.push(outerMedium(here, statement));
  }
  choosableOfFiles(here);
  return media.length === 1 ? media[0]! : null;
}

function outerMedium(here: At, statement: MediumStatement): OuterMedium {
  let medium: Medium | null = null;
  const isUnread = isMisread(here.ctx, () => (medium = resolveMedium(here, statement, true)));
  return { medium, isUnread: isUnread || statement.damaged === true };
}

/** A value from outside that cannot be used does not count as anything. */
function withoutUnusable(problems: readonly Problem[]): Problem[] {
  const unusable = new Set(problems.filter((p) => p.code === 'value/override').map((p) => p.at.start));
  return problems.filter((p) => p.code !== 'value/overridden' || !unusable.has(p.at.start));
}

/** Computes a constant for its problems, be it used or not; one declared twice is read on its own. */
function evaluateLet(here: At, { name, value }: LetStatement): void {
  const binding = here.scope.names.get(name.text);
  if (binding?.kind === 'let' && binding.cell.statement.value === value) valueOf(here.ctx, binding.cell);
  else evaluate(here, value);
}

function resolveRigs(here: At, statements: readonly Statement[], medium: OuterMedium | null): Rig[] {
  const { ctx, scope } = here;
  const rigs: Rig[] = [];
  const names = new Map<string, number>();
  const outside = plainSurroundings(ctx, statements);
  for (const statement of statements) {
    if (statement.kind !== 'rig') continue;
    const declaration = declare(here, 'rig', statement.name, statement);
    const name = statement.name.text;
    const first = names.get(name);
    if (first !== undefined && name !== '') {
      report(ctx, 'name/duplicate', say`Two rigs are called ${name}.`, place(scope, statement.name.span), {
        related: [{ at: ctx.declarations[first]!.at, message: say`declared first here` }],
      });
    }
    names.set(name, first ?? declaration);
    const resolve = (): Rig => resolveRig(here, statement, declaration, medium);
    rigs.push(resolvedOnce(here, statement, declaration, outside, resolve));
  }
  return rigs;
}

function resolveRig(here: At, statement: RigStatement, declaration: number, outer: OuterMedium | null): Rig {
  const { ctx, scope: file } = here;
  const scope = createScope(file, file, { prefix: '', container: declaration, repeated: false });
  const tally = createTally(ctx);
  const steps = declareBody(tally, scope, statement.body, []);
  const body = resolveSteps(tally, steps, place(file, statement.keywordSpan));
  readUnplacedParts({ ctx, scope });
  const rig: Rig = {
    name: statement.name.text,
    title: statement.title?.value ?? '',
    at: place(file, statement.name.span),
    whole: place(file, statement.span),
    doc: statement.documentation,
    ...body,
    medium: body.medium ?? outer?.medium ?? null,
    choosable: [...choosableOfFiles(here).filter((c) => !scope.names.has(c.name)), ...body.choosable],
  };
  const isStated = rig.medium !== null || statement.body.some((inner) => inner.kind === 'medium');
  const isUnread = isMisread(ctx, () => checkContents(ctx, rig, isStated));
  return isUnread || (body.medium === null && outer?.isUnread) ? { ...rig, unreadContents: true } : rig;
}

/** Constants with a range of the file and of those it imports, each once. */
function choosableOfFiles(here: At): Choosable[] {
  const { ctx, scope: file } = here;
  const cells = [file, ...file.imports].flatMap((scope) =>
    [...scope.names.values()].flatMap((binding) => (binding.kind === 'let' ? [binding.cell] : [])),
  );
  return cells.flatMap((cell) => readChoosable(ctx, cell) ?? []);
}

/** Parts that are placed nowhere are read on their own, so that their mistakes show while they are written. */
function readUnplacedParts(here: At): void {
  const { ctx, scope } = here;
  let statements = 0;
  for (const binding of scope.names.values()) {
    if (binding.kind !== 'part' || ctx.expanded.has(binding.statement)) continue;
    // One budget for all of them, so that parts which hold the same large one do not multiply the work.
    const tally: Tally = { ...createTally(ctx), statements };
    const inner = partScope(ctx, binding, null, '');
    const steps: Step[] = declareBody(tally, inner, binding.statement.body, [binding.statement]);
    resolveSteps(tally, steps, place(scope, binding.statement.keywordSpan));
    statements = tally.statements;
  }
}

function reportLooseOverrides(ctx: Context, uri: string): void {
  for (const name of ctx.overrides.keys()) {
    if (ctx.declarations.some((d) => d.kind === 'let' && d.name === name)) continue;
    const at = { uri, start: 0, end: 0 };
    report(ctx, 'value/override', say`A value is given from outside for ${name}, but no constant is called so.`, at);
  }
}
