/** The command that proves a rig: the one at the cursor, with its report in the log; progress and the summary come from the server. */
import { l10n, window, type LogOutputChannel } from 'vscode';
import { COMMANDS, TELL, type ProofAnswer } from '../../server/protocol/messages';
import { reasonOf } from './lifecycle';
import { rigAtCursor } from './rig-at-cursor';
import type { Server } from './server';

export async function proveRig(server: Server, log: LogOutputChannel): Promise<void> {
  const editor = window.activeTextEditor;
  if (editor?.document.languageId !== 'rig')
    return void window.showInformationMessage(l10n.t('Open a rig file first.'));
  const uri = editor.document.uri.toString();
  const rig = await rigAtCursor(server, editor);
  if (server.client === null) return;
  try {
    const params = { command: COMMANDS.prove, arguments: [uri, rig, TELL] };
    const answer = await server.client.sendRequest<ProofAnswer>('workspace/executeCommand', params);
    for (const line of [...answer.report, answer.caution]) log.info(line);
  } catch (error) {
    void window.showErrorMessage(`Caisson: ${reasonOf(error)}`);
  }
}
