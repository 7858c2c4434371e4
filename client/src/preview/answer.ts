/** The server's answer for a document; what cannot be read is an answer that says so. */
import { l10n, workspace, type Uri } from 'vscode';
import { PREVIEW } from '../../../server/protocol/messages';
import type { PreviewAnswer } from '../../../server/protocol/preview';
import { reasonOf } from '../lifecycle';
import type { Server } from '../server';

export async function previewOf(uri: Uri, server: Server, stores: boolean): Promise<PreviewAnswer | null> {
  try {
    const document = await workspace.openTextDocument(uri);
    // The editor goes on showing the text of a file that was deleted; the drawing says that it is no longer there.
    if (!document.isDirty && !document.isUntitled) await workspace.fs.stat(uri);
    return await server.ask<PreviewAnswer>(PREVIEW, { uri: document.uri.toString(), stores });
  } catch (error) {
    const gone = (error as { readonly code?: string } | null)?.code === 'FileNotFound';
    const message = gone
      ? l10n.t('The file is no longer there.')
      : l10n.t('The file cannot be read: {0}', reasonOf(error));
    return { version: 0, rigs: null, banner: { severity: 'error', message, line: null, source: null } };
  }
}
