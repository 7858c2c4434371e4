/** Large folders: names from the parse alone, bounded memory of built documents, files that change in storms. */
import { describe, expect, it } from 'vitest';
import type { DecodedText } from '../../server/protocol/text-bytes';
import * as run from '../../server/core/run/analyse';
import { vi } from 'vitest';
import { PULL_CLIENT, startSession } from './session';
import { SOUND } from './texts';

const COUNT = Number(process.env['FOLDER_FILES'] ?? 60);
const uriOf = (i: number): string => `file:///yard/${i}.rig`;
const TEXTS = new Map<string, string>(
  Array.from({ length: COUNT }, (_, i) => {
    const links = i === 0 ? '' : `import "${(i * 7) % i}.rig"\n`;
    return [
      uriOf(i),
      `${links}let dwell_${i} = ${(i % 9) + 1} s\n${SOUND.replace(/rig (\w+)/, `rig $1_${i}`)}`,
    ] as const;
  }),
);
const host = {
  readFile: (uri: string): DecodedText => {
    const text = TEXTS.get(uri);
    return text === undefined ? { ok: false, reason: 'is not there' } : { ok: true, text, mark: false };
  },
  listFiles: async (): Promise<string[]> => [...TEXTS.keys()],
};
const initialize = { workspaceFolders: [{ uri: 'file:///yard', name: 'yard' }] };

describe(`${COUNT} files that import each other`, () => {
  it('names of the workspace need no analysis', async () => {
    const analyse = vi.spyOn(run, 'analysisOf');
    const session = await startSession({ host, initialize });
    const names = await session.ask<{ name: string; location: { uri: string } }[]>('workspace/symbol', {
      query: 'dwell_7',
    });
    expect(names.filter((n) => n.name === 'dwell_7').map((n) => n.location.uri)).toEqual([uriOf(7)]);
    expect(analyse).not.toHaveBeenCalled();
    analyse.mockRestore();
    await session.close();
  });

  it('a hover is answered while the folders are checked, and all files get their report', async () => {
    const session = await startSession({
      host,
      initialize,
      capabilities: PULL_CLIENT,
      settings: { diagnostics: { scope: 'workspace' } },
    });
    session.open(uriOf(1), TEXTS.get(uriOf(1))!);
    let finished = false;
    const all = session
      .ask<{ items: { uri: string }[] }>('workspace/diagnostic', { previousResultIds: [] })
      .then((report) => ((finished = true), report));
    await session.ask('textDocument/hover', { textDocument: { uri: uriOf(1) }, position: { line: 1, character: 5 } });
    expect(finished).toBe(false);
    expect((await all).items.length).toBe(COUNT);
    await session.close();
  }, 300_000);

  it('push: the open document comes first', async () => {
    const session = await startSession({ host, initialize, settings: { diagnostics: { scope: 'workspace' } } });
    session.open(uriOf(COUNT - 1), TEXTS.get(uriOf(COUNT - 1))!.replace('\nrig ', '\nrgi '));
    await session.diagnostics(uriOf(COUNT - 1), (p) => p.diagnostics.length > 0);
    expect(session.published.filter((p) => p.version === undefined).length).toBeLessThan(COUNT / 2);
    await session.close();
    // What waits is given up with the session: nothing is checked for nobody.
    const analyse = vi.spyOn(run, 'analysisOf');
    for (let turn = 0; turn < 50; turn++) await new Promise((resolve) => setImmediate(resolve));
    expect(analyse.mock.calls.length).toBeLessThanOrEqual(1);
    analyse.mockRestore();
  });

  it('a storm of changes on disk is one pass, also for files that are not open', async () => {
    const session = await startSession({ host, initialize, settings: { diagnostics: { scope: 'workspace' } } });
    await session.diagnostics(uriOf(COUNT - 1));
    const before = TEXTS.get(uriOf(3))!;
    TEXTS.set(uriOf(3), before.replace('\nrig ', '\nrgi '));
    for (let i = 0; i < COUNT; i++)
      void session.connection.sendNotification('workspace/didChangeWatchedFiles', {
        changes: [{ uri: uriOf(i), type: 2 }],
      });
    const found = await session.diagnostics(uriOf(3), (p) =>
      p.diagnostics.some((d) => String(d.code).startsWith('syntax/')),
    );
    expect(found.diagnostics.filter((d) => String(d.code).startsWith('syntax/'))).toHaveLength(1);
    TEXTS.set(uriOf(3), before);
    await session.close();
  }, 300_000);
});
