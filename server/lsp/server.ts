/** The language server on one connection: lifecycle, documents, settings, files. The requests stand in the handler files. */
import type { Connection, InitializeParams } from 'vscode-languageserver';
import {
  DidChangeConfigurationNotification,
  DidChangeWatchedFilesNotification,
  TextDocuments,
} from 'vscode-languageserver';
import { TRUSTED } from '../protocol/messages';
import { SETTINGS_SECTION } from '../protocol/settings';
import { initializeResult } from './capabilities';
import type { ClientFacts } from './client-facts';
import { readClientFacts } from './client-facts';
import { registerCustom } from './custom-handlers';
import type { Diagnostics } from './diagnostics';
import { createDiagnostics, notifyPreview } from './diagnostics';
import { registerFeatures } from './feature-handlers';
import { textDocuments } from './encoded-text';
import { createFiles } from './files';
import type { Gate } from './gate';
import type { Host } from './host';
import type { Proofs } from './proofs';
import { createProofs } from './proofs';
import type { Log } from './request';
import type { Workspace } from './workspace';
import { createWorkspace } from './workspace';

/** Registers everything on the connection and starts listening. */
export function createServer(connection: Connection, host: Host, gate: Gate): void {
  gate.register(connection);
  const session = createSession(connection, host);
  connection.onInitialize((params) => session.initialize(params));
  connection.onInitialized(() => session.initialized());
  connection.onShutdown(() => session.stop());
  registerFeatures({ connection, ...session, host });
  registerCustom({ connection, workspace: session.workspace, log: session.log, proofs: session.proofs, host });
  connection.onNotification(TRUSTED, () => session.trustGiven());
  const watched = inOnePass(host, (uris) => session.filesChanged(uris));
  connection.onDidChangeWatchedFiles(({ changes }) => watched(changes.map((c) => c.uri)));
  connection.onDidChangeConfiguration(({ settings }) => session.settingsChanged(settings));
  listenToDocuments(connection, session);
  connection.listen();
}

/** Many events of one moment (a checkout, a build) become one call. */
function inOnePass(host: Host, handle: (uris: readonly string[]) => void): (uris: readonly string[]) => void {
  let waiting: Set<string> | null = null;
  return (uris) => {
    if (waiting) {
      for (const uri of uris) waiting.add(uri);
      return;
    }
    const collected = (waiting = new Set(uris));
    const settle = async (): Promise<void> => {
      for (let before = -1; before !== collected.size;) {
        before = collected.size;
        await host.pause();
        await host.pause();
      }
      waiting = null;
      handle([...collected]);
    };
    void settle();
  };
}

interface Session {
  readonly workspace: Workspace;
  readonly client: () => ClientFacts;
  readonly log: Log;
  readonly proofs: Proofs;
  initialize(params: InitializeParams): ReturnType<typeof initializeResult>;
  initialized(): void;
  trustGiven(): void;
  stop(): void;
  filesChanged(uris: readonly string[]): void;
  settingsChanged(settings: unknown): void;
  diagnostics(): Diagnostics | null;
}

function createSession(connection: Connection, host: Host): Session {
  let client: ClientFacts | null = null;
  let diagnostics: Diagnostics | null = null;
  let folders: readonly string[] = [];
  let pushed: unknown;
  let trusted = true;
  const log: Log = (line) => connection.console.error(line);
  const open = new TextDocuments(textDocuments(() => facts().encoding));
  const facts = (): ClientFacts => client ?? readClientFacts({ capabilities: {} } as InitializeParams, null);
  const textsChanged = (uris: readonly string[]): void => diagnostics?.changedOutside(workspace.fileChanged(uris));
  const files = createFiles({
    host,
    connection,
    askClient: () => facts().options.files === true,
    isWatched: () => facts().watchFiles,
    within: () => (trusted ? null : readableFolders(folders, open.keys())),
    changed: (uri) => textsChanged([uri]),
  });
  const settingsFor = (uri: string | null): Promise<unknown> => askSettings(connection, facts(), pushed, uri);
  const workspace = createWorkspace({
    open,
    files,
    folders: () => folders,
    settingsFor,
    encoding: () => facts().encoding,
  });
  const proofs = createProofs({
    connection,
    host,
    client: facts,
    found: (uri) => {
      diagnostics?.changedOutside([uri]);
      notifyPreview(connection, uri, workspace.versionOf(uri) ?? 0);
      refreshViews(connection, facts());
    },
  });

  const refresh = (): void => {
    diagnostics?.allChanged();
    refreshViews(connection, facts());
    for (const document of open.all()) notifyPreview(connection, document.uri, document.version);
  };
  return {
    workspace,
    client: facts,
    log,
    proofs,
    diagnostics: () => diagnostics,
    filesChanged: (uris) => {
      files.forget(uris);
      textsChanged(uris);
      diagnostics?.filesChanged(uris);
    },
    initialize: (params) => {
      client = readClientFacts(params, host.reference);
      folders = client.folders;
      trusted = client.options.trusted !== false;
      pushed = client.options.settings;
      diagnostics = createDiagnostics({ connection, workspace, client, host, log, proofs });
      registerPull(connection, client, diagnostics);
      return initializeResult(client, host.version);
    },
    initialized: () => {
      registerDynamically(connection, facts());
      if (facts().workspaceFolders) {
        connection.workspace.onDidChangeWorkspaceFolders(({ added, removed }) => {
          const gone = new Set(removed.map((f) => f.uri));
          folders = [...folders.filter((f) => !gone.has(f)), ...added.map((f) => f.uri)];
          files.forgetAll();
          refresh();
        });
      }
      diagnostics?.allChanged();
    },
    trustGiven: () => {
      trusted = true;
      files.forgetAll();
      workspace.settingsChanged();
      refresh();
    },
    stop: () => {
      diagnostics?.stop();
      diagnostics = null;
    },
    settingsChanged: (settings) => {
      const section = (settings as Record<string, unknown> | null)?.[SETTINGS_SECTION];
      if (section !== undefined && section !== null) pushed = section;
      workspace.settingsChanged();
      refresh();
    },
  };
}

/** What may be read while the workspace is not trusted: its folders, or where there are none those of open files. */
function readableFolders(folders: readonly string[], open: readonly string[]): readonly string[] {
  if (folders.length > 0) return folders;
  return open.map((uri) => uri.slice(0, uri.lastIndexOf('/')));
}

/** Settings by pull where the client answers, else those it sent. */
async function askSettings(
  connection: Connection,
  client: ClientFacts,
  pushed: unknown,
  uri: string | null,
): Promise<unknown> {
  if (!client.configuration) return pushed;
  try {
    const item = uri === null ? { section: SETTINGS_SECTION } : { scopeUri: uri, section: SETTINGS_SECTION };
    return await connection.workspace.getConfiguration(item);
  } catch {
    return pushed; // A client that promises configuration and fails gets what it sent, or the defaults.
  }
}

function registerDynamically(connection: Connection, client: ClientFacts): void {
  if (client.registerConfiguration) {
    void connection.client.register(DidChangeConfigurationNotification.type, { section: SETTINGS_SECTION });
  }
  if (client.watchFiles) {
    void connection.client.register(DidChangeWatchedFilesNotification.type, {
      watchers: [{ globPattern: '**/*.rig' }],
    });
  }
}

function refreshViews(connection: Connection, client: ClientFacts): void {
  const quiet = (): undefined => undefined;
  if (client.refreshHints) void connection.languages.inlayHint.refresh().catch(quiet);
  if (client.refreshLenses) void connection.sendRequest('workspace/codeLens/refresh').catch(quiet);
  if (client.refreshTokens) void Promise.resolve(connection.languages.semanticTokens.refresh());
}

function registerPull(connection: Connection, client: ClientFacts, diagnostics: Diagnostics): void {
  if (!client.pullDiagnostics) return;
  connection.languages.diagnostics.on((params, token) =>
    diagnostics.pull(params.textDocument.uri, params.previousResultId, token),
  );
  connection.languages.diagnostics.onWorkspace((params, token) =>
    diagnostics.pullWorkspace(params.previousResultIds, token),
  );
}

function listenToDocuments(connection: Connection, session: Session): void {
  const { open } = session.workspace;
  open.onDidChangeContent(({ document }) => {
    const { uri, version } = document;
    const dependents = session.workspace.fileChanged([uri]).filter((other) => other !== uri);
    session.diagnostics()?.changed([uri, ...dependents]);
    for (const changed of [uri, ...dependents]) {
      notifyPreview(connection, changed, changed === uri ? version : (session.workspace.versionOf(changed) ?? 0));
    }
  });
  open.onDidClose(({ document }) => {
    session.workspace.closed(document.uri);
    session.filesChanged([document.uri]);
    session.diagnostics()?.closed(document.uri);
  });
  open.listen(connection);
}
