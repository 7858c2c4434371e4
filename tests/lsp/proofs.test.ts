/** Proofs asked for over the protocol: verdicts as problems and pictures, dropped by an edit; cancellation. */
import { afterEach, describe, expect, it } from 'vitest';
import { CancellationTokenSource } from 'vscode-languageserver/node';
import type { ProofAnswer } from '../../server/protocol/messages';
import type { PreviewAnswer } from '../../server/protocol/preview';
import type { Session } from './session';
import { startSession } from './session';
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
    session = await startSession();
    const document = session.open(URI, SOUND);
    expect((await session.diagnostics(URI)).diagnostics).toEqual([]);
    const before = await session.ask<PreviewAnswer>('caisson/preview', { uri: URI });
    // Both doors of the one stack are open together on purpose: the path through it cannot be proved shut.
    const answer = await prove('parcel_lock');
    expect(answer.summary).toMatch(/^parcel_lock: \d+ proved, [1-9]\d* refuted, \d+ undecided\.$/);
    expect(answer.caution).toMatch(/injure and kill/);
    const refuted = answer.result.results.filter((r) => r.verdict === 'refuted');
    expect(refuted.every((r) => r.brokenAt !== null)).toBe(true);
    const { diagnostics } = await session.diagnostics(URI, (p) => p.diagnostics.length > 0);
    expect(diagnostics.filter((d) => d.code === 'require/refuted')).toHaveLength(refuted.length);
    expect(diagnostics[0]!.message).toContain('from power-on');
    const after = await session.ask<PreviewAnswer>('caisson/preview', { uri: URI });
    const [old, now] = [before.rigs![0]!, after.rigs![0]!];
    expect(now.timing.length).toBe(old.timing.length + refuted.length);
    expect(now.contents.length).toBe(now.timing.length);
    expect(now.timing.at(-1)!.subtitle).toMatch(/^Counter-example/);
    session.edit(document, 0, 0, '# changed\n');
    expect((await session.diagnostics(URI, (p) => p.version === 2)).diagnostics).toEqual([]);
    expect((await session.ask<PreviewAnswer>('caisson/preview', { uri: URI })).rigs![0]!.timing.length).toBe(
      old.timing.length,
    );
  });

  it('are refused for rigs that are not there or cannot be read', async () => {
    session = await startSession();
    session.open(URI, SOUND.replace('dwell)', 'dwel)'));
    await expect(prove('other')).rejects.toThrow('There is no rig other');
    await expect(prove('parcel_lock')).rejects.toThrow('mistakes in its control');
  });

  it('stop when cancelled, and typing goes on meanwhile', async () => {
    session = await startSession();
    // Many free sensors make a proof that takes a while.
    const more = Array.from(
      { length: 6 },
      (_, i) => `  switch s${i} = off\n  signal t${i} = TOF(TON(s${i}, ${i + 2} s), ${2 * i + 3} s)\n`,
    );
    const uses = `  signal any = ${more.map((_, i) => `t${i}`).join(' or ')}\n`;
    session.open(
      URI,
      SOUND.replace('  drive inner = inner_on', `${more.join('')}${uses}  drive inner = inner_on and not any`),
    );
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
