/**
 * The order of a session: before `initialize` and after `shutdown` requests get the protocol's errors and notifications are dropped.
 * Works on messages as they arrive, so that no handler has to know.
 */
import type { Connection, Message, MessageStrategy } from 'vscode-languageserver';
import { ErrorCodes, ResponseError } from 'vscode-languageserver';

/** Requests are sent here instead of to their handlers. */
const TOO_EARLY = 'caisson/tooEarly';
const TOO_LATE = 'caisson/tooLate';

export interface Gate {
  /** For `createConnection`. */
  readonly messageStrategy: MessageStrategy;
  /** Messages that have been handled so far. */
  handled(): number;
  /** Registers the answers to requests at the wrong time. */
  register(connection: Connection): void;
}

interface Incoming {
  readonly id?: number | string | null;
  readonly method?: string;
}

export function createGate(): Gate {
  let phase: 'waiting' | 'open' | 'shut' = 'waiting';
  let handled = 0;
  const handleMessage = (message: Message, next: (message: Message) => void): void => {
    handled++;
    const { id, method } = message as Message & Incoming;
    const isRequest = id !== undefined && method !== undefined;
    // Answers to our own requests, and the end, always pass.
    if (method === undefined || method === 'exit') return next(message);
    if (phase === 'waiting' && method === 'initialize') {
      phase = 'open';
      return next(message);
    }
    if (phase === 'open' && method === 'initialize') return next({ ...message, method: TOO_LATE } as Message);
    if (phase === 'open') {
      if (method === 'shutdown') phase = 'shut';
      return next(message);
    }
    if (isRequest) next({ ...message, method: phase === 'waiting' ? TOO_EARLY : TOO_LATE } as Message);
  };
  return {
    messageStrategy: { handleMessage },
    handled: () => handled,
    register: (connection) => {
      connection.onRequest(
        TOO_EARLY,
        () => new ResponseError(ErrorCodes.ServerNotInitialized, 'Send initialize first.'),
      );
      connection.onRequest(
        TOO_LATE,
        () =>
          new ResponseError(ErrorCodes.InvalidRequest, 'The session is initialized already, or has been shut down.'),
      );
    },
  };
}
