/** The language server as the rest of the extension sees it: started when first needed, asked by request, restarted by command. */
import { l10n, window, type CancellationToken, type Disposable, type LogOutputChannel, type Uri } from 'vscode';
import { State, type BaseLanguageClient } from 'vscode-languageclient';
import { clientOptions } from './client-options';
import { crashLimit } from './crash-limit';
import { answerFileRequests } from './file-requests';
import { ServerLifecycle, reasonOf, type ServerStatus } from './lifecycle';
import type { Platform } from './platform';
import { createStatusItem } from './status';

export type NotificationListener = (params: unknown) => void;

export interface Server extends Disposable {
  readonly status: ServerStatus;
  readonly client: BaseLanguageClient | null;
  start(): Promise<void>;
  stop(): Promise<void>;
  restart(): Promise<void>;
  /** Starts the server if need be; null where it is not available or the request failed (the log says why). */
  ask<Answer>(method: string, params: unknown, token?: CancellationToken): Promise<Answer | null>;
  /** Called for each notification of this name, over restarts. */
  listen(method: string, listener: NotificationListener): void;
  /** Called after each start. */
  onStarted(listener: () => void): void;
}

export interface ServerContext {
  readonly platform: Platform;
  readonly log: LogOutputChannel;
  readonly version: string;
  readonly extensionUri: Uri;
}

export function createServer({ platform, log, version, extensionUri }: ServerContext): Server {
  const status = createStatusItem(version);
  const listeners = new Map<string, NotificationListener>();
  const started: (() => void)[] = [];
  const mayRestart = crashLimit(() => Date.now());

  const restartAfterCrash = (): boolean => {
    // A server that ends while it first starts is a failed start, which `start` itself reports.
    if (lifecycle.status.kind !== 'running') return false;
    if (mayRestart()) return true;
    void lifecycle.lost(l10n.t('it ended five times within three minutes'));
    return false;
  };

  const create = (): BaseLanguageClient => {
    const client = platform.createClient(clientOptions({ log, extensionUri, restartAfterCrash }));
    answerFileRequests(client);
    for (const [method, listener] of listeners) client.onNotification(method, listener);
    client.onDidChangeState((event) => {
      const lost = event.newState === State.StartFailed && lifecycle.running === client;
      if (lost) void lifecycle.lost(l10n.t('it could not be started again'));
    });
    return client;
  };

  const lifecycle: ServerLifecycle<BaseLanguageClient> = new ServerLifecycle({
    create,
    changed: (now) => {
      status.show(now);
      log.info(`language server: ${now.kind}${now.kind === 'failed' ? ` (${now.reason})` : ''}`);
      if (now.kind === 'failed') void offerRestart(now.reason, lifecycle, log);
      if (now.kind === 'running') for (const listener of started) listener();
    },
  });

  return {
    get status() {
      return lifecycle.status;
    },
    get client() {
      return lifecycle.running;
    },
    start: () => lifecycle.start(),
    stop: () => lifecycle.stop(),
    restart: () => lifecycle.restart(),
    ask: async <Answer>(method: string, params: unknown, token?: CancellationToken) => {
      await lifecycle.ready();
      return askClient<Answer>(lifecycle.running, { method, params, token }, log);
    },
    listen(method, listener) {
      listeners.set(method, listener);
      lifecycle.running?.onNotification(method, listener);
    },
    onStarted: (listener) => void started.push(listener),
    dispose: () => status.dispose(),
  };
}

async function askClient<Answer>(
  client: BaseLanguageClient | null,
  { method, params, token }: { method: string; params: unknown; token: CancellationToken | undefined },
  log: LogOutputChannel,
): Promise<Answer | null> {
  if (client === null) return null;
  try {
    // An argument that is undefined would go out as a second parameter.
    const sent = token
      ? client.sendRequest<Answer | null>(method, params, token)
      : client.sendRequest<Answer | null>(method, params);
    return await sent;
  } catch (error) {
    log.warn(`${method}: ${reasonOf(error)}`);
    return null;
  }
}

let offered = '';

/** Says that the server is gone, once for each reason, with the two actions that help. */
async function offerRestart(
  reason: string,
  lifecycle: { restart(): Promise<void> },
  log: LogOutputChannel,
): Promise<void> {
  if (offered === reason) return;
  offered = reason;
  const [restart, showLog] = [l10n.t('Restart'), l10n.t('Show Log')];
  const message = l10n.t('The language server for rig files stopped: {0}.', reason);
  const answer = await window.showErrorMessage(message, restart, showLog);
  if (answer === restart) await lifecycle.restart();
  if (answer === showLog) log.show(true);
}
