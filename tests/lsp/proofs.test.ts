/** Proofs asked for over the protocol: verdicts as problems and pictures, dropped by an edit; cancellation. */
import { afterEach, beforeAll, describe, expect, it } from 'vitest';
import { CancellationTokenSource, LSPErrorCodes, type CodeAction, type CodeLens } from 'vscode-languageserver/node';
import type { ProofAnswer } from '../../server/protocol/messages';
import type { PreviewAnswer } from '../../server/protocol/preview';
import type { Published, Session } from './session';
import { proofThreads } from '../../server/lsp/proof-thread';
import { bundleServer } from './bundle';
import { spawnSession, startSession } from './session';
import { SOUND } from './texts';

const URI = 'file:///rigs/lock.rig';
let session: Session;

afterEach(async () => {
  expect(session.logged).toEqual([]);
  await session.close();
});

const prove = (...args: unknown[]): Promise<ProofAnswer> =>
  session.ask('workspace/executeCommand', { command: 'caisson.prove', arguments: [URI, ...args] });

describe('proofs', () => {
  it('become problems at their places and pictures of the preview, until the text changes', async () => {
    session = await startSession({ initialize: { initializationOptions: { preview: true } } });
    // Both doors are open together in every stroke, so this requirement cannot be proved.
    const text = SOUND.replace('  require repeat', '  require never(inner and outer)\n  require repeat');
    const document = session.open(URI, text);
    const codes = (p: Published): unknown[] => p.diagnostics.map((d) => d.code);
    expect(codes(await session.diagnostics(URI))).not.toContain('require/refuted');
    const before = await session.ask<PreviewAnswer>('caisson/preview', { uri: URI });
    const answer = await prove('parcel_lock');
    expect(answer.summary).toMatch(/^parcel_lock: \d+ proved, [1-9]\d* refuted, \d+ undecided\.$/);
    expect(answer.caution).toMatch(/injure and kill/);
    const refuted = answer.result.results.filter((r) => r.verdict === 'refuted');
    expect(refuted.every((r) => r.brokenAt !== null)).toBe(true);
    const { diagnostics } = await session.diagnostics(URI, (p) => codes(p).includes('require/refuted'));
    const found = diagnostics.filter((d) => d.code === 'require/refuted');
    expect(found).toHaveLength(refuted.length);
    expect(found[0]!.message).toMatch(/from (rest|power-on): /);
    const line = text.split('\n').findIndex((l) => l.includes('never('));
    expect(found.map((d) => d.range.start.line)).toContain(line);
    const after = await session.ask<PreviewAnswer>('caisson/preview', { uri: URI });
    const [old, now] = [before.rigs![0]!, after.rigs![0]!];
    expect(now.timing.length).toBe(old.timing.length + refuted.length);
    expect(now.contents.length).toBe(now.timing.length);
    expect(now.timing.at(-1)!.subtitle).toMatch(/^Counter-example/);
    const mark = now.proof!;
    expect(old.proof).toBeNull();
    expect(mark.state).toBe('refuted');
    expect(mark.text).toMatch(/^Proved for this text: \d+ of \d+, \d+ refuted/);
    expect(mark.examples.map((e) => e.picture)).toEqual(now.timing.slice(old.timing.length).map((t) => t.id));
    for (const { steps, picture } of mark.examples) {
      const edges = now.timing.find((t) => t.id === picture)!.lanes.flatMap((l) => l.edges);
      // Every step but the last is an edge of its picture, at that moment.
      for (const { t, text } of steps.slice(0, -1))
        expect(edges.map((e) => `${e.t} ${e.text}`)).toContain(`${t} ${text.replace(' goes ', ' ')}`);
      expect(steps.at(-1)!.text).toMatch(/ is broken$/);
    }
    const lenses = await session.ask<CodeLens[]>('textDocument/codeLens', { textDocument: { uri: URI } });
    expect(lenses.map((l) => l.command!.title)).toContain(mark.text);
    const whole = { start: { line: line, character: 4 }, end: { line: line, character: 4 } };
    const actions = await session.ask<CodeAction[]>('textDocument/codeAction', {
      textDocument: { uri: URI },
      range: whole,
      context: { diagnostics: [] },
    });
    const shows = actions.filter((a) => a.title.startsWith('Show the counter-example to '));
    const here = mark.examples.filter((e) => e.property.startsWith('never('));
    expect(here).toHaveLength(1);
    expect(shows.map((a) => a.command!.arguments)).toEqual(here.map((e) => [URI, 'parcel_lock', e.picture]));
    const elsewhere = await session.ask<CodeAction[]>('textDocument/codeAction', {
      textDocument: { uri: URI },
      range: { start: { line: line + 1, character: 4 }, end: { line: line + 1, character: 4 } },
      context: { diagnostics: [] },
    });
    expect(elsewhere.map((a) => a.title).join()).not.toContain('Show the counter-example');
    session.edit(document, 0, 0, '# changed\n');
    expect(codes(await session.diagnostics(URI, (p) => p.version === 2))).not.toContain('require/refuted');
    expect((await session.ask<PreviewAnswer>('caisson/preview', { uri: URI })).rigs![0]!.timing.length).toBe(
      old.timing.length,
    );
    const later = await session.ask<CodeLens[]>('textDocument/codeLens', { textDocument: { uri: URI } });
    expect(later.map((l) => l.command!.title)).toContain('prove');
  });

  it('are refused for rigs that are not there or cannot be read', async () => {
    session = await startSession();
    session.open(URI, SOUND.replace('dwell)', 'dwel)'));
    await expect(prove('other')).rejects.toThrow('There is no rig other');
    await expect(prove('parcel_lock')).rejects.toThrow('mistakes in its control');
  });

  it('stop when cancelled, and typing goes on meanwhile', async () => {
    session = await startSession();
    session.open(URI, long());
    const source = new CancellationTokenSource();
    const asked = session.connection.sendRequest(
      'workspace/executeCommand',
      { command: 'caisson.prove', arguments: [URI] },
      source.token,
    );
    const hover = { textDocument: { uri: URI }, position: { line: 1, character: 1 } };
    expect(await session.ask('textDocument/hover', hover)).not.toBeNull();
    source.cancel();
    await expect(asked).rejects.toMatchObject({ code: expect.any(Number) as number });
  });
});

/** Six counters that a door waits for, each to nine: to count them all up takes 54 operations in any order, and a proof hours. */
function long(): string {
  const lines = Array.from(
    { length: 6 },
    (_, i) =>
      `  switch s${i} = off { min_on 1 s  min_off 1 s }\n  switch r${i} = off\n  signal t${i} = CTU(s${i}, r${i}, 9)\n`,
  );
  const all = `  signal all = ${lines.map((_, i) => `t${i}`).join(' and ')}\n`;
  return SOUND.replace(
    '  drive inner = inner_on',
    `${lines.join('')}${all}  drive inner = inner_on and not all`,
  ).replace('  require repeat', '  require never(inner and outer and all)\n  require repeat');
}

describe('proofs in a thread of their own', () => {
  let server = '';
  beforeAll(async () => {
    server = await bundleServer();
  });
  const spawned = async (): Promise<Session> => (session = await spawnSession(process.execPath, [server, '--stdio']));

  it('give what proofs in slices give', { timeout: 60_000 }, async () => {
    await spawned();
    session.open(URI, SOUND);
    const beside = await prove('parcel_lock');
    await session.close();
    session = await startSession();
    session.open(URI, SOUND);
    expect(beside).toEqual(await prove('parcel_lock'));
  });

  it('let edits through to their findings, and end at once when cancelled', { timeout: 60_000 }, async () => {
    await spawned();
    const document = session.open(URI, long());
    await session.diagnostics(URI);
    const source = new CancellationTokenSource();
    let isOver = false;
    const asked = session.connection
      .sendRequest('workspace/executeCommand', { command: 'caisson.prove', arguments: [URI] }, source.token)
      .finally(() => (isOver = true));
    asked.catch(() => undefined);
    for (let version = 2; version < 6; version++) {
      session.edit(document, 0, 0, '# changed\n');
      await session.diagnostics(URI, (p) => p.version === version);
    }
    expect(isOver).toBe(false);
    source.cancel();
    await expect(asked).rejects.toMatchObject({ code: LSPErrorCodes.RequestCancelled });
    expect(
      await session.ask('textDocument/hover', { textDocument: { uri: URI }, position: { line: 6, character: 1 } }),
    ).toBeDefined();
  });

  it('that end without an answer say so, and the server goes on', { timeout: 60_000 }, async () => {
    // A heap of eight MiB does not hold such a proof.
    session = await startSession({ host: { startProof: proofThreads(server, 8) } });
    session.open(URI, long());
    await expect(prove('parcel_lock')).rejects.toThrow(/^Nothing is proved about parcel_lock: .*memory/);
    expect(
      await session.ask('textDocument/hover', { textDocument: { uri: URI }, position: { line: 1, character: 1 } }),
    ).not.toBeNull();
  });
});
