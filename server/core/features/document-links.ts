/** Links from `import "FILE.rig"` to the file. Needs the resolved phase. */
import type { RigDocument } from '../document/document';

export interface DocumentLink {
  readonly start: number;
  readonly end: number;
  readonly target: string;
}

/** One link per import whose file is known, on the path as written. */
export function documentLinks(document: RigDocument): DocumentLink[] {
  const links: DocumentLink[] = [];
  const statements = document.parsed().tree.statements;
  for (const { at, target } of document.resolved().imports) {
    if (target === null || at.uri !== document.uri) continue;
    const statement = statements.find((s) => s.kind === 'import' && s.span.start <= at.start && at.start <= s.span.end);
    const path = statement?.kind === 'import' ? statement.path : null;
    const span = path?.span ?? at;
    links.push({ start: span.start, end: span.end, target });
  }
  return links;
}
