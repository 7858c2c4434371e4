/** Errors in the text make every result partial: they are said on standard error and in the exit code. */
import { findings } from '../findings';
import type { Input } from '../inputs';
import type { Io } from '../io';

/** 1 where a file has errors of form, names, units or values (each printed to standard error), else 0. */
export function blockingErrors(io: Io, inputs: readonly Input[]): number {
  const rows = findings(io, inputs).filter((f) => f.severity === 'error' && /^(syntax|name|unit|value)\//.test(f.code));
  for (const f of rows) io.err(`${f.path}:${f.start.line}:${f.start.column}: ${f.severity} ${f.code}: ${f.message}\n`);
  if (rows.length > 0) io.err('The result is worked out from what could be understood.\n');
  return rows.length > 0 ? 1 : 0;
}
