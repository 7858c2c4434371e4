/** The command that looks for better values of a rig and lays what it finds over the preview. */
import { l10n, ProgressLocation, Uri, window, workspace } from 'vscode';
import { TUNE, type TuneParams, type TuneResult } from '../../server/protocol/suggestion';
import type { PreviewHost } from './preview/host';
import { rigAtCursor } from './rig-at-cursor';
import type { Server } from './server';

/** Of the rig that lens or quick fix name, else of the one at the cursor. */
export async function tuneRig(server: Server, preview: PreviewHost, given: readonly unknown[]): Promise<void> {
  const subject = await subjectOf(server, given);
  if (subject === null) return void window.showInformationMessage(l10n.t('Open a rig file first.'));
  const free = given[2] === 'presets' ? 'presets' : 'ranges';
  const result = await ask(server, { ...subject, free });
  if (result?.kind === 'nothingFree') {
    const all = l10n.t('Tune All Presets');
    const chosen = await window.showInformationMessage(result.message, all);
    if (chosen === all) await show(preview, subject.uri, await ask(server, { ...subject, free: 'presets' }));
    return;
  }
  await show(preview, subject.uri, result);
}

async function show(preview: PreviewHost, uri: string, result: TuneResult | null): Promise<void> {
  if (!result) return;
  if (result.kind !== 'suggested') return void window.showWarningMessage(result.message);
  const open = workspace.textDocuments.find((document) => document.uri.toString() === uri);
  if (open && open.version !== result.version)
    return void window.showWarningMessage(l10n.t('The text has changed while values were looked for. Tune again.'));
  await preview.suggest(Uri.parse(uri), result);
}

function ask(server: Server, params: TuneParams): Thenable<TuneResult | null> {
  const title = params.rig === null ? l10n.t('Tuning') : l10n.t('Tuning {0}', params.rig);
  return window.withProgress({ location: ProgressLocation.Notification, title, cancellable: true }, (_, token) =>
    server.ask<TuneResult>(TUNE, params, token),
  );
}

async function subjectOf(
  server: Server,
  [uri, rig]: readonly unknown[],
): Promise<{ readonly uri: string; readonly rig: string | null } | null> {
  if (typeof uri === 'string') return { uri, rig: typeof rig === 'string' ? rig : null };
  const editor = window.activeTextEditor;
  if (editor?.document.languageId !== 'rig') return null;
  const address = editor.document.uri.toString();
  return { uri: address, rig: await rigAtCursor(server, editor) };
}
