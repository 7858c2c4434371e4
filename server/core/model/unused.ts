/** Constants, signals and parts that nothing uses: a hint, faded in the editor. */
import type { Statement } from '../../../grammar/src/ast';
import { type At, report } from './context';
import type { Fix, Source } from './problem';
import type { Declaration } from './resolution';
import { say } from '../words/say';

/** Mistakes beside which a use may be missing. */
const MISSES_USES: ReadonlySet<string> = new Set(['name/unknown', 'name/wrong-kind', 'value/arguments']);
const WATCHED: ReadonlySet<string> = new Set(['let', 'signal', 'part']);

/** A statement with the blanks before it and the end of its line, where nothing else stands on its lines. */
function wholeLines(text: string, at: Source): Source {
  const before = /(?:^|\n)[ \t]*$/.exec(text.slice(Math.max(0, at.start - 200), at.start))?.[0] ?? null;
  const after = /^[ \t]*(?:\r?\n|$)/.exec(text.slice(at.end, at.end + 200))?.[0] ?? null;
  if (before === null || after === null) return at;
  return { ...at, start: at.start - before.replace('\n', '').length, end: at.end + after.length };
}

function isUnread(statement: Statement): boolean {
  if (statement.kind === 'rig' || statement.kind === 'part') return statement.body.some(isUnread);
  return statement.kind === 'error' || statement.damaged === true;
}

/** Reports what the file itself declares and never uses; in a file without rigs, others may use what it offers. */
export function reportUnused(here: At, statements: readonly Statement[]): void {
  const { ctx, scope } = here;
  // Something misspelt, or a line that could not be read, may be the use that is missing.
  if (statements.some(isUnread) || ctx.problems.some((p) => MISSES_USES.has(p.code) && p.at.uri === scope.uri)) return;
  const isLibrary = !statements.some((statement) => statement.kind === 'rig');
  const isWatched = (d: Declaration): boolean =>
    WATCHED.has(d.kind) && d.at.uri === scope.uri && d.name !== '' && !(isLibrary && d.container === -1);
  for (const declaration of ctx.declarations) {
    if (!isWatched(declaration) || ctx.used.has(declaration.id)) continue;
    const kind = declaration.kind === 'let' ? 'constant' : declaration.kind;
    const fix: Fix = {
      title: say`Remove ${declaration.name}`,
      edits: [{ at: wholeLines(scope.text, declaration.whole), text: '' }],
    };
    report(ctx, 'name/unused', say`The ${kind} ${declaration.name} is never used.`, declaration.at, {
      unnecessary: true,
      fixes: [fix],
    });
  }
}
