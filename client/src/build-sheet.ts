/** The build sheet of a rig beside its text, as a read-only document that follows the text; the last one stays while the text is broken. */
import { commands, EventEmitter, l10n, Uri, ViewColumn, window, workspace, type Disposable } from 'vscode';
import { SHEET, type SheetParams, type SheetResult } from '../../server/protocol/sheet';
import type { Server } from './server';

export const SHEET_SCHEME = 'caisson-sheet';
/** After the last keystroke, ms. */
const PAUSE = 400;

export interface BuildSheets extends Disposable {
  open(uri: Uri, rig: string | null): Promise<void>;
}

/** The address of a sheet: what it is of stands in the query, the name in its tab in the path. */
function addressOf(uri: Uri, rig: string): Uri {
  const query = JSON.stringify([uri.toString(), rig]);
  return Uri.from({ scheme: SHEET_SCHEME, path: `/${rig}-build-sheet.md`, query });
}

function subjectOf(sheet: Uri): SheetParams | null {
  try {
    const [uri, rig] = JSON.parse(sheet.query) as readonly unknown[];
    return typeof uri === 'string' && typeof rig === 'string' ? { uri, rig } : null;
  } catch {
    return null;
  }
}

export function registerBuildSheets(server: Server): BuildSheets {
  const changed = new EventEmitter<Uri>();
  /** The last sound sheet by address. */
  const last = new Map<string, string>();
  const timers = new Map<string, ReturnType<typeof setTimeout>>();

  const provider = workspace.registerTextDocumentContentProvider(SHEET_SCHEME, {
    onDidChange: changed.event,
    async provideTextDocumentContent(address) {
      const subject = subjectOf(address);
      const result = subject && (await server.ask<SheetResult>(SHEET, subject));
      if (result?.kind === 'sheet') {
        last.set(address.toString(), result.markdown);
        return result.markdown;
      }
      const why = result?.message ?? l10n.t('The language server gives no answer.');
      const before = last.get(address.toString());
      if (before === undefined) return `${why}\n`;
      return `> **${l10n.t('Not of the text as it is.')}** ${why}\n\n${before}`;
    },
  });
  const edited = workspace.onDidChangeTextDocument(({ document }) => {
    const uri = document.uri.toString();
    for (const { uri: address } of workspace.textDocuments) {
      if (address.scheme !== SHEET_SCHEME || subjectOf(address)?.uri !== uri) continue;
      const key = address.toString();
      clearTimeout(timers.get(key));
      timers.set(
        key,
        setTimeout(() => changed.fire(address), PAUSE),
      );
    }
  });
  const closed = workspace.onDidCloseTextDocument(({ uri }) => void last.delete(uri.toString()));

  return {
    async open(uri, rig) {
      const result = await server.ask<SheetResult>(SHEET, { uri: uri.toString(), rig });
      if (!result) return;
      if (result.kind === 'refused')
        return void window.showWarningMessage(l10n.t('No build sheet: {0}', result.message));
      await show(addressOf(uri, result.rig));
    },
    dispose: () => [changed, provider, edited, closed].forEach((d) => d.dispose()),
  };
}

/** Drawn where the editor draws Markdown, else as text. */
async function show(address: Uri): Promise<void> {
  const document = await workspace.openTextDocument(address);
  try {
    await commands.executeCommand('markdown.showPreviewToSide', document.uri);
  } catch {
    await window.showTextDocument(document, { viewColumn: ViewColumn.Beside, preserveFocus: true });
  }
}
