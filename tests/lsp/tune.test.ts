/** The tuner asked by an editor: what is suggested and why, the edits that write it, and every way there is none. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { CodeAction, CodeLens } from 'vscode-languageserver/node';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { TUNE, type TuneResult } from '../../server/protocol/suggestion';
import { startSession, type Session } from './session';
import { SOUND } from './texts';

const URI = 'file:///rigs/lift.rig';
const POOR = readFileSync(join(__dirname, '../../samples/poor/harbour_lift.rig'), 'utf8');
let session: Session;

async function opened(text: string): Promise<TextDocument> {
  session = await startSession({ initialize: { initializationOptions: { preview: true } } });
  return session.open(URI, text);
}
const tune = (free: 'ranges' | 'presets' = 'ranges', rig: string | null = null) =>
  session.ask<TuneResult | null>(TUNE, { uri: URI, rig, free });

afterEach(async () => {
  expect(session.logged).toEqual([]);
  await session.close();
});

describe('tune', { timeout: 120_000 }, () => {
  it('suggests values with the reason for each, requirements before and after, the picture and the edits', async () => {
    const document = await opened(POOR);
    const found = await tune();
    if (found?.kind !== 'suggested') throw new Error(JSON.stringify(found));
    const { suggestion, edits, version } = found;
    expect(version).toBe(1);
    const changed = suggestion.constants.filter((c) => c.suggested !== null);
    expect(edits).toHaveLength(changed.length);
    expect(changed.length).toBeGreaterThan(0);
    for (const { now, why } of changed) expect(why).toContain(`With ${now}`);
    // Top and middle are fully open together for the length of `fill` less 150 ms: what 900 ms leaves is too short.
    const fill = suggestion.constants.find((c) => c.name === 'fill')!;
    expect(fill.why).toBe('With 900 ms, overlap(top, middle) >= 800 ms would be 750 ms, missed by 50 ms.');
    expect(suggestion.requirements.some((r) => /missed by|does not hold/.test(r.now))).toBe(true);
    for (const { then } of suggestion.requirements) expect(then).not.toMatch(/missed by|does not hold/);
    expect(suggestion.model!.id).toBe(suggestion.rig);
    // The edits are what the text lacks: with them there is nothing left to change.
    const text = TextDocument.applyEdits(
      document,
      edits.map((e) => ({
        range: { start: document.positionAt(e.start), end: document.positionAt(e.end) },
        newText: e.text,
      })),
    );
    session.edit(document, 0, POOR.length, text);
    const again = await tune();
    expect(again).toMatchObject({ kind: 'suggested', edits: [], suggestion: { model: null } });
  });

  it('says where nothing has a range, and then takes every preset', async () => {
    await opened(SOUND);
    expect(await tune()).toMatchObject({ kind: 'nothingFree', rig: 'parcel_lock' });
    expect(await tune('presets')).toMatchObject({ kind: 'suggested' });
  });

  it('refuses in one sentence what cannot be tuned', async () => {
    await opened('let a = 1 s\n');
    expect(await tune()).toEqual({ kind: 'refused', message: 'There is no rig in this file.' });
  });

  it('is offered above the rig and at a requirement that fails', async () => {
    const document = await opened(POOR);
    const lenses = await session.ask<CodeLens[]>('textDocument/codeLens', { textDocument: { uri: URI } });
    expect(lenses.map((l) => l.command).filter((c) => c?.command === 'caisson.tune')).toEqual([
      { title: 'tune', command: 'caisson.tune', arguments: [URI, 'harbour_lift'] },
    ]);
    const actionsAt = (offset: number) =>
      session.ask<CodeAction[]>('textDocument/codeAction', {
        textDocument: { uri: URI },
        range: { start: document.positionAt(offset), end: document.positionAt(offset) },
        context: { diagnostics: [] },
      });
    const titles = new Set<string>();
    for (const match of POOR.matchAll(/require /g))
      for (const action of await actionsAt(match.index + 9))
        if (action.command?.command === 'caisson.tune') titles.add(action.title);
    expect([...titles]).toEqual([expect.stringMatching(/^Tune \d+ constants of harbour_lift$/)]);
    expect((await actionsAt(0)).filter((a) => a.command?.command === 'caisson.tune')).toEqual([]);
  });
});
