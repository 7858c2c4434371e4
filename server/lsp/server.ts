/** The language server on one connection: lifecycle, documents, settings, files. The requests stand in the handler files. */
import type { Connection, InitializeParams } from 'vscode-languageserver';
import {
  DidChangeConfigurationNotification,
  DidChangeWatchedFilesNotification,
  TextDocuments,
} from 'vscode-languageserver';
import { speak } from '../core/words/say';
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
import { createTurns, type Turns } from './turns';
import type { Workspace } from './workspace';
import { createWorkspace } from './workspace';

/** Registers everything on the connection and starts listening. */
export function createServer(connection: Connection, host: Host, gate: Gate): void {
  gate.register(connection);
  const turns = createTurns(host, gate.handled);
  const session = createSession(connection, host, turns);
  connection.onInitialize((params) => session.initialize(params));
  connection.onInitialized(() => session.initialized());
  connection.onShutdown(() => session.stop());
  registerFeatures({ connection, ...session, turns });
  registerCustom({ connection, workspace: session.workspace, log: session.log, proofs: session.proofs, turns });
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

/** What the client stated at the start or since, and what a session asks it by. */
interface ClientState {
  client: ClientFacts | null;
  folders: readonly string[];
  /** Settings as sent, for clients that cannot be asked. */
  pushed: unknown;
  trusted: boolean;
  diagnostics: Diagnostics | null;
}

const NO_CLIENT = readClientFacts({ capabilities: {} } as InitializeParams, null);

/** From here on the server knows its client, and speaks its language. */
function takeFacts(state: ClientState, client: ClientFacts): void {
  speak(client.words);
  state.client = client;
  state.folders = client.folders;
  state.trusted = client.options.trusted !== false;
  state.pushed = client.options.settings;
}

function createSession(connection: Connection, host: Host, turns: Turns): Session {
  const state: ClientState = { client: null, folders: [], pushed: undefined, trusted: true, diagnostics: null };
  const facts = (): ClientFacts => state.client ?? NO_CLIENT;
  const log: Log = (line) => connection.console.error(line);
  const { files, workspace, proofs } = createStores({ connection, host, turns }, state, facts);
  const refresh = (): void => {
    state.diagnostics?.allChanged();
    refreshViews(connection, facts());
    for (const { uri, version } of workspace.open.all()) notifyPreview(connection, uri, version);
  };
  return {
    workspace,
    client: facts,
    log,
    proofs,
    diagnostics: () => state.diagnostics,
    filesChanged: (uris) => {
      files.forget(uris);
      state.diagnostics?.changedOutside(workspace.fileChanged(uris));
      state.diagnostics?.filesChanged(uris);
    },
    initialize: (params) => {
      const client = readClientFacts(params, host.reference);
      takeFacts(state, client);
      state.diagnostics = createDiagnostics({ connection, workspace, client, host, turns, log, proofs });
      registerPull(connection, client, state.diagnostics);
      return initializeResult(client, host.version);
    },
    initialized: () => {
      registerDynamically(connection, facts());
      if (facts().workspaceFolders) {
        connection.workspace.onDidChangeWorkspaceFolders(({ added, removed }) => {
          const gone = new Set(removed.map((f) => f.uri));
          state.folders = [...state.folders.filter((f) => !gone.has(f)), ...added.map((f) => f.uri)];
          files.forgetAll();
          refresh();
        });
      }
      state.diagnostics?.allChanged();
    },
    trustGiven: () => {
      state.trusted = true;
      files.forgetAll();
      workspace.settingsChanged();
      refresh();
    },
    stop: () => {
      state.diagnostics?.stop();
      state.diagnostics = null;
    },
    settingsChanged: (settings) => {
      const section = (settings as Record<string, unknown> | null)?.[SETTINGS_SECTION];
      if (section !== undefined && section !== null) state.pushed = section;
      workspace.settingsChanged();
      refresh();
    },
  };
}

/** Files, documents and proofs of a session; what changes in them reaches its diagnostics and views. */
function createStores(
  { connection, host, turns }: { connection: Connection; host: Host; turns: Turns },
  state: ClientState,
  facts: () => ClientFacts,
) {
  const open = new TextDocuments(textDocuments(() => facts().encoding));
  const files = createFiles({
    host,
    connection,
    askClient: () => facts().options.files === true,
    isWatched: () => facts().watchFiles,
    within: () => (state.trusted ? null : readableFolders(state.folders, open.keys())),
    changed: (uri) => state.diagnostics?.changedOutside(workspace.fileChanged([uri])),
  });
  const workspace = createWorkspace({
    open,
    files,
    folders: () => state.folders,
    settingsFor: (uri) => askSettings(connection, facts(), state.pushed, uri),
    encoding: () => facts().encoding,
    inTurns: async (work) => (await turns.run(work, 'open', () => false))!.value,
  });
  const proofs = createProofs({
    connection,
    host,
    turns,
    client: facts,
    found: (uri) => {
      state.diagnostics?.changedOutside([uri]);
      notifyPreview(connection, uri, workspace.versionOf(uri) ?? 0);
      refreshViews(connection, facts());
    },
  });
  return { files, workspace, proofs };
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
