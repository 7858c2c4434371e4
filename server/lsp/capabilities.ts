/** What the server offers, given what the client can do. */
import type { InitializeResult, ServerCapabilities } from 'vscode-languageserver';
import { CodeActionKind, TextDocumentSyncKind } from 'vscode-languageserver';
import { COMMANDS, TOKEN_MODIFIERS, TOKEN_TYPES } from '../protocol/messages';
import type { ClientFacts } from './client-facts';

/** The kind of the action that takes all preferred fixes. */
export const FIX_ALL = `${CodeActionKind.SourceFixAll}.caisson`;

export function initializeResult(client: ClientFacts, version: string): InitializeResult {
  return { capabilities: capabilitiesFor(client), serverInfo: { name: 'Caisson', version } };
}

function capabilitiesFor(client: ClientFacts): ServerCapabilities {
  return {
    positionEncoding: client.encoding,
    textDocumentSync: { openClose: true, change: TextDocumentSyncKind.Incremental, save: { includeText: false } },
    ...(client.pullDiagnostics
      ? { diagnosticProvider: { identifier: 'caisson', interFileDependencies: true, workspaceDiagnostics: true } }
      : {}),
    hoverProvider: true,
    completionProvider: { triggerCharacters: [' ', '(', ',', '=', '>', '"', '.', '/', '%'], resolveProvider: true },
    signatureHelpProvider: { triggerCharacters: ['(', ','], retriggerCharacters: [')'] },
    definitionProvider: true,
    referencesProvider: true,
    documentHighlightProvider: true,
    renameProvider: { prepareProvider: true },
    callHierarchyProvider: true,
    documentSymbolProvider: { label: 'Rig' },
    workspaceSymbolProvider: true,
    foldingRangeProvider: true,
    selectionRangeProvider: true,
    semanticTokensProvider: {
      legend: { tokenTypes: TOKEN_TYPES.map((t) => t.name), tokenModifiers: [...TOKEN_MODIFIERS] },
      full: true,
      range: true,
    },
    inlayHintProvider: true,
    codeLensProvider: { resolveProvider: false },
    codeActionProvider: client.codeActionLiterals ? { codeActionKinds: [CodeActionKind.QuickFix, FIX_ALL] } : true,
    documentLinkProvider: { resolveProvider: false },
    documentFormattingProvider: true,
    documentRangeFormattingProvider: true,
    executeCommandProvider: { commands: Object.values(COMMANDS) },
    ...(client.workspaceFolders
      ? { workspace: { workspaceFolders: { supported: true, changeNotifications: true } } }
      : {}),
  };
}
