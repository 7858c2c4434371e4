/** The previews that are open: one follows the rig file of the active editor, locked ones stay with their file. */
import { Uri, window, workspace, type Disposable, type ExtensionContext, type LogOutputChannel } from 'vscode';
import {
  PREVIEW_CHANGED,
  SHOW_PICTURE,
  type PreviewChangedParams,
  type ShowPictureParams,
} from '../../../server/protocol/messages';
import type { PageCommand } from '../../../server/protocol/preview';
import { SETTINGS_SECTION } from '../../../server/protocol/settings';
import type { Server } from '../server';
import type { OverlayAction } from './overlay';
import { createOpenViews, isRig, type OpenViews, type Where } from './open-views';
import { PANEL_TYPE } from './panel';
import type { ReadingsAction } from './readings';
import { createRevealer } from './reveal';
import { readKeptPanel } from './saved-state';
import type { PreviewView, Suggested } from './view';

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

export function createPreviewHost(context: ExtensionContext, server: Server, log: LogOutputChannel): PreviewHost {
  const revealer = createRevealer();
  const views = createOpenViews({ context, server, log, revealer });
  const subscriptions = [revealer, ...tellViews(views, server)];
  return {
    get shown() {
      return views.current?.shown ?? null;
    },
    open: async (uri, where, rig) => void views.open(uri, where, rig),
    showPicture: async (uri, rig, picture) => views.open(uri, 'beside').showPicture(rig, picture),
    suggest: async (uri, found) => views.open(uri, 'beside').suggest(found),
    toggleLock: () => views.current?.setLocked(!views.current.locked),
    refresh: () => views.all.forEach((v) => v.refresh()),
    showSource: async () => views.current?.showSource(),
    run: (command) => views.current?.run(command),
    overlay: async (action) => views.current?.overlay(action),
    readings: async (action, subject) => {
      const view = views.current ?? (subject ? views.open(subject, 'beside') : undefined);
      await view?.readings(action);
    },
    dispose: () => subscriptions.forEach((s) => s.dispose()),
  };
}

/** What the previews listen to: changes of texts, of the editor and of settings, and panels kept from the last session. */
function tellViews(views: OpenViews, server: Server): Disposable[] {
  const each = (act: (view: PreviewView) => void): void => views.all.forEach(act);
  server.listen(PREVIEW_CHANGED, (params) => each((v) => v.changed((params as PreviewChangedParams).uri)));
  server.listen(SHOW_PICTURE, (params) => {
    const { uri, rig, picture } = params as ShowPictureParams;
    void views.open(Uri.parse(uri), 'beside').showPicture(rig, picture);
  });
  server.onStarted(() => each((v) => v.refresh()));
  return [
    workspace.onDidSaveTextDocument((document) => each((v) => v.saved(document))),
    window.onDidChangeTextEditorSelection((event) => each((v) => v.cursorMoved(event))),
    window.onDidChangeActiveTextEditor(() => views.follow()),
    workspace.onDidChangeConfiguration((event) => {
      if (event.affectsConfiguration(SETTINGS_SECTION)) each((v) => v.settingsChanged());
    }),
    ...watchFiles((uri) => each((v) => v.shown?.toString() === uri.toString() && v.refresh())),
    window.registerWebviewPanelSerializer(PANEL_TYPE, {
      deserializeWebviewPanel: async (panel, state: unknown) => {
        const { uri, locked } = readKeptPanel(state);
        const shown =
          uri === null ? window.visibleTextEditors.find((e) => isRig(e.document))?.document.uri : Uri.parse(uri);
        const view = views.adopt(panel, locked);
        if (shown) view.show(shown);
      },
    }),
  ];
}

/** Rig files that appear or go. */
function watchFiles(concerned: (uri: Uri) => void): Disposable[] {
  const watcher = workspace.createFileSystemWatcher('**/*.rig', false, true, false);
  return [watcher, watcher.onDidCreate(concerned), watcher.onDidDelete(concerned)];
}
