/** Problems in two parts: a mistake is told at once where the rest takes long; without news what is shown stays until all is known. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { Diagnostic, DocumentDiagnosticReport } from 'vscode-languageserver';
import { FULL_CLIENT, PULL_CLIENT, startSession, type Session } from './session';

const TEXT = readFileSync(join(__dirname, '../../samples/broken/flow-over-limit.rig'), 'utf8');
const uri = 'file:///rigs/over.rig';

/** Every look at the clock finds it much later, so that all work takes long. */
const slowly = () => {
  let time = 0;
  return { now: () => (time += 1_000) };
};
const codesOf = (diagnostics: readonly Diagnostic[]): unknown[] => diagnostics.map((d) => d.code);
const MISTAKE = '  let spare = 3 s\n';
const inside = TEXT.indexOf('{\n') + 2;

describe('pushed problems', () => {
  const start = (): Promise<Session> => startSession({ capabilities: FULL_CLIENT, host: slowly() });
  /** The codes of every message about the newest version, once the last has come. */
  async function told(session: Session, version: number): Promise<unknown[][]> {
    await session.diagnostics(uri, (p) => p.version === version && codesOf(p.diagnostics).includes('flow/over-limit'));
    return session.published.filter((p) => p.version === version).map((p) => codesOf(p.diagnostics));
  }

  it('come first without flow, and once where an edit brings no news', async () => {
    const session = await start();
    const document = session.open(uri, TEXT);
    const first = await told(session, document.version);
    expect(first.map((codes) => codes.includes('flow/over-limit'))).toEqual([false, true]);
    session.edit(document, inside, inside, '  # a comment\n');
    expect(await told(session, document.version)).toHaveLength(1);
    await session.close();
  });

  it('tell a new mistake before flow is worked out, and take it back as early', async () => {
    const session = await start();
    const document = session.open(uri, TEXT);
    await told(session, document.version);
    session.edit(document, inside, inside, MISTAKE);
    const withMistake = await told(session, document.version);
    expect(withMistake.map((codes) => codes.includes('name/unused'))).toEqual([true, true]);
    expect(withMistake.map((codes) => codes.includes('flow/over-limit'))).toEqual([false, true]);
    session.edit(document, inside, inside + MISTAKE.length, '');
    const without = await told(session, document.version);
    expect(without.map((codes) => codes.includes('name/unused'))).toEqual([false, false]);
    await session.close();
  });
});

describe('problems that are asked for', () => {
  const ask = async (session: Session): Promise<unknown[]> => {
    const report = (await session.ask('textDocument/diagnostic', {
      textDocument: { uri },
    })) as DocumentDiagnosticReport;
    return codesOf(report.kind === 'full' ? report.items : []);
  };

  it('come in two parts where there is news, and whole where there is none', async () => {
    const session = await startSession({ capabilities: PULL_CLIENT, host: slowly() });
    const document = session.open(uri, TEXT);
    expect(await ask(session)).not.toContain('flow/over-limit');
    expect(await ask(session)).toContain('flow/over-limit');
    session.edit(document, inside, inside, '  # a comment\n');
    expect(await ask(session)).toContain('flow/over-limit');
    session.edit(document, inside, inside, MISTAKE);
    const early = await ask(session);
    expect(early).toContain('name/unused');
    expect(early).not.toContain('flow/over-limit');
    expect(await ask(session)).toEqual(expect.arrayContaining(['name/unused', 'flow/over-limit']));
    await session.close();
  });
});
