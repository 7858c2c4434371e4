/**
 * Every request against half-typed texts: samples are cut at tokens, as if typed from top to bottom (the sound ones at each token
 * under CI or with EVERY_CUT set), and some tokens are also taken out of the middle. No request may answer with an error, and
 * nothing may be logged.
 */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { Session } from './session';
import { startSession } from './session';
import { SOUND } from './texts';

const EVERY_CUT = process.env['CI'] !== undefined || process.env['EVERY_CUT'] !== undefined;
const SAMPLES = join(__dirname, '../../samples');

function sampleTexts(): [string, string][] {
  const found: [string, string][] = [['parcel lock', SOUND]];
  const walk = (folder: string): void => {
    for (const name of readdirSync(folder).sort()) {
      const path = join(folder, name);
      if (statSync(path).isDirectory()) walk(path);
      else if (name.endsWith('.rig')) found.push([path.slice(SAMPLES.length + 1), readFileSync(path, 'utf8')]);
    }
  };
  walk(SAMPLES);
  return found;
}

let session: Session;
beforeAll(async () => {
  session = await startSession();
});
afterAll(async () => session.close());

/** Every request a client may send about a document and a place in it. */
async function askEverything(uri: string, text: string, offset: number): Promise<void> {
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
    ['workspace/symbol', { query: 'a' }],
    ['caisson/preview', { uri }],
    ['rig/tests', { uri }],
  ];
  for (const [method, params] of requests) await session.ask(method, params);
  // These may refuse, with a reason; they may not fail otherwise.
  for (const [method, params] of [
    ['textDocument/prepareRename', at],
    ['workspace/executeCommand', { command: 'caisson.timing', arguments: [uri] }],
    ['textDocument/rename', { ...at, newName: 'renamed' }],
  ] as const) {
    await session.ask(method, params).catch((e: { code: number; message: string }) => expect(e.code).toBe(-32803));
  }
}

describe.each(sampleTexts())('%s, half typed', (name, text) => {
  it('answers every request at every cut', async () => {
    const uri = `file:///half/${encodeURIComponent(name)}`;
    const document = session.open(uri, text);
    const { tokens } = parse(text);
    let current = text;
    const replaceAll = (next: string): void => {
      session.edit(document, 0, current.length, next);
      current = next;
    };
    // Every cut of the sound samples under CI; else some forty of each text, so that the run stays short.
    const everyCut = EVERY_CUT && !name.startsWith('broken');
    const stride = everyCut ? 1 : Math.max(1, Math.ceil(tokens.length / 40));
    for (let i = 0; i < tokens.length; i += stride) {
      replaceAll(text.slice(0, tokens[i]!.span.end));
      await askEverything(uri, current, current.length);
    }
    for (let i = 3; i < tokens.length; i += stride * 4) {
      replaceAll(text.slice(0, tokens[i]!.span.start) + text.slice(tokens[i]!.span.end));
      await askEverything(uri, current, tokens[i]!.span.start);
    }
    expect(session.logged).toEqual([]);
    void session.connection.sendNotification('textDocument/didClose', { textDocument: { uri } });
  }, 300_000);
});
