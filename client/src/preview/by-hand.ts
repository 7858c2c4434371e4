/** Values set by hand on the page: asks the server, and writes what is kept as one edit of the text. */
import { Range, Uri, workspace, WorkspaceEdit } from 'vscode';
import { BY_HAND, type ByHandAnswer, type EditData } from '../../../server/protocol/by-hand';
import type { HostMessage, PageMessage } from '../../../server/protocol/preview';
import type { Server } from '../server';

type ByHandMessage = Extract<PageMessage, { type: 'byHand' }>;

/** The answer for the page. Edits are applied first; where that fails, or the text is no longer of that version, the answer is null. */
export async function answerByHand(server: Server, shown: Uri, message: ByHandMessage): Promise<HostMessage> {
  const { id, version, rig, ask } = message;
  const uri = shown.toString();
  const answer = await server.ask<ByHandAnswer>(BY_HAND, { ...ask, uri, version, rig });
  const done = answer?.kind !== 'edits' || (await write(shown, version, answer.edits));
  return { type: 'byHand', id, answer: done ? answer : null };
}

/** All edits at once, so that one undo takes them back; false where the text is no longer of that version. */
export async function write(shown: Uri, version: number, edits: readonly EditData[]): Promise<boolean> {
  if (edits.length === 0) return true;
  const edit = new WorkspaceEdit();
  for (const { uri, start, end, text } of edits) {
    const document = await workspace.openTextDocument(Uri.parse(uri, true));
    const isShown = document.uri.toString() === shown.toString();
    if (isShown && version !== 0 && document.version !== version) return false;
    edit.replace(document.uri, new Range(document.positionAt(start), document.positionAt(end)), text);
  }
  return workspace.applyEdit(edit);
}
