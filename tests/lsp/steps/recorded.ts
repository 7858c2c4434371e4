/** A connection on which nothing travels: it keeps what the server registers, so that a test can call every handler by itself. */
import { CancellationTokenSource, type Connection } from 'vscode-languageserver/node';
import type { Host } from '../../../server/lsp/host';
import { PULL_CLIENT } from '../session';
import type { Counted } from './counted-bundle';

type Handler = (params: unknown, token: unknown) => unknown;

export interface Recorded {
  /** By what they were registered with: `onHover`, `languages.inlayHint.on`, `onRequest caisson/sheet`. */
  readonly handlers: ReadonlyMap<string, Handler>;
  readonly connection: Connection;
  /** What the server sent or wrote to its log, by the way it did so. */
  readonly sent: readonly { readonly by: string; readonly args: readonly unknown[] }[];
}

/** What the client answers to requests of the server; null to all others. */
const ANSWERS: Readonly<Record<string, unknown>> = {
  'workspace.getConfiguration': { diagnostics: { scope: 'workspace' } },
};

export function recorded(): Recorded {
  const handlers = new Map<string, Handler>();
  const sent: { by: string; args: readonly unknown[] }[] = [];
  const called = (path: string, args: readonly unknown[]): unknown => {
    const handler = args.find((a): a is Handler => typeof a === 'function');
    const isRegistering = /(^|\.)on([A-Z]|$)/.test(path);
    if (!isRegistering || !handler) {
      sent.push({ by: path, args });
      return Promise.resolve(ANSWERS[path] ?? null);
    }
    const [type] = args;
    const method = typeof type === 'string' ? type : (type as { method?: string }).method;
    handlers.set(method === undefined || type === handler ? path : `${path} ${method}`, handler);
    return { dispose: () => undefined };
  };
  const at = (path: string): unknown =>
    new Proxy(() => undefined, {
      get: (_, key) => (typeof key === 'symbol' || key === 'then' ? undefined : at(path ? `${path}.${key}` : key)),
      apply: (_, __, args: unknown[]) => called(path, args),
    });
  return { handlers, connection: at('') as Connection, sent };
}

/** What a handler did from its call to its answer. */
export interface Course {
  /** Ticks between two returns to the event loop, the first from the call on, the last up to the answer. */
  readonly pieces: readonly number[];
  readonly result: unknown;
}

/** Ticks that stand for a millisecond: what this server does in one on the machine it was measured on, in round numbers. */
export const TICKS = 50_000;

/** A server of its own, and its handlers to call. */
export function served({ createServer, createGate, ticks }: Counted) {
  const { handlers, connection, sent } = recorded();
  let last = 0;
  let pieces: number[] = [];
  let stopAt = Infinity;
  let stop = (): void => undefined;
  const note = (): void => {
    pieces.push(ticks() - last);
    last = ticks();
    if (pieces.length === stopAt) stop();
  };
  const host: Host = {
    version: '0.0.0-test',
    reference: null,
    now: () => ticks() / TICKS,
    pause: async () => note(),
    listFiles: async () => [],
  };
  createServer(connection, host, createGate());
  const call = (name: string, params: unknown): unknown =>
    handlers.get(name)!(params, new CancellationTokenSource().token);
  return {
    handlers,
    sent,
    /** Goes through the beginning of a session of a client that pulls diagnostics, and opens documents. */
    start: async (documents: readonly (readonly [uri: string, text: string])[]): Promise<void> => {
      await call('onInitialize', { processId: null, rootUri: null, capabilities: PULL_CLIENT, workspaceFolders: null });
      await call('onInitialized', {});
      for (const [uri, text] of documents)
        await call('onDidOpenTextDocument', { textDocument: { uri, languageId: 'rig', version: 1, text } });
    },
    /** Calls a handler and counts; with `stopAfter` it is cancelled after so many returns to the event loop. */
    follow: async (name: string, params: unknown, stopAfter = Infinity): Promise<Course> => {
      const source = new CancellationTokenSource();
      [pieces, last, stopAt, stop] = [[], ticks(), stopAfter, () => source.cancel()];
      const result = await Promise.resolve(handlers.get(name)!(params, source.token)).catch((error: unknown) => error);
      note();
      return { pieces, result };
    },
  };
}
