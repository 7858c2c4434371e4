/** What lines that could not be read may have declared: a name that is unknown for that reason is not a mistake of its own. */
import type { Statement } from '../../../grammar/src/ast';
import type { Lost } from './context';
import type { ItemKind } from './rig';

const WORD = /[\p{L}_][\p{L}\p{N}_]*/gu;

/** Looks through all statements of a file. */
export function lostIn(text: string, statements: readonly Statement[]): Lost {
  const kinds = new Set<ItemKind>();
  const words = new Set<string>();
  const visit = (statement: Statement): void => {
    if (statement.kind === 'rig' || statement.kind === 'part') statement.body.forEach(visit);
    if (statement.kind !== 'error' && !statement.damaged) return;
    const head = /^[^={\n]*/.exec(text.slice(statement.span.start, statement.span.start + 200))![0];
    for (const word of head.match(WORD) ?? []) words.add(word.normalize('NFC'));
    if ('name' in statement && statement.name?.text === '') kinds.add(statement.kind as ItemKind);
  };
  statements.forEach(visit);
  return { kinds, words };
}
