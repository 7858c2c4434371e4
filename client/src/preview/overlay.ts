/** A second variant laid over the drawing: another rig file, or the last saved version of this one. */
import type { Uri } from 'vscode';
import { window, workspace } from 'vscode';
import { PREVIEW } from '../../../server/protocol/messages';
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
  /** Sends the variant again: another file at each drawing, the saved version after a save. */
  refresh(shown: Uri, because: 'drawn' | 'saved'): Promise<void>;
  /** Another document is shown: the variant goes. */
  drop(): void;
}

type Variant = { readonly kind: 'file'; readonly uri: Uri } | { readonly kind: 'saved' };

export function createOverlay(server: Server, post: (message: HostMessage) => void): Overlay {
  let variant: Variant | null = null;

  const send = async (shown: Uri): Promise<void> => {
    if (variant === null) return post({ type: 'overlay', uri: shown.toString(), label: '', rigs: null });
    const document =
      variant.kind === 'saved' ? await openSavedText(shown, Date.now()) : await workspace.openTextDocument(variant.uri);
    const answer = await server.ask<PreviewAnswer>(PREVIEW, { uri: document.uri.toString(), stores: true });
    const label = variant.kind === 'saved' ? 'last saved version' : (variant.uri.path.split('/').pop() ?? '');
    // A variant that is broken just now keeps its last drawing.
    if (answer?.rigs) post({ type: 'overlay', uri: shown.toString(), label, rigs: answer.rigs });
  };

  return {
    async change(action, shown) {
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
      const due = because === 'drawn' ? variant?.kind === 'file' : variant?.kind === 'saved';
      if (due) await send(shown);
    },
    drop: () => {
      variant = null;
    },
  };
}

async function chooseFile(shown: Uri): Promise<Uri | undefined> {
  const others = (await listRigFiles()).filter((uri) => uri.toString() !== shown.toString());
  const items = others.map((uri) => ({ label: workspace.asRelativePath(uri), uri: uri as Uri | null }));
  items.sort((a, b) => a.label.localeCompare(b.label));
  items.push({ label: 'Another file…', uri: null });
  const choice = await window.showQuickPick(items, { placeHolder: 'Rig file to lay over the timing diagram' });
  if (!choice || choice.uri) return choice?.uri ?? undefined;
  return (await window.showOpenDialog({ filters: { Rig: ['rig'] }, canSelectMany: false }))?.[0];
}
