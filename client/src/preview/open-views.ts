/** The previews that are open, the one used last standing last: adopting panels, following the active editor, opening. */
import { commands, ViewColumn, window, type TextDocument, type Uri, type WebviewPanel } from 'vscode';
import { SAVED_SCHEME } from '../saved-text';
import { createWebviewPanel } from './panel';
import { followsEditor } from './settings';
import { createPreviewView, type PreviewView, type ViewNeeds } from './view';

/** `another`: a preview of its own that stays with the file. */
export type Where = 'here' | 'beside' | 'another';

export const isRig = (document: TextDocument): boolean =>
  document.languageId === 'rig' && document.uri.scheme !== SAVED_SCHEME;

export interface OpenViews {
  /** The one used last stands last. */
  readonly all: readonly PreviewView[];
  readonly current: PreviewView | undefined;
  /** Takes a panel as a preview. */
  adopt(panel: WebviewPanel, locked: boolean): PreviewView;
  /** All that are not locked show the rig of the active editor. */
  follow(): void;
  /** The preview of a document: one that is open, or a new one. */
  open(uri: Uri, where: Where, rig?: string): PreviewView;
}

export function createOpenViews(needs: ViewNeeds): OpenViews {
  /** The one used last stands last. */
  let views: readonly PreviewView[] = [];

  const put = (next: readonly PreviewView[]): void => {
    views = next;
    void commands.executeCommand('setContext', 'caisson.previewOpen', views.length > 0);
  };
  const without = (view: PreviewView): PreviewView[] => views.filter((v) => v !== view);

  function adopt(panel: WebviewPanel, locked: boolean): PreviewView {
    const view: PreviewView = createPreviewView(needs, panel, locked, {
      closed: () => put(without(view)),
      active: () => put([...without(view), view]),
      unlocked: () => follow([view]),
    });
    put([...views, view]);
    return view;
  }

  /** Previews that are not locked show the rig of the active editor. */
  function follow(some: readonly PreviewView[]): void {
    const document = window.activeTextEditor?.document;
    if (!document || !isRig(document) || !followsEditor()) return;
    for (const view of some)
      if (!view.locked && view.shown?.toString() !== document.uri.toString()) view.show(document.uri);
  }

  function open(uri: Uri, where: Where, rig?: string): PreviewView {
    const same = [...views].reverse().find((v) => v.shown?.toString() === uri.toString());
    const free = where === 'another' ? undefined : (same ?? [...views].reverse().find((v) => !v.locked));
    free?.reveal(where === 'beside');
    // Another preview stands beside the ones that are there: both are wanted in sight.
    const last = where === 'another' ? Math.max(0, ...views.map((v) => v.column ?? 0)) : 0;
    const column = last > 0 ? last + 1 : where === 'here' ? ViewColumn.Active : ViewColumn.Beside;
    const created = (): PreviewView =>
      adopt(createWebviewPanel(needs.context.extensionUri, column, where !== 'here'), where === 'another');
    const view = free ?? created();
    view.show(uri, rig);
    return view;
  }

  return {
    get all() {
      return views;
    },
    get current() {
      return views.at(-1);
    },
    adopt,
    follow: () => follow(views),
    open,
  };
}
