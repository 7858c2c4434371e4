/** Entry of the extension where the editor runs in a browser: the language server is a worker. */
import { Uri, workspace, type ExtensionContext } from 'vscode';
import {
  BrowserMessageReader,
  BrowserMessageWriter,
  LanguageClient,
  type LanguageClientOptions,
  type MessageTransports,
} from 'vscode-languageclient/browser';
import { activateCommon, type Activation } from './activate-common';
import type { DrawFence, Platform } from './platform';

/** Tells failures to the log only; ends its worker when it is disposed of. */
class WorkerClient extends LanguageClient {
  #worker: Worker | null = null;

  constructor(script: string, options: LanguageClientOptions) {
    super('caisson', 'Caisson', () => Promise.resolve(this.#newWorker(script)), options);
  }

  /** Also called when the library starts the server again by itself. */
  #newWorker(script: string): MessageTransports {
    this.#worker?.terminate();
    const worker = new Worker(script);
    this.#worker = worker;
    // Made here: the library asks whether it has a Worker, and that of an extension host is a class of the editor's own.
    return { reader: new BrowserMessageReader(worker), writer: new BrowserMessageWriter(worker) };
  }

  override error(message: string, data?: unknown): void {
    super.error(message, data, false);
  }

  override async dispose(timeoutMs?: number): Promise<void> {
    try {
      await super.dispose(timeoutMs);
    } finally {
      this.#worker?.terminate();
    }
  }
}

let activation: Activation | null = null;

export function activate(context: ExtensionContext): Activation['api'] {
  const program = Uri.joinPath(context.extensionUri, 'dist', 'caisson.js');
  const platform: Platform = {
    name: 'browser',
    createClient: (options) => new WorkerClient(program.toString(true), options),
    loadDrawFence: () => loadAsModule(program),
    commandLine: null,
  };
  activation = activateCommon(context, platform);
  return activation.api;
}

export async function deactivate(): Promise<void> {
  await activation?.stop();
}

/** The program as a module, as the editor loads extensions in a browser: there is no `require` for files there. */
async function loadAsModule(program: Uri): Promise<DrawFence> {
  const text = new TextDecoder().decode(await workspace.fs.readFile(program));
  const module = { exports: {} as { drawFence: DrawFence } };
  const noFiles = (): never => {
    throw new Error('there are no modules in a browser');
  };
  new Function('module', 'exports', 'require', text.replace(/^#!.*/, ''))(module, module.exports, noFiles);
  return module.exports.drawFence;
}
