/**
 * Start, stop and restart of the language server, one operation at a time. A start that fails or hangs leaves nothing behind:
 * the next start makes a new client. Knows no editor; the client is made by the caller.
 */
import { say } from '../../server/core/words/say';

/** What is needed of a language client. */
export interface ServerClient {
  start(): Promise<void>;
  stop(timeoutMs?: number): Promise<void>;
  dispose(timeoutMs?: number): Promise<void>;
}

export type ServerStatus =
  { readonly kind: 'stopped' | 'starting' | 'running' } | { readonly kind: 'failed'; readonly reason: string };

export interface LifecycleOptions<Client extends ServerClient> {
  readonly create: () => Client;
  readonly changed: (status: ServerStatus, client: Client | null) => void;
  /** How long a server may take to answer `initialize`; default 30 s. */
  readonly startTimeoutMs?: number;
  /** How long a server may take to end; default 2 s. */
  readonly stopTimeoutMs?: number;
}

/** One server. Its methods never reject: `status` reports how they ended. */
export class ServerLifecycle<Client extends ServerClient> {
  #status: ServerStatus = { kind: 'stopped' };
  #client: Client | null = null;
  #queue: Promise<void> = Promise.resolve();
  #abandonStart: ((reason: string) => void) | null = null;
  /** A start that is under way or queued, and not followed by a stop: whoever wants a start waits for it, also where it fails. */
  #coming: Promise<void> | null = null;

  constructor(private readonly options: LifecycleOptions<Client>) {}

  get status(): ServerStatus {
    return this.#status;
  }

  /** The client while the server runs, else null. */
  get running(): Client | null {
    return this.#status.kind === 'running' ? this.#client : null;
  }

  /** Starts the server unless it runs. */
  start(): Promise<void> {
    return this.#coming ?? this.#enqueueStart(() => this.#start());
  }

  /** Waits for a start or restart that is under way, and starts a stopped server; one that failed stays as it is. */
  ready(): Promise<void> {
    if (this.#coming) return this.#coming;
    return this.#status.kind === 'stopped' ? this.start() : Promise.resolve();
  }

  /** Stops the server; one that is only starting is given up. */
  stop(): Promise<void> {
    this.#abandonStart?.(say`it was stopped while starting`);
    this.#coming = null;
    return this.#enqueue(() => this.#stop());
  }

  restart(): Promise<void> {
    this.#abandonStart?.(say`it was restarted while starting`);
    return this.#enqueueStart(async () => {
      await this.#stop();
      await this.#start();
    });
  }

  /** Notified from outside that the server ended permanently; the next start makes a new client. */
  lost(reason: string): Promise<void> {
    this.#abandonStart?.(reason);
    this.#coming = null;
    return this.#enqueue(async () => {
      if (this.#client === null) return;
      await this.#discard();
      this.#change({ kind: 'failed', reason });
    });
  }

  #enqueueStart(operation: () => Promise<void>): Promise<void> {
    const coming = this.#enqueue(operation).finally(() => {
      if (this.#coming === coming) this.#coming = null;
    });
    this.#coming = coming;
    return coming;
  }

  #enqueue(operation: () => Promise<void>): Promise<void> {
    this.#queue = this.#queue.then(operation);
    return this.#queue;
  }

  async #start(): Promise<void> {
    if (this.#status.kind === 'running') return;
    this.#change({ kind: 'starting' });
    const failure = await this.#tryToStart();
    if (failure === null) return this.#change({ kind: 'running' });
    await this.#discard();
    this.#change({ kind: 'failed', reason: failure });
  }

  /** Null, or why it did not start. */
  async #tryToStart(): Promise<string | null> {
    const limit = this.options.startTimeoutMs ?? 30_000;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const givenUp = new Promise<string>((resolve) => {
      this.#abandonStart = resolve;
      timer = setTimeout(() => resolve(say`it did not answer within ${limit / 1000} s`), limit);
    });
    try {
      this.#client = this.options.create();
      return await Promise.race([this.#client.start().then(() => null), givenUp]);
    } catch (error) {
      return reasonOf(error);
    } finally {
      clearTimeout(timer);
      this.#abandonStart = null;
    }
  }

  async #stop(): Promise<void> {
    if (this.#client !== null) await this.#discard();
    if (this.#status.kind !== 'stopped') this.#change({ kind: 'stopped' });
  }

  async #discard(): Promise<void> {
    const client = this.#client;
    const limit = this.options.stopTimeoutMs ?? 2_000;
    this.#client = null;
    try {
      await within(client?.dispose(limit), limit);
    } catch {
      // A client that never ran refuses to stop: there is nothing to stop then.
    }
  }

  #change(status: ServerStatus): void {
    this.#status = status;
    this.options.changed(status, this.#client);
  }
}

/** Waits for `work`, but no longer than `ms`. */
async function within(work: Promise<void> | undefined, ms: number): Promise<void> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const timeout = new Promise<void>((resolve) => (timer = setTimeout(resolve, ms)));
  try {
    await Promise.race([work, timeout]);
  } finally {
    clearTimeout(timer);
  }
}

/** The first line of what went wrong, in plain words where the protocol library speaks of its own insides. */
export function reasonOf(error: unknown): string {
  const text = (error instanceof Error ? error.message : String(error)).split('\n')[0]!.trim();
  if (/connection (got|is) (disposed|closed)|Unable to read|process exited/i.test(text))
    return say`it ended before it had answered`;
  return text || say`no reason was given`;
}
