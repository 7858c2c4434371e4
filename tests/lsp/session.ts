/** A client of the server for tests: in-process over two streams, or a spawned program; the real protocol library on both ends. */
import type { ChildProcess } from 'node:child_process';
import { spawn } from 'node:child_process';
import { PassThrough } from 'node:stream';
import type {
  ClientCapabilities,
  Diagnostic,
  InitializeParams,
  InitializeResult,
  ProtocolConnection,
} from 'vscode-languageserver/node';
import {
  createConnection,
  createProtocolConnection,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver/node';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { createGate } from '../../server/lsp/gate';
import type { Host } from '../../server/lsp/host';
import { nodeHost } from '../../server/lsp/node-host';
import { createServer } from '../../server/lsp/server';

/** What a first-class editor can do. */
export const FULL_CLIENT: ClientCapabilities = {
  workspace: {
    workspaceFolders: true,
    configuration: true,
    didChangeConfiguration: { dynamicRegistration: true },
    didChangeWatchedFiles: { dynamicRegistration: true },
    diagnostics: { refreshSupport: true },
    workspaceEdit: { documentChanges: true },
  },
  textDocument: {
    hover: { contentFormat: ['markdown', 'plaintext'] },
    completion: { completionItem: { snippetSupport: true, documentationFormat: ['markdown'] } },
    documentSymbol: { hierarchicalDocumentSymbolSupport: true },
    definition: { linkSupport: true },
    codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: [] } } },
    foldingRange: { foldingRange: { collapsedText: true } },
    publishDiagnostics: { relatedInformation: true, codeDescriptionSupport: true, tagSupport: { valueSet: [1] } },
  },
};

/** The same, with pull diagnostics. */
export const PULL_CLIENT: ClientCapabilities = {
  ...FULL_CLIENT,
  textDocument: { ...FULL_CLIENT.textDocument, diagnostic: { relatedInformation: true, codeDescriptionSupport: true } },
};

export interface Published {
  readonly uri: string;
  readonly version?: number;
  readonly diagnostics: readonly Diagnostic[];
}

export interface Session {
  readonly connection: ProtocolConnection;
  readonly result: InitializeResult;
  readonly published: Published[];
  readonly logged: string[];
  readonly notified: { readonly method: string; readonly params: unknown }[];
  /** Settings section `caisson` that the client answers with. */
  settings: unknown;
  open(uri: string, text: string): TextDocument;
  /** Replaces `[start, end)` of the document and tells the server, incrementally. */
  edit(document: TextDocument, start: number, end: number, text: string): void;
  ask<T>(method: string, params: object): Promise<T>;
  /** The next publication for `uri` that fits, also one that came already. */
  diagnostics(uri: string, fits?: (p: Published) => boolean): Promise<Published>;
  close(): Promise<void>;
}

export interface SessionOptions {
  readonly capabilities?: ClientCapabilities;
  readonly initialize?: Partial<InitializeParams>;
  readonly settings?: unknown;
  readonly host?: Partial<Host>;
  /** Answers of the client to requests of the server. */
  readonly requests?: Readonly<Record<string, (params: never) => unknown>>;
}

/** Starts a server in this process. */
export async function startSession(options: SessionOptions = {}): Promise<Session> {
  const toServer = new PassThrough();
  const toClient = new PassThrough();
  const gate = createGate();
  const server = createConnection(new StreamMessageReader(toServer), new StreamMessageWriter(toClient), {
    messageStrategy: gate.messageStrategy,
  });
  createServer(server, { ...nodeHost('0.0.0-test'), ...options.host }, gate);
  const client = createProtocolConnection(new StreamMessageReader(toClient), new StreamMessageWriter(toServer));
  // Streams in memory need no closing; what still runs may finish.
  return initialize(client, options, async () => client.sendRequest('shutdown'));
}

/** Starts a program that speaks the protocol on its standard streams. */
export async function spawnSession(
  command: string,
  args: readonly string[],
  options: SessionOptions = {},
): Promise<Session & { readonly process: ChildProcess }> {
  const child = spawn(command, args, { stdio: ['pipe', 'pipe', 'pipe'] });
  const client = createProtocolConnection(new StreamMessageReader(child.stdout), new StreamMessageWriter(child.stdin));
  const exited = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const session = await initialize(client, options, async () => {
    await client.sendRequest('shutdown').catch(() => undefined);
    await client.sendNotification('exit').catch(() => undefined);
    await exited;
    client.dispose();
  });
  return Object.assign(session, { process: child });
}

/** Requests of the server that a client answers with nothing. */
const QUIET_REQUESTS: readonly string[] = [
  'client/registerCapability',
  'client/unregisterCapability',
  'workspace/diagnostic/refresh',
  'workspace/inlayHint/refresh',
  'workspace/codeLens/refresh',
  'workspace/semanticTokens/refresh',
];

async function initialize(
  client: ProtocolConnection,
  options: SessionOptions,
  close: () => Promise<void>,
): Promise<Session> {
  const published: Published[] = [];
  const logged: string[] = [];
  const notified: { method: string; params: unknown }[] = [];
  const waiting = new Set<() => void>();
  client.onNotification('textDocument/publishDiagnostics', (params: Published) => {
    published.push(params);
    for (const check of [...waiting]) check();
  });
  client.onNotification('window/logMessage', (params: { message: string }) => void logged.push(params.message));
  client.onNotification('caisson/previewChanged', (params: unknown) => {
    notified.push({ method: 'caisson/previewChanged', params });
  });
  for (const method of QUIET_REQUESTS) client.onRequest(method, () => null);
  for (const [method, respond] of Object.entries(options.requests ?? {})) {
    client.onRequest(method, (params: unknown) => respond(params as never));
  }
  client.onRequest('workspace/configuration', ({ items }: { items: unknown[] }) =>
    items.map(() => session.settings ?? null),
  );
  client.listen();
  const result = await client.sendRequest<InitializeResult>('initialize', {
    processId: null,
    rootUri: null,
    capabilities: options.capabilities ?? FULL_CLIENT,
    workspaceFolders: null,
    ...options.initialize,
  });
  const session: Session = {
    connection: client,
    result,
    published,
    logged,
    notified,
    settings: options.settings,
    open: (uri, text) => {
      void client.sendNotification('textDocument/didOpen', {
        textDocument: { uri, languageId: 'rig', version: 1, text },
      });
      return TextDocument.create(uri, 'rig', 1, text);
    },
    edit: (document, start, end, text) => {
      const range = { start: document.positionAt(start), end: document.positionAt(end) };
      const version = document.version + 1;
      TextDocument.update(document, [{ range, text }], version);
      const textDocument = { uri: document.uri, version };
      void client.sendNotification('textDocument/didChange', { textDocument, contentChanges: [{ range, text }] });
    },
    ask: (method, params) => client.sendRequest(method, params),
    diagnostics: (uri, fits = () => true) =>
      new Promise((resolve) => {
        const check = (): void => {
          const found = published.find((p) => p.uri === uri && fits(p));
          if (!found) return;
          waiting.delete(check);
          resolve(found);
        };
        waiting.add(check);
        check();
      }),
    close,
  };
  await client.sendNotification('initialized', {});
  return session;
}
