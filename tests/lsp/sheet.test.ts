/** The build sheet asked by an editor. */
import { afterEach, describe, expect, it } from 'vitest';
import { SHEET, type SheetResult } from '../../server/protocol/sheet';
import { startSession, type Session } from './session';
import { SOUND } from './texts';

const URI = 'file:///rigs/lock.rig';
let session: Session;
const sheetOf = async (text: string, rig: string | null = null): Promise<SheetResult> => {
  session = await startSession();
  session.open(URI, text);
  return session.ask<SheetResult>(SHEET, { uri: URI, rig });
};

afterEach(async () => {
  expect(session.logged).toEqual([]);
  await session.close();
});

describe('build sheet', () => {
  it('has parts, connections and the caution, and says what it leaves out', async () => {
    const found = await sheetOf(SOUND);
    if (found.kind !== 'sheet') throw new Error(found.message);
    expect(found.rig).toBe('parcel_lock');
    for (const part of ['# Build sheet', '## Parts', '## Connections', 'injure and kill', '`caisson sheet` has them'])
      expect(found.markdown).toContain(part);
  });

  it.each([
    ['let a = 1 s\n', 'There is no rig in this file.'],
    [SOUND.replace('TP(', 'TP(('), 'The text has errors'],
    ['rig r {\n  chamber a { volume 1 m3  pressure 1 bar }\n}\n', 'r has no control'],
  ])('is refused in one sentence: %#', async (text, words) => {
    const found = await sheetOf(text);
    expect(found).toMatchObject({ kind: 'refused', message: expect.stringContaining(words) });
  });
});
