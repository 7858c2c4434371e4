/** Entry of the extension where the editor runs in a browser: the language server is a worker. */
import { Uri, type ExtensionContext } from 'vscode';
import { LanguageClient, type LanguageClientOptions } from 'vscode-languageclient/browser';
import { activateCommon, type Activation } from './activate-common';
import { drawFence } from './markdown/fence';
import type { Platform } from './platform';

/** Tells failures to the log only; ends its worker when it is disposed of. */
class WorkerClient extends LanguageClient {
  constructor(
    private readonly worker: Worker,
    options: LanguageClientOptions,
  ) {
    super('caisson', 'Caisson', () => Promise.resolve(worker), options);
  }

  override error(message: string, data?: unknown): void {
    super.error(message, data, false);
  }

  override async dispose(timeoutMs?: number): Promise<void> {
    try {
      await super.dispose(timeoutMs);
    } finally {
      this.worker.terminate();
    }
  }
}

let activation: Activation | null = null;

export function activate(context: ExtensionContext): Activation['api'] {
  const script = Uri.joinPath(context.extensionUri, 'dist', 'server.web.js').toString(true);
  const platform: Platform = {
    name: 'browser',
    createClient: (options) => new WorkerClient(new Worker(script), options),
    loadDrawFence: () => drawFence,
    commandLine: null,
  };
  activation = activateCommon(context, platform);
  return activation.api;
}

export async function deactivate(): Promise<void> {
  await activation?.stop();
}
