/** Constants, signals and parts that nothing uses: a hint, faded in the editor. */
import type { Statement } from '../../../grammar/src/ast';
import { type Context, report, type Scope } from './context';
import type { Declaration } from './resolution';

const WATCHED: ReadonlySet<string> = new Set(['let', 'signal', 'part']);

/** Reports what the file itself declares and never uses; in a file without rigs, others may use what it offers. */
export function reportUnused(ctx: Context, scope: Scope, statements: readonly Statement[]): void {
  const isLibrary = !statements.some((statement) => statement.kind === 'rig');
  const isWatched = (d: Declaration): boolean =>
    WATCHED.has(d.kind) && d.at.uri === scope.uri && d.name !== '' && !(isLibrary && d.container === -1);
  for (const declaration of ctx.declarations) {
    if (!isWatched(declaration) || ctx.used.has(declaration.id)) continue;
    const kind = declaration.kind === 'let' ? 'constant' : declaration.kind;
    report(ctx, 'name/unused', `The ${kind} ${declaration.name} is never used.`, declaration.at, { unnecessary: true });
  }
}
