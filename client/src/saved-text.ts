/** The last saved version of a file as a read-only document of its own, so that the server can be asked about it like about any other. */
import type { Uri } from 'vscode';
import { decodeText } from '../../server/protocol/text-bytes';
import { l10n, workspace, type Disposable, type TextDocument } from 'vscode';

export const SAVED_SCHEME = 'caisson-saved';

/** Serves documents of the scheme `caisson-saved`. */
export function registerSavedText(): Disposable {
  return workspace.registerTextDocumentContentProvider(SAVED_SCHEME, {
    provideTextDocumentContent: async (uri) => {
      const decoded = decodeText(await workspace.fs.readFile(originalOf(uri)));
      if (!decoded.ok) throw new Error(l10n.t('The saved file {0}.', decoded.reason));
      return decoded.text;
    },
  });
}

/**
 * Opens the saved version of `uri`; rejects where the file was never saved or is gone. `time` makes the address new, as the
 * editor keeps documents by address. Scheme and authority of the file stand in the authority, so that imports resolve beside it.
 */
export async function openSavedText(uri: Uri, time: number): Promise<TextDocument> {
  const authority = `${uri.scheme}+${uri.authority}`;
  return workspace.openTextDocument(uri.with({ scheme: SAVED_SCHEME, authority, query: String(time) }));
}

/** The file whose saved version `saved` is. */
export function originalOf(saved: Uri): Uri {
  const plus = saved.authority.indexOf('+');
  return saved.with({ scheme: saved.authority.slice(0, plus), authority: saved.authority.slice(plus + 1), query: '' });
}
