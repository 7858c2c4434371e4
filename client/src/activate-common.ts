/** What both entries of the extension do. Returns at once: the server starts when the first rig document is there. */
import { l10n, window, workspace, type ExtensionContext, type TextDocument } from 'vscode';
import { registerBuildSheets } from './build-sheet';
import { registerCommands } from './commands';
import { createMarkdownPlugin, type MarkdownIt } from './markdown/plugin';
import type { Platform } from './platform';
import { createPreviewHost } from './preview/host';
import { registerSavedText, SAVED_SCHEME } from './saved-text';
import { createServer } from './server';
import type { ServerStatus } from './lifecycle';
import { registerTasks } from './tasks';
import { registerTestView } from './test-view';
import { speak } from '../../server/core/words/say';
import { COMMANDS, TRUSTED } from '../../server/protocol/messages';

/** What other extensions, and the tests, get from `activate`. */
export interface Api {
  /** The facts that `caisson timing --json` prints, of a document of the editor; null where there are none. */
  timing(uri: string): Promise<unknown>;
  /** State of the language server. */
  serverStatus(): ServerStatus;
  /** Read by the built-in Markdown preview. */
  extendMarkdownIt(markdown: MarkdownIt): MarkdownIt;
}

export interface Activation {
  readonly api: Api;
  stop(): Promise<void>;
}

export function activateCommon(context: ExtensionContext, platform: Platform): Activation {
  speak(l10n.bundle);
  const version = String(context.extension.packageJSON.version);
  const log = window.createOutputChannel('Caisson', { log: true });
  const server = createServer({ platform, log, version, extensionUri: context.extensionUri });
  const preview = createPreviewHost(context, server, log);
  context.subscriptions.push(log, server, preview, registerSavedText(), registerTestView(server));
  if (platform.commandLine) context.subscriptions.push(registerTasks(platform.commandLine));
  const sheets = registerBuildSheets(server);
  context.subscriptions.push(sheets, ...registerCommands({ server, preview, sheets, log, version, platform }));

  const startFor = (document: TextDocument): void => {
    const wanted = document.languageId === 'rig' && document.uri.scheme !== SAVED_SCHEME;
    if (wanted && server.status.kind === 'stopped') void server.start();
  };
  workspace.textDocuments.forEach(startFor);
  context.subscriptions.push(workspace.onDidOpenTextDocument(startFor));
  context.subscriptions.push(workspace.onDidGrantWorkspaceTrust(() => void server.client?.sendNotification(TRUSTED)));

  return {
    api: {
      timing: (uri) => server.ask('workspace/executeCommand', { command: COMMANDS.timing, arguments: [uri] }),
      serverStatus: () => server.status,
      extendMarkdownIt: createMarkdownPlugin(platform),
    },
    stop: () => server.stop(),
  };
}
