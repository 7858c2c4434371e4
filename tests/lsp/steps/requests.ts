/** What to ask every handler of requests that the server registers, by the name under which `recorded` keeps it. */

/** Handlers of notifications and of the life of a session: nobody waits for an answer from them. */
export const NOT_ASKED: ReadonlySet<string> = new Set([
  'onRequest caisson/tooEarly',
  'onRequest caisson/tooLate',
  'onInitialize',
  'onInitialized',
  'onShutdown',
  'onNotification caisson/trusted',
  'onDidChangeWatchedFiles',
  'onDidChangeConfiguration',
  'workspace.onDidChangeWorkspaceFolders',
  'onDidOpenTextDocument',
  'onDidChangeTextDocument',
  'onDidCloseTextDocument',
  'onDidSaveTextDocument',
  'onWillSaveTextDocument',
  'onWillSaveTextDocumentWaitUntil',
]);

export interface Place {
  readonly uri: string;
  /** A second open document with the same rig, a value of it changed. */
  readonly other: string;
  readonly rig: string;
  /** The name of a door that the text has, and the positions of its declaration and of the first requirement. */
  readonly door: string;
  readonly at: { readonly line: number; readonly character: number };
  readonly requirement: { readonly line: number; readonly character: number };
  readonly end: { readonly line: number; readonly character: number };
}

/** Every handler with what it is asked; several where what it is asked decides what it has to compute. */
export function requestsOf(place: Place): Readonly<Record<string, readonly object[]>> {
  const { uri, other, rig, door, end } = place;
  const textDocument = { uri };
  const at = { textDocument, position: place.at };
  const range = { start: { line: 0, character: 0 }, end };
  const item = { name: door, kind: 12, uri, range, selectionRange: { start: place.at, end: place.at } };
  const options = { tabSize: 2, insertSpaces: true };
  const edge = { picture: `${rig}/go on`, edge: `door:${door}/opens/0` };
  const command = (name: string) => ({ command: name, arguments: [uri, rig] });
  return {
    onHover: [at, { textDocument, position: place.requirement }],
    onSignatureHelp: [at],
    'languages.inlayHint.on': [{ textDocument, range }],
    onCodeLens: [{ textDocument }],
    onDefinition: [at],
    onDocumentHighlight: [at],
    onReferences: [{ ...at, context: { includeDeclaration: true } }],
    onPrepareRename: [at],
    onRenameRequest: [{ ...at, newName: 'another_name' }],
    'languages.callHierarchy.onPrepare': [at],
    'languages.callHierarchy.onIncomingCalls': [{ item }],
    'languages.callHierarchy.onOutgoingCalls': [{ item }],
    onDocumentSymbol: [{ textDocument }],
    onWorkspaceSymbol: [{ query: door }],
    onFoldingRanges: [{ textDocument }],
    onSelectionRanges: [{ textDocument, positions: [place.at] }],
    'languages.semanticTokens.on': [{ textDocument }],
    'languages.semanticTokens.onRange': [{ textDocument, range }],
    onDocumentLinks: [{ textDocument }],
    onCompletion: [{ ...at, context: { triggerKind: 1 } }],
    onCompletionResolve: [{ label: door, data: 'What it is.' }],
    onDocumentFormatting: [{ textDocument, options }],
    onDocumentRangeFormatting: [{ textDocument, range, options }],
    onCodeAction: [{ textDocument, range, context: { diagnostics: [] } }],
    'languages.diagnostics.on': [{ textDocument }],
    'languages.diagnostics.onWorkspace': [{ previousResultIds: [] }],
    'onRequest caisson/byHand': [
      { uri, version: 1, rig, ask: 'try', values: { wait: 120_000 }, stores: true },
      { uri, version: 1, rig, ask: 'take', ...edge },
      { uri, version: 1, rig, ask: 'move', ...edge, choice: 0, t: 100_000 },
      { uri, version: 1, rig, ask: 'stops', ...edge, choice: 0 },
      { uri, version: 1, rig, ask: 'write', values: { wait: 120_000 } },
    ],
    'onRequest caisson/sheet': [{ uri, rig }],
    'onRequest caisson/readings': [
      { uri, text: `time_s,${door}\n0,0\n0.1,1\n0.3,1\n0.5,0\n`, scenario: null, about: 'compare' },
      { uri, text: `time_s,${door}\n0,0\n0.1,1\n0.3,1\n0.5,0\n`, scenario: null, about: 'diagnose' },
    ],
    'onRequest caisson/tune': [{ uri, rig, free: 'presets' }],
    'onRequest caisson/preview': [
      { uri, stores: false },
      { uri, stores: true },
    ],
    'onRequest caisson/differences': [{ uri, other }],
    'onRequest rig/tests': [{ uri }],
    onExecuteCommand: [command('caisson.timing'), command('caisson.diagram'), command('caisson.prove')],
  };
}
