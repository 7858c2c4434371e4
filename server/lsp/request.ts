/** The one wrapper around every request: cancellation, and our own bugs turned into an empty answer and one line of log. */
import type { CancellationToken } from 'vscode-languageserver';
import { LSPErrorCodes, ResponseError } from 'vscode-languageserver';

/** Writes one line for the people who look after the server. */
export type Log = (line: string) => void;

/** Runs a handler; gives `empty` and logs where it throws, and the protocol's answer where the client gave up. */
export async function answer<T>(
  name: string,
  log: Log,
  token: CancellationToken,
  empty: T,
  work: () => T | Promise<T>,
): Promise<T | ResponseError> {
  if (token.isCancellationRequested) return cancelled();
  try {
    const result = await work();
    return token.isCancellationRequested ? cancelled() : result;
  } catch (error) {
    if (error instanceof ResponseError) return error;
    log(`${name}: ${describeError(error)}`);
    return empty;
  }
}

/** The protocol's answer to a question that the client has given up. */
export function cancelled(): ResponseError {
  return new ResponseError(LSPErrorCodes.RequestCancelled, 'Cancelled.');
}

/** The answer to a question about a text that has changed since. */
export function overtaken(): ResponseError {
  return new ResponseError(LSPErrorCodes.ContentModified, 'The text has changed.');
}

/** A refusal with a reason the client shows. */
export function refused(reason: string): ResponseError {
  return new ResponseError(LSPErrorCodes.RequestFailed, reason);
}

/** An error in one line: its message and the place in our code. */
export function describeError(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  const place = error.stack?.split('\n').find((line) => line.trim().startsWith('at '));
  return `${error.message} ${place?.trim() ?? ''}`.trim();
}
