/**
 * A rig that was resolved before is not resolved again: where its statement is the one of the version before, at the same place of the
 * text and under the same constants and media, everything it gave is taken over. An edit in a long file then costs its own rig.
 *
 * Invariant: what is taken over is what resolving would give (tests compare them). So whatever a rig may share with others has to be the
 * same, or nothing is taken over: no imports, no parts outside rigs, no values from outside, no unreadable lines, no unknown names.
 */
import type { RigStatement, Statement } from '../../../grammar/src/ast';
import type { At, Context } from './context';
import type { Problem } from './problem';
import type { Declaration, Use } from './resolution';
import type { Rig } from './rig';

/** What resolving one rig gave, and what it depended on beside its own statement. */
interface Resolved {
  readonly uri: string;
  /** Statements outside rigs. */
  readonly outside: readonly Statement[];
  /** Id of its declaration; those inside follow it. */
  readonly declaration: number;
  readonly rig: Rig;
  readonly problems: readonly Problem[];
  readonly declarations: readonly Declaration[];
  readonly uses: readonly Use[];
}

const RESOLVED = new WeakMap<RigStatement, Resolved>();

/** Statements of the file outside rigs, where rigs depend on nothing else of it; null where they may. */
export function plainSurroundings(ctx: Context, statements: readonly Statement[]): readonly Statement[] | null {
  if (ctx.overrides.size > 0 || ctx.lost.kinds.size > 0 || ctx.lost.words.size > 0) return null;
  const outside = statements.filter(({ kind }) => kind !== 'rig');
  return outside.every(({ kind }) => kind === 'let' || kind === 'medium') ? outside : null;
}

/** Resolves a rig, or takes over what it gave. `outside`: as `plainSurroundings` gives it. */
export function resolvedOnce(
  { ctx, scope }: At,
  statement: RigStatement,
  declaration: number,
  outside: readonly Statement[] | null,
  resolve: () => Rig,
): Rig {
  if (!outside) return resolve();
  const known = RESOLVED.get(statement);
  if (known?.uri === scope.uri && known.declaration === declaration && same(known.outside, outside))
    return takenOver(ctx, known);
  const [problems, declarations, uses] = [ctx.problems.length, ctx.declarations.length, ctx.uses.length];
  const compared = ctx.namesCompared;
  const rig = resolve();
  if (ctx.namesCompared === compared)
    RESOLVED.set(statement, {
      uri: scope.uri,
      outside,
      declaration,
      rig,
      problems: ctx.problems.slice(problems),
      declarations: ctx.declarations.slice(declarations),
      uses: ctx.uses.slice(uses),
    });
  return rig;
}

function takenOver(ctx: Context, { rig, problems, declarations, uses }: Resolved): Rig {
  ctx.problems.push(...problems);
  ctx.declarations.push(...declarations);
  for (const use of uses) {
    ctx.uses.push(use);
    ctx.used.add(use.declaration);
  }
  return rig;
}

const same = (a: readonly Statement[], b: readonly Statement[]): boolean =>
  a.length === b.length && a.every((statement, k) => statement === b[k]);
