/** The previews that are open: one follows the rig file of the active editor, locked ones stay with their file. */
import { commands, Uri, ViewColumn, window, workspace, type Disposable, type ExtensionContext } from 'vscode';
import type { LogOutputChannel, TextDocument, WebviewPanel } from 'vscode';
import {
  PREVIEW_CHANGED,
  SHOW_PICTURE,
  type PreviewChangedParams,
  type ShowPictureParams,
} from '../../../server/protocol/messages';
import type { PageCommand } from '../../../server/protocol/preview';
import { SETTINGS_SECTION } from '../../../server/protocol/settings';
import { SAVED_SCHEME } from '../saved-text';
import type { Server } from '../server';
import type { OverlayAction } from './overlay';
import { createWebviewPanel, PANEL_TYPE } from './panel';
import type { ReadingsAction } from './readings';
import { createRevealer } from './reveal';
import { readKeptPanel } from './saved-state';
import { followsEditor } from './settings';
import { createPreviewView, type PreviewView, type Suggested, type ViewNeeds } from './view';

/** `another`: a preview of its own that stays with the file. */
export type Where = 'here' | 'beside' | 'another';

export interface PreviewHost extends Disposable {
  /** Opens the preview of a document, or shows one that is open; `rig` selects a rig of the file. */
  open(uri: Uri, where: Where, rig?: string): Promise<void>;
  /** Shows one picture of a rig (its id), in the preview of its document. */
  showPicture(uri: Uri, rig: string, picture: string): Promise<void>;
  /** Shows a suggestion of the tuner, in the preview of its document. */
  suggest(uri: Uri, found: Suggested): Promise<void>;
  /** Document shown by the preview used last; null where none is open. */
  readonly shown: Uri | null;
  toggleLock(): void;
  refresh(): void;
  showSource(): Promise<void>;
  /** Runs a command of the page of the preview used last, once it listens. */
  run(command: PageCommand): void;
  overlay(action: OverlayAction): Promise<void>;
  /** Of the preview used last; without one, that of `subject` is opened first. */
  readings(action: ReadingsAction, subject: Uri | null): Promise<void>;
}

const isRig = (document: TextDocument): boolean =>
  document.languageId === 'rig' && document.uri.scheme !== SAVED_SCHEME;

export function createPreviewHost(context: ExtensionContext, server: Server, log: LogOutputChannel): PreviewHost {
  const revealer = createRevealer();
  const needs: ViewNeeds = { context, server, log, revealer };
  /** The one used last stands last. */
  let views: readonly PreviewView[] = [];

  const current = (): PreviewView | undefined => views.at(-1);
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

  const each = (act: (view: PreviewView) => void) => (): void => views.forEach(act);
  server.listen(PREVIEW_CHANGED, (params) => views.forEach((v) => v.changed((params as PreviewChangedParams).uri)));
  server.onStarted(each((v) => v.refresh()));
  const subscriptions: Disposable[] = [
    revealer,
    workspace.onDidSaveTextDocument((document) => views.forEach((v) => v.saved(document))),
    window.onDidChangeTextEditorSelection((event) => views.forEach((v) => v.cursorMoved(event))),
    window.onDidChangeActiveTextEditor(() => follow(views)),
    workspace.onDidChangeConfiguration((event) => {
      if (event.affectsConfiguration(SETTINGS_SECTION)) views.forEach((v) => v.settingsChanged());
    }),
    ...watchFiles((uri) => views.forEach((v) => v.shown?.toString() === uri.toString() && v.refresh())),
    window.registerWebviewPanelSerializer(PANEL_TYPE, {
      deserializeWebviewPanel: async (panel, state: unknown) => {
        const { uri, locked } = readKeptPanel(state);
        const shown =
          uri === null ? window.visibleTextEditors.find((e) => isRig(e.document))?.document.uri : Uri.parse(uri);
        const view = adopt(panel, locked);
        if (shown) view.show(shown);
      },
    }),
  ];

  async function open(uri: Uri, where: Where, rig?: string): Promise<PreviewView> {
    const same = [...views].reverse().find((v) => v.shown?.toString() === uri.toString());
    const free = where === 'another' ? undefined : (same ?? [...views].reverse().find((v) => !v.locked));
    free?.reveal(where === 'beside');
    // Another preview stands beside the ones that are there: both are wanted in sight.
    const last = where === 'another' ? Math.max(0, ...views.map((v) => v.column ?? 0)) : 0;
    const column = last > 0 ? last + 1 : where === 'here' ? ViewColumn.Active : ViewColumn.Beside;
    const created = (): PreviewView =>
      adopt(createWebviewPanel(context.extensionUri, column, where !== 'here'), where === 'another');
    const view = free ?? created();
    view.show(uri, rig);
    return view;
  }
  server.listen(SHOW_PICTURE, (params) => {
    const { uri, rig, picture } = params as ShowPictureParams;
    void open(Uri.parse(uri), 'beside').then((view) => view.showPicture(rig, picture));
  });

  return {
    get shown() {
      return current()?.shown ?? null;
    },
    open: async (uri, where, rig) => void (await open(uri, where, rig)),
    showPicture: async (uri, rig, picture) => (await open(uri, 'beside')).showPicture(rig, picture),
    suggest: async (uri, found) => (await open(uri, 'beside')).suggest(found),
    toggleLock: () => current()?.setLocked(!current()!.locked),
    refresh: each((v) => v.refresh()),
    showSource: async () => current()?.showSource(),
    run: (command) => current()?.run(command),
    overlay: async (action) => current()?.overlay(action),
    readings: async (action, subject) => {
      const view = current() ?? (subject ? await open(subject, 'beside') : undefined);
      await view?.readings(action);
    },
    dispose: () => subscriptions.forEach((s) => s.dispose()),
  };
}

/** Rig files that appear or go. */
function watchFiles(concerned: (uri: Uri) => void): Disposable[] {
  const watcher = workspace.createFileSystemWatcher('**/*.rig', false, true, false);
  return [watcher, watcher.onDidCreate(concerned), watcher.onDidDelete(concerned)];
}
