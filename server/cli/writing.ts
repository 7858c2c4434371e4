/** Writing changes of the text into the files they stand in. */
import { fileURLToPath } from 'node:url';
import { applyEdits } from '../core/document/apply-edits';
import type { RigDocument } from '../core/document/document';
import type { TextEdit } from '../core/model/problem';
import { shown } from './inputs';
import type { Io } from './io';

/** The text of a document or of a file that it imports. */
export const readText = (document: RigDocument, uri: string): string | undefined =>
  uri === document.uri ? document.text : document.readText(uri);

/**
 * Writes edits into their files and prints a line for each: `FILE: fitted values written`. Where they cannot all be applied, writes
 * nothing and prints the reason.
 * @returns the exit code so far
 */
export function writeEdits(io: Io, document: RigDocument, edits: readonly TextEdit[], what: string): number {
  if (edits.length === 0) return 0;
  const applied = applyEdits(edits, (uri) => readText(document, uri), { users: [document.uri] });
  if (!applied.ok) {
    io.err(`caisson: ${applied.reason}\n`);
    return 1;
  }
  for (const [uri, text] of applied.texts) {
    const path = fileURLToPath(uri);
    io.rewrite(path, text);
    io.out(`${shown(io, path)}: ${what} written\n`);
  }
  return 0;
}
