/** A second variant laid over the drawing: another rig file, or the last saved version of this one. */
import type { TextDocument, Uri } from 'vscode';
import { l10n, window, workspace } from 'vscode';
import { DIFFERENCES, PREVIEW, type DifferencesAnswer } from '../../../server/protocol/messages';
import type { HostMessage, PreviewAnswer } from '../../../server/protocol/preview';
import { listRigFiles } from '../file-requests';
import { openSavedText } from '../saved-text';
import type { Server } from '../server';

export type OverlayAction = 'choose' | 'saved' | 'remove';

export interface Overlay {
  /** Picks, or takes away, what is laid over the drawing of `shown`. */
  change(action: OverlayAction, shown: Uri): Promise<void>;
  /** Whether the variant is this document. */
  isOf(uri: string): boolean;
  /** Sends the variant again, with what differs: at each drawing, and the saved version after a save. */
  refresh(shown: Uri, because: 'drawn' | 'saved'): Promise<void>;
  /** Another document is shown: the variant goes. */
  drop(): void;
}

type Variant = { readonly kind: 'file'; readonly uri: Uri } | { readonly kind: 'saved' };

export function createOverlay(server: Server, post: (message: HostMessage) => void): Overlay {
  let variant: Variant | null = null;
  /** The saved version as it was opened last; null after a save. */
  let saved: TextDocument | null = null;

  const send = async (shown: Uri): Promise<void> => {
    if (variant === null)
      return post({ type: 'overlay', uri: shown.toString(), label: '', rigs: null, differences: {} });
    const document =
      variant.kind === 'saved'
        ? (saved ??= await openSavedText(shown, Date.now()))
        : await workspace.openTextDocument(variant.uri);
    const answer = await server.ask<PreviewAnswer>(PREVIEW, { uri: document.uri.toString(), stores: true });
    const label = variant.kind === 'saved' ? l10n.t('last saved version') : (variant.uri.path.split('/').pop() ?? '');
    // A variant that is broken just now keeps its last drawing.
    if (!answer?.rigs) return;
    const [uri, other] = [shown.toString(), document.uri.toString()];
    const differences = await server.ask<DifferencesAnswer>(DIFFERENCES, { uri, other });
    post({ type: 'overlay', uri, label, rigs: answer.rigs, differences: differences ?? {} });
  };

  return {
    async change(action, shown) {
      saved = null;
      if (action === 'saved') variant = { kind: 'saved' };
      if (action === 'remove') variant = null;
      if (action === 'choose') {
        const uri = await chooseFile(shown);
        if (!uri) return;
        variant = { kind: 'file', uri };
      }
      await send(shown);
    },
    isOf: (uri) => variant?.kind === 'file' && variant.uri.toString() === uri,
    refresh: async (shown, because) => {
      if (because === 'saved') saved = null;
      // The saved version changes with a save only; what differs from it changes with every edit.
      if (variant !== null && (because === 'drawn' || variant.kind === 'saved')) await send(shown);
    },
    drop: () => {
      [variant, saved] = [null, null];
    },
  };
}

async function chooseFile(shown: Uri): Promise<Uri | undefined> {
  const others = (await listRigFiles()).filter((uri) => uri.toString() !== shown.toString());
  const items = others.map((uri) => ({ label: workspace.asRelativePath(uri), uri: uri as Uri | null }));
  items.sort((a, b) => a.label.localeCompare(b.label));
  items.push({ label: l10n.t('Another file…'), uri: null });
  const choice = await window.showQuickPick(items, { placeHolder: l10n.t('Rig file to lay over the timing diagram') });
  if (!choice || choice.uri) return choice?.uri ?? undefined;
  return (await window.showOpenDialog({ filters: { [l10n.t('Rig')]: ['rig'] }, canSelectMany: false }))?.[0];
}
