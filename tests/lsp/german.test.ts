/** The language server for an editor in German: what it shows there is in German, and findings of a text stay the same. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { CodeLens, Hover, InlayHint } from 'vscode-languageserver';
import { afterEach, describe, expect, it } from 'vitest';
import { previewModel } from '../../server/core/diagram/preview-model';
import { createDocument } from '../../server/core/document/document';
import { speak } from '../../server/core/words/say';
import { PREVIEW } from '../../server/protocol/messages';
import type { PreviewAnswer } from '../../server/protocol/preview';
import { FULL_CLIENT, startSession, type Session } from './session';

const ROOT = join(__dirname, '../..');
const words = JSON.parse(readFileSync(join(ROOT, 'client/l10n/bundle.l10n.de.json'), 'utf8')) as Record<string, string>;
const text = readFileSync(join(ROOT, 'samples/digester_bank.rig'), 'utf8');
const URI = 'file:///rigs/bank.rig';
const whole = { start: { line: 0, character: 0 }, end: { line: 999, character: 0 } };

async function opened(initializationOptions: object): Promise<Session> {
  const session = await startSession({ capabilities: FULL_CLIENT, initialize: { initializationOptions } });
  session.open(URI, text);
  return session;
}
const about = { textDocument: { uri: URI } };
const lensTitles = async (session: Session): Promise<string[]> =>
  (await session.ask<CodeLens[]>('textDocument/codeLens', about)).map((l) => l.command?.title ?? '');

describe('an editor in German', () => {
  afterEach(() => speak());

  it('has lenses, hints, hovers and pictures in German', async () => {
    const session = await opened({ preview: true, words });
    const [overview, prove, tune] = await lensTitles(session);
    expect(overview).toMatch(/^wiederholt sich alle 16\.04 s.* von \d+ Anforderungen erfüllt/);
    expect([prove, tune]).toEqual(['beweisen', 'abstimmen']);
    const hints = await session.ask<InlayHint[]>('textDocument/inlayHint', { ...about, range: whole });
    expect(JSON.stringify(hints)).toContain('gezählt ab');
    const line = text.split('\n').findIndex((l) => /^ *door upper/.test(l));
    const position = { line, character: text.split('\n')[line]!.indexOf('upper') + 1 };
    const hover = await session.ask<Hover>('textDocument/hover', { ...about, position });
    expect(JSON.stringify(hover)).toMatch(/Gezählt ab .*öffnet \| voll offen \| schließt \| geschlossen/);
    const preview = await session.ask<PreviewAnswer>(PREVIEW, { uri: URI, stores: false });
    const rig = preview.rigs![0]!;
    expect(rig.caution).toMatch(/^Gespeicherter Druck und kraftbetätigte Klappen/);
    expect(rig.timing[0]!.tables[0]!.caption).toBe('Klappen, Zeiten ab dem Auslöser');
    expect(rig.timing[0]!.lanes.flatMap((l) => l.edges.map((e) => e.text))).toContain('upper öffnet');
    await session.close();
  });

  it('is in English without texts, and with what are no texts', async () => {
    for (const given of [{}, { words: null }, { words: { prove: 3 } }]) {
      const session = await opened({ preview: true, ...given });
      expect((await lensTitles(session)).slice(1)).toEqual(['prove', 'tune']);
      await session.close();
    }
  });

  it('has the same ids of pictures, edges and tables as one in English', () => {
    const idsIn = (table: Record<string, string>): string => {
      speak(table);
      const rigs = createDocument({ uri: URI, version: 1, text }, () => undefined).analysed();
      const models = rigs.map((facts) => previewModel(facts, { caution: '' }));
      speak();
      // Ids alone, wherever they stand.
      return JSON.stringify(models, (key, value: unknown) =>
        key === 'id' || typeof value === 'object' ? value : undefined,
      );
    };
    const english = idsIn({});
    expect(english.length).toBeGreaterThan(1_000);
    expect(idsIn(words)).toBe(english);
  });
});
