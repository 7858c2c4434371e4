/** Every request of the protocol that the server knows, sent at one place: none may fail but those that may refuse. */
import { expect } from 'vitest';
import type { Session } from './session';

/** Every request a client may send about a document and a place in it; `word` is what it searches for and a part of a new name. */
export async function askEverything(
  session: Session,
  uri: string,
  text: string,
  offset: number,
  word = 'a',
): Promise<void> {
  const textDocument = { uri };
  const before = text.slice(0, offset);
  const position = { line: before.split('\n').length - 1, character: offset - before.lastIndexOf('\n') - 1 };
  const end = { line: text.split('\n').length, character: 0 };
  const range = { start: { line: 0, character: 0 }, end };
  const at = { textDocument, position };
  const requests: [string, object][] = [
    ['textDocument/hover', at],
    ['textDocument/completion', { ...at, context: { triggerKind: 1 } }],
    ['textDocument/signatureHelp', at],
    ['textDocument/definition', at],
    ['textDocument/references', { ...at, context: { includeDeclaration: true } }],
    ['textDocument/documentHighlight', at],
    ['textDocument/prepareCallHierarchy', at],
    ['textDocument/documentSymbol', { textDocument }],
    ['textDocument/foldingRange', { textDocument }],
    ['textDocument/selectionRange', { textDocument, positions: [position] }],
    ['textDocument/semanticTokens/full', { textDocument }],
    ['textDocument/semanticTokens/range', { textDocument, range: { start: position, end } }],
    ['textDocument/inlayHint', { textDocument, range }],
    ['textDocument/codeLens', { textDocument }],
    [
      'textDocument/codeAction',
      { textDocument, range, context: { diagnostics: [], only: ['quickfix', 'source.fixAll'] } },
    ],
    ['textDocument/documentLink', { textDocument }],
    ['textDocument/formatting', { textDocument, options: { tabSize: 2, insertSpaces: true } }],
    [
      'textDocument/rangeFormatting',
      { textDocument, range: { start: position, end }, options: { tabSize: 2, insertSpaces: true } },
    ],
    ['workspace/symbol', { query: word }],
    ['caisson/preview', { uri }],
    ['rig/tests', { uri }],
  ];
  for (const [method, params] of requests) await session.ask(method, params);
  // These may refuse, with a reason; they may not fail otherwise.
  for (const [method, params] of [
    ['textDocument/prepareRename', at],
    ['workspace/executeCommand', { command: 'caisson.timing', arguments: [uri] }],
    ['textDocument/rename', { ...at, newName: `${word}renamed` }],
  ] as const) {
    await session.ask(method, params).catch((e: { code: number; message: string }) => expect(e.code).toBe(-32803));
  }
}
