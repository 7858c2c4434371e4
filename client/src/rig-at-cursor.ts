/** The rig that the text cursor stands in. */
import type { TextEditor } from 'vscode';
import { TESTS, type TestsResult } from '../../server/protocol/messages';
import type { Server } from './server';

/** Its name; of the first rig where the cursor is outside all of them, null where there is none. */
export async function rigAtCursor(server: Server, { document, selection }: TextEditor): Promise<string | null> {
  const found = await server.ask<TestsResult>(TESTS, { uri: document.uri.toString() });
  const cursor = document.offsetAt(selection.active);
  const rig = found?.rigs.find((r) => r.start <= cursor && cursor <= r.end) ?? found?.rigs[0];
  return rig?.name ?? null;
}
