/** Errors in the text make every result partial: they are reported on standard error and in the exit code. */
import { isTextError } from '../../core/document/problems';
import { overrideNote } from '../../core/document/overrides';
import { textFindings } from '../findings';
import type { Input } from '../inputs';
import type { Io } from '../io';

/** 1 where a file has errors of form, names, units, values or imports (each printed to standard error), else 0. */
export function blockingErrors(io: Io, inputs: readonly Input[]): number {
  const rows = textFindings(io, inputs).filter(isTextError);
  for (const f of rows) io.err(`${f.path}:${f.start.line}:${f.start.column}: ${f.severity} ${f.code}: ${f.message}\n`);
  for (const { document } of inputs) {
    const note = overrideNote(document.resolved());
    if (note !== '') io.err(`${note}\n`);
  }
  if (rows.length > 0) io.err('The result is computed from what could be understood.\n');
  return rows.length > 0 ? 1 : 0;
}
