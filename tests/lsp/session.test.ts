/** Lifecycle, synchronisation and diagnostics of the server, over the real protocol library. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { DecodedText } from '../../server/protocol/text-bytes';
import { afterEach, describe, expect, it } from 'vitest';
import type { Session, SessionOptions } from './session';
import { FULL_CLIENT, PULL_CLIENT, startSession } from './session';
import { SOUND } from './texts';

const URI = 'file:///rigs/lock.rig';
const sessions: Session[] = [];

async function start(options: SessionOptions = {}): Promise<Session> {
  const session = await startSession(options);
  sessions.push(session);
  return session;
}

afterEach(async () => {
  for (const session of sessions.splice(0)) {
    expect(session.logged).toEqual([]);
    await session.close();
  }
});

const BROKEN = SOUND.replace('dwell)', 'dwel)');

const decoded = (text: string | undefined): DecodedText | undefined =>
  text === undefined ? undefined : { ok: true, text, mark: false };

describe('lifecycle', () => {
  it('tells its name, version and encoding, with no root at all', async () => {
    const { result } = await start();
    expect(result.serverInfo).toEqual({ name: 'Caisson', version: '0.0.0-test' });
    expect(result.capabilities.positionEncoding).toBe('utf-16');
  });

  it('serves a client that can do nothing', async () => {
    const session = await start({ capabilities: {} });
    session.open(URI, BROKEN);
    const { diagnostics } = await session.diagnostics(URI);
    expect(diagnostics.map((d) => d.code)).toContain('name/unknown');
    for (const diagnostic of diagnostics) {
      expect(diagnostic.codeDescription).toBeUndefined();
      expect(diagnostic.relatedInformation).toBeUndefined();
    }
    const textDocument = { uri: URI };
    const hover = await session.ask<{ contents: { kind: string; value: string } }>('textDocument/hover', {
      textDocument,
      position: { line: 9, character: 8 },
    });
    expect(hover.contents.kind).toBe('plaintext');
    expect(hover.contents.value).not.toMatch(/[`|]/);
    const symbols = await session.ask<object[]>('textDocument/documentSymbol', { textDocument });
    expect(symbols[0]).toHaveProperty('location');
  });

  it('offers pull only to a client that pulls', async () => {
    expect((await start()).result.capabilities.diagnosticProvider).toBeUndefined();
    expect((await start({ capabilities: PULL_CLIENT })).result.capabilities.diagnosticProvider).toMatchObject({
      interFileDependencies: true,
      workspaceDiagnostics: true,
    });
  });
});

describe('push diagnostics', () => {
  it('follow edits and are emptied on close', async () => {
    const session = await start();
    const document = session.open(URI, BROKEN);
    const first = await session.diagnostics(URI);
    expect(first).toMatchObject({ version: 1 });
    expect(first.diagnostics.map((d) => d.code)).toContain('name/unknown');
    const at = document.getText().indexOf('dwel)');
    session.edit(document, at, at + 4, 'dwell');
    const second = await session.diagnostics(URI, (p) => p.version === 2);
    expect(second.diagnostics).toEqual([]);
    session.edit(document, at, at + 5, 'dwel');
    await session.diagnostics(URI, (p) => p.version === 3);
    void session.connection.sendNotification('textDocument/didClose', { textDocument: { uri: URI } });
    const last = await session.diagnostics(URI, (p) => p.version === undefined);
    expect(last.diagnostics).toEqual([]);
  });

  it('name places in UTF-16 units, after characters beyond the basic plane', async () => {
    const session = await start();
    const text = 'rig r {\n  # 🚪🚪\n  let a = 1 s  # 🚪\n  signal x = nöpe\n}\n';
    session.open(URI, text);
    const { diagnostics } = await session.diagnostics(URI);
    const unknown = diagnostics.find((d) => d.code === 'name/unknown')!;
    expect(unknown.range).toEqual({ start: { line: 3, character: 13 }, end: { line: 3, character: 17 } });
    const same = await start();
    same.open(URI, 'rig r { chamber a { volume 1 m3 /*🚪*/ } signal x = nope }\n');
    const { diagnostics: oneLine } = await same.diagnostics(URI);
    const start2 = oneLine.find((d) => d.code === 'name/unknown')!.range.start.character;
    expect(start2).toBe('rig r { chamber a { volume 1 m3 /*🚪*/ } signal x = '.length);
  });

  it('answer for the newest of many versions, in order and never for an older one after it', async () => {
    const session = await start();
    const document = session.open(URI, SOUND);
    const at = document.getText().indexOf('2 s');
    for (let i = 0; i < 60; i++) session.edit(document, at, at + 1, String(1 + (i % 9)));
    await session.diagnostics(URI, (p) => p.version === 61);
    const versions = session.published.map((p) => p.version!);
    expect(versions).toEqual([...versions].sort((a, b) => a - b));
    // Queued edits are taken in before work starts: far fewer answers than edits.
    expect(versions.length).toBeLessThan(20);
  });

  it('link codes to the reference where the client says where it is', async () => {
    const session = await start({
      initialize: { initializationOptions: { reference: 'https://example.test/REFERENCE.md' } },
    });
    session.open(URI, BROKEN);
    const { diagnostics } = await session.diagnostics(URI);
    expect(diagnostics.find((d) => d.code === 'name/unknown')!.codeDescription!.href).toBe(
      'https://example.test/REFERENCE.md#name-unknown',
    );
  });

  it('are as many as the setting allows, also when it changes', async () => {
    const session = await start({ settings: { diagnostics: { limit: 3 } } });
    const text = `rig r {\n${Array.from({ length: 9 }, (_, i) => `  signal s${i} = nope${i}\n`).join('')}}\n`;
    session.open(URI, text);
    const { diagnostics } = await session.diagnostics(URI);
    expect(diagnostics).toHaveLength(4);
    expect(diagnostics.find((d) => d.code === 'syntax/more')!.message).toMatch(/more problems/);
    session.settings = { diagnostics: { limit: 100 } };
    void session.connection.sendNotification('workspace/didChangeConfiguration', { settings: null });
    await session.diagnostics(URI, (p) => p.diagnostics.length > 4);
  });
});

describe('pull diagnostics', () => {
  const pull = (session: Session, previousResultId?: string) =>
    session.ask<{ kind: string; resultId: string; items: { code: string }[] }>('textDocument/diagnostic', {
      textDocument: { uri: URI },
      previousResultId,
    });

  it('give the newest version, tell what is unchanged, and nothing is pushed beside them', async () => {
    const session = await start({ capabilities: PULL_CLIENT });
    const document = session.open(URI, BROKEN);
    const first = await pull(session);
    expect(first.items.map((d) => d.code)).toContain('name/unknown');
    expect(await pull(session, first.resultId)).toEqual({ kind: 'unchanged', resultId: first.resultId });
    const at = document.getText().indexOf('dwel)');
    session.edit(document, at, at + 4, 'dwell');
    const second = await pull(session, first.resultId);
    expect(second).toMatchObject({ kind: 'full', items: [] });
    expect(session.published).toEqual([]);
  });

  it('of the workspace wait for a change once everything is told', async () => {
    const uris = ['file:///a/one.rig', 'file:///b/two.rig'];
    const texts: Record<string, string> = { [uris[0]!]: SOUND, [uris[1]!]: BROKEN };
    const listed: string[] = [];
    const session = await start({
      capabilities: PULL_CLIENT,
      settings: { diagnostics: { scope: 'workspace' } },
      initialize: {
        workspaceFolders: [
          { uri: 'file:///a', name: 'a' },
          { uri: 'file:///b', name: 'b' },
        ],
      },
      host: {
        readFile: (uri) => decoded(texts[uri]),
        listFiles: async (folders) => {
          listed.push(...folders);
          return uris.filter((u) => folders.some((folder) => u.startsWith(`${folder}/`)));
        },
      },
    });
    interface Report {
      items: { uri: string; resultId: string; items: { code: string }[] }[];
    }
    const first = await session.ask<Report>('workspace/diagnostic', { previousResultIds: [] });
    expect(first.items.map((i) => [i.uri, i.items.length > 0])).toEqual([
      [uris[0], false],
      [uris[1], true],
    ]);
    expect(listed).toEqual(expect.arrayContaining(['file:///a', 'file:///b']));
    const previousResultIds = first.items.map((i) => ({ uri: i.uri, value: i.resultId }));
    const held = session.ask<Report>('workspace/diagnostic', { previousResultIds });
    let answered = false;
    void held.then(() => (answered = true));
    await session.ask('textDocument/diagnostic', { textDocument: { uri: uris[0] } });
    expect(answered).toBe(false);
    texts[uris[1]!] = SOUND;
    void session.connection.sendNotification('workspace/didChangeWatchedFiles', {
      changes: [{ uri: uris[1], type: 2 }],
    });
    expect((await held).items).toMatchObject([{ uri: uris[1], items: [] }]);
  });
});

describe('files', () => {
  const LIBRARY = 'let dwell = 2 s\n';
  const MAIN = `import "times.rig"\n${SOUND.replace(/^ {2}let dwell.*\n/m, '')}`;

  it('imported are read, and their changes reach the open document', async () => {
    const disk: { library?: string } = {};
    const session = await start({
      host: { readFile: (uri) => decoded(uri === 'file:///rigs/times.rig' ? disk.library : undefined) },
    });
    session.open(URI, MAIN);
    const first = await session.diagnostics(URI);
    expect(first.diagnostics.length).toBeGreaterThan(0);
    disk.library = LIBRARY;
    void session.connection.sendNotification('workspace/didChangeWatchedFiles', {
      changes: [{ uri: 'file:///rigs/times.rig', type: 1 }],
    });
    await session.diagnostics(URI, (p) => p.diagnostics.length === 0);
  });

  it('that are open win over those on disk, at every keystroke', async () => {
    const session = await start({ host: { readFile: () => decoded(LIBRARY) } });
    session.open(URI, MAIN);
    await session.diagnostics(URI, (p) => p.diagnostics.length === 0);
    const times = session.open('file:///rigs/times.rig', LIBRARY);
    session.edit(times, 4, 9, 'other');
    const after = await session.diagnostics(URI, (p) => p.diagnostics.length > 0);
    expect(after.diagnostics.map((d) => d.code)).toContain('name/unknown');
  });

  it('that only the client can read are asked for', async () => {
    const uri = 'memfs:/rigs/lock.rig';
    const session = await start({
      host: { readFile: undefined, listFiles: undefined },
      initialize: { initializationOptions: { files: true } },
      requests: {
        'caisson/readFile': (p: { uri: string }) => ({ text: p.uri === 'memfs:/rigs/times.rig' ? LIBRARY : null }),
      },
    });
    session.open(uri, MAIN);
    const found = await session.diagnostics(uri, (p) => p.diagnostics.length === 0);
    expect(found.diagnostics).toEqual([]);
  });
});

describe('cancellation and faults', () => {
  it('a request cancelled before it starts is answered as cancelled', async () => {
    const session = await start();
    session.open(URI, SOUND);
    const { CancellationTokenSource } = await import('vscode-languageserver/node');
    const source = new CancellationTokenSource();
    const asked = session.connection.sendRequest(
      'textDocument/hover',
      { textDocument: { uri: URI }, position: { line: 1, character: 6 } },
      source.token,
    );
    source.cancel();
    await expect(asked).rejects.toMatchObject({ code: -32800 });
  });

  it('a fault of ours gives an empty answer and one line of log', async () => {
    const session = await startSession({
      host: {
        readFile: () => {
          throw new Error('disk on fire');
        },
      },
    });
    const hover = await session.ask('textDocument/hover', {
      textDocument: { uri: 'file:///x.rig' },
      position: { line: 0, character: 0 },
    });
    expect(hover).toBeNull();
    expect(session.logged).toHaveLength(1);
    expect(session.logged[0]).toMatch(/^hover: disk on fire/);
    await session.close();
  });

  it('a document that is not there gives empty answers', async () => {
    const session = await start();
    const textDocument = { uri: 'file:///nowhere.rig' };
    expect(await session.ask('textDocument/hover', { textDocument, position: { line: 0, character: 0 } })).toBeNull();
    expect(await session.ask('textDocument/documentSymbol', { textDocument })).toEqual([]);
    expect(await session.ask('textDocument/semanticTokens/full', { textDocument })).toEqual({ data: [] });
  });
});

describe('a full client', () => {
  it('gets definitions as links, nested symbols, folds with text', async () => {
    const session = await start({ capabilities: FULL_CLIENT });
    session.open(URI, SOUND);
    const textDocument = { uri: URI };
    const line = SOUND.split('\n').findIndex((l) => l.includes('drive inner'));
    const [link] = await session.ask<{ targetSelectionRange: unknown }[]>('textDocument/definition', {
      textDocument,
      position: { line, character: 8 },
    });
    expect(link!.targetSelectionRange).toMatchObject({ start: { line: 9, character: 7 } });
    const symbols = await session.ask<{ name: string; children: { name: string; detail: string }[] }[]>(
      'textDocument/documentSymbol',
      { textDocument },
    );
    expect(symbols.map((s) => s.name)).toEqual(['parcel_lock']);
    // full 0, start 50 ms, inner_on 100 ms … 2.1 s; travel 400 ms
    expect(symbols[0]!.children.find((c) => c.name === 'inner')!.detail).toBe('100 ms – 2.5 s');
    const folds = await session.ask<{ collapsedText: string }[]>('textDocument/foldingRange', { textDocument });
    expect(folds.map((f) => f.collapsedText)).toContain('{ 2 doors, 4 signals, 2 requirements }');
  });

  it('asks for causes and effects by an item of its own making', async () => {
    const session = await start();
    session.open(URI, SOUND);
    const line = SOUND.split('\n').findIndex((l) => l.includes('signal inner_on'));
    const range = { start: { line, character: 9 }, end: { line, character: 17 } };
    const item = { name: 'inner_on', kind: 12, uri: URI, range, selectionRange: range };
    const causes = await session.ask<{ from: { name: string } }[]>('callHierarchy/incomingCalls', { item });
    expect(causes.map((c) => c.from.name)).toEqual(['start']);
    const effects = await session.ask<{ to: { name: string } }[]>('callHierarchy/outgoingCalls', { item });
    expect(effects.map((c) => c.to.name).sort()).toEqual(['hold', 'inner', 'outer_on']);
  });
});

describe('problems of a file that is not open', () => {
  it('are whole at once, however long they take: nobody asks for them again', async () => {
    const text = readFileSync(join(__dirname, '../../samples/broken/flow-over-limit.rig'), 'utf8');
    let time = 0;
    const host = { readFile: (): DecodedText => ({ ok: true, text, mark: false }), now: () => (time += 100) };
    const session = await startSession({ host, capabilities: PULL_CLIENT });
    const uri = 'file:///yard/closed.rig';
    const report = await session.ask<{ items: { code: string }[] }>('textDocument/diagnostic', {
      textDocument: { uri },
    });
    expect(report.items.map((d) => d.code)).toContain('flow/over-limit');
    await session.close();
  });
});
