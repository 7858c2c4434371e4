/** The walkthrough's button *Show the Mistake*: the first mistake of the rig that was last worked on, with its quick fixes. */
import { commands, DiagnosticSeverity, l10n, languages, Selection, window, workspace, type Uri } from 'vscode';

/** The rig that is open and was opened last, also behind a page without text, such as the walkthrough; null where none is open. */
export function lastRig(): Uri | null {
  const open = workspace.textDocuments.filter(({ languageId, isClosed }) => languageId === 'rig' && !isClosed);
  return open.at(-1)?.uri ?? null;
}

export async function showMistake(uri: Uri | null): Promise<void> {
  if (uri === null) return void window.showInformationMessage(l10n.t('Start a rig first: *New Rig*.'));
  const [first] = languages
    .getDiagnostics(uri)
    .filter(({ severity }) => severity <= DiagnosticSeverity.Warning)
    .sort((a, b) => a.severity - b.severity || a.range.start.compareTo(b.range.start));
  const document = await workspace.openTextDocument(uri);
  const selection = first && new Selection(first.range.start, first.range.start);
  await window.showTextDocument(document, { selection, preview: false });
  if (first) return void (await commands.executeCommand('editor.action.quickFix'));
  window.showInformationMessage(
    l10n.t('This rig has no mistake. Make one: change the time of a TON, and look at what is underlined.'),
  );
}
