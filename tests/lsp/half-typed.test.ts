/**
 * Every request against half-typed texts: samples are cut at tokens, as if typed from top to bottom (the sound ones at each token
 * with EVERY_CUT set), and some tokens are also taken out of the middle. No request may answer with an error, and
 * nothing may be logged.
 */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { askEverything } from './ask-everything';
import type { Session } from './session';
import { startSession } from './session';
import { SOUND } from './texts';

const EVERY_CUT = process.env['EVERY_CUT'] !== undefined;
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
    // Every cut of the sound samples where EVERY_CUT asks for it; else some forty of each text, so that the run stays short.
    const everyCut = EVERY_CUT && !name.startsWith('broken');
    const stride = everyCut ? 1 : Math.max(1, Math.ceil(tokens.length / 40));
    for (let i = 0; i < tokens.length; i += stride) {
      replaceAll(text.slice(0, tokens[i]!.span.end));
      await askEverything(session, uri, current, current.length);
    }
    for (let i = 3; i < tokens.length; i += stride * 4) {
      replaceAll(text.slice(0, tokens[i]!.span.start) + text.slice(tokens[i]!.span.end));
      await askEverything(session, uri, current, tokens[i]!.span.start);
    }
    expect(session.logged).toEqual([]);
    void session.connection.sendNotification('textDocument/didClose', { textDocument: { uri } });
  }, 600_000);
});
