/** What the connected client can do, read once from `initialize`; everything the server offers is gated by it. */
import type { ClientCapabilities, InitializeParams } from 'vscode-languageserver';
import { encodingFor, type Encoding } from './encoded-text';
import type { WordTable } from '../core/words/say';
import type { InitializationOptions } from '../protocol/messages';

export interface ClientFacts {
  readonly folders: readonly string[];
  readonly options: InitializationOptions;
  /** Texts in its language; empty for English. */
  readonly words: WordTable;
  /** URI of the language reference, null where there is none to open. */
  readonly reference: string | null;
  /** Units in which positions count within a line. */
  readonly encoding: Encoding;
  readonly pullDiagnostics: boolean;
  readonly refreshDiagnostics: boolean;
  readonly relatedInformation: boolean;
  readonly codeDescription: boolean;
  readonly unnecessaryTag: boolean;
  readonly configuration: boolean;
  readonly registerConfiguration: boolean;
  readonly watchFiles: boolean;
  readonly workspaceFolders: boolean;
  readonly snippets: boolean;
  readonly markdownHover: boolean;
  readonly markdownCompletion: boolean;
  readonly markdownSignature: boolean;
  readonly activeParameter: boolean;
  readonly definitionLinks: boolean;
  readonly nestedSymbols: boolean;
  readonly codeActionLiterals: boolean;
  /** Shows why an action cannot be taken. */
  readonly disabledActions: boolean;
  readonly foldSummaries: boolean;
  readonly foldLinesOnly: boolean;
  readonly refreshHints: boolean;
  readonly refreshLenses: boolean;
  readonly refreshTokens: boolean;
  readonly documentChanges: boolean;
  readonly workDoneProgress: boolean;
}

/** @param reference where the language reference is, for clients that do not say */
export function readClientFacts(params: InitializeParams, reference: string | null): ClientFacts {
  const options = isObject(params.initializationOptions) ? params.initializationOptions : {};
  const given: ClientCapabilities = params.capabilities ?? {};
  const document = given.textDocument ?? {};
  const workspace = given.workspace ?? {};
  return {
    folders: foldersOf(params),
    options,
    words: isWordTable(options.words) ? options.words : {},
    reference: typeof options.reference === 'string' ? options.reference : reference,
    encoding: encodingFor(given.general?.positionEncodings),
    pullDiagnostics: document.diagnostic !== undefined,
    refreshDiagnostics: workspace.diagnostics?.refreshSupport ?? false,
    ...diagnosticFacts(document),
    configuration: workspace.configuration ?? false,
    registerConfiguration: workspace.didChangeConfiguration?.dynamicRegistration ?? false,
    watchFiles: workspace.didChangeWatchedFiles?.dynamicRegistration ?? false,
    workspaceFolders: workspace.workspaceFolders ?? false,
    ...documentationFacts(document),
    definitionLinks: document.definition?.linkSupport ?? false,
    nestedSymbols: document.documentSymbol?.hierarchicalDocumentSymbolSupport ?? false,
    codeActionLiterals: document.codeAction?.codeActionLiteralSupport !== undefined,
    disabledActions: document.codeAction?.disabledSupport === true,
    foldSummaries: document.foldingRange?.foldingRange?.collapsedText ?? false,
    foldLinesOnly: document.foldingRange?.lineFoldingOnly ?? false,
    refreshHints: workspace.inlayHint?.refreshSupport ?? false,
    refreshLenses: workspace.codeLens?.refreshSupport ?? false,
    refreshTokens: workspace.semanticTokens?.refreshSupport ?? false,
    documentChanges: workspace.workspaceEdit?.documentChanges ?? false,
    workDoneProgress: given.window?.workDoneProgress ?? false,
  };
}

type DocumentCapabilities = NonNullable<ClientCapabilities['textDocument']>;

function diagnosticFacts(document: DocumentCapabilities) {
  // A client that pulls describes its diagnostics there; older ones under `publishDiagnostics`.
  const published = document.publishDiagnostics ?? {};
  const pulled = document.diagnostic ?? {};
  const tags = pulled.tagSupport ?? published.tagSupport;
  return {
    relatedInformation: pulled.relatedInformation ?? published.relatedInformation ?? false,
    codeDescription: pulled.codeDescriptionSupport ?? published.codeDescriptionSupport ?? false,
    unnecessaryTag: tags?.valueSet.includes(1) ?? false,
  };
}

function documentationFacts(document: DocumentCapabilities) {
  const item = document.completion?.completionItem;
  const signature = document.signatureHelp?.signatureInformation;
  return {
    snippets: item?.snippetSupport ?? false,
    markdownHover: document.hover?.contentFormat?.includes('markdown') ?? false,
    markdownCompletion: item?.documentationFormat?.includes('markdown') ?? false,
    markdownSignature: signature?.documentationFormat?.includes('markdown') ?? false,
    activeParameter: signature?.activeParameterSupport ?? false,
  };
}

function foldersOf(params: InitializeParams): string[] {
  const named = params.workspaceFolders?.map((f) => f.uri) ?? [];
  if (named.length > 0) return named;
  return params.rootUri ? [params.rootUri] : [];
}

function isWordTable(value: unknown): value is WordTable {
  return typeof value === 'object' && value !== null && Object.values(value).every((text) => typeof text === 'string');
}

function isObject(value: unknown): value is InitializationOptions {
  return typeof value === 'object' && value !== null;
}
