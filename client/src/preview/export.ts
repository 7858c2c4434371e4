/** Writing a picture of the preview to a file that the user names, beside the source by default. */
import { commands, l10n, Uri, window, workspace } from 'vscode';
import { exportName } from './file-names';

export interface Picture {
  readonly format: 'svg' | 'png';
  readonly name: string;
  /** SVG text, or PNG in base64. */
  readonly data: string;
}

/** Asks where to, writes, and says so. Rejects where the file cannot be written. */
export async function exportPicture(picture: Picture, source: Uri): Promise<void> {
  const name = exportName(picture.name, source.path, picture.format);
  const target = await window.showSaveDialog({
    defaultUri: proposedPlace(source, name),
    filters: picture.format === 'svg' ? { [l10n.t('SVG picture')]: ['svg'] } : { [l10n.t('PNG picture')]: ['png'] },
    title: l10n.t('Export Picture'),
  });
  if (!target) return;
  await workspace.fs.writeFile(target, bytesOf(picture));
  const open = l10n.t('Open');
  const answer = await window.showInformationMessage(l10n.t('Wrote {0}.', target.path.split('/').pop() ?? ''), open);
  if (answer === open) await commands.executeCommand('vscode.open', target);
}

function proposedPlace(source: Uri, name: string): Uri | undefined {
  const folder = workspace.workspaceFolders?.[0]?.uri;
  if (source.scheme === 'untitled') return folder && Uri.joinPath(folder, name);
  return Uri.joinPath(source, '..', name);
}

function bytesOf(picture: Picture): Uint8Array {
  if (picture.format === 'svg') return new TextEncoder().encode(picture.data);
  return Uint8Array.from(atob(picture.data), (c) => c.charCodeAt(0));
}
