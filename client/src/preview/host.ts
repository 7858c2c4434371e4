/**
 * The preview: one panel that follows the rig file of the active editor unless it is locked. Draws at once after each change
 * and once more for what came meanwhile; keeps the last sound drawing while the text is broken.
 */
import {
  commands,
  env,
  Uri,
  ViewColumn,
  window,
  workspace,
  type Disposable,
  type ExtensionContext,
  type LogOutputChannel,
  type TextDocument,
  type TextEditorSelectionChangeEvent,
  type WebviewPanel,
} from 'vscode';
import { PREVIEW, PREVIEW_CHANGED, type PreviewChangedParams } from '../../../server/protocol/messages';
import type { PageCommand, PageMessage, PreviewAnswer } from '../../../server/protocol/preview';
import { SETTINGS_SECTION } from '../../../server/protocol/settings';
import { coalesce } from '../coalesce';
import { reasonOf } from '../lifecycle';
import { SAVED_SCHEME } from '../saved-text';
import type { Server } from '../server';
import { messagesFor, type Drawing } from './drawing';
import { exportPicture } from './export';
import { createOverlay } from './overlay';
import { namesFile } from './page-messages';
import { adoptPanel, createWebviewPanel, PANEL_TYPE, type PagePanel } from './panel';
import { createRevealer } from './reveal';
import { readKeptPanel } from './saved-state';
import { followsEditor, pageSettings, redrawsOnType } from './settings';

export interface PreviewHost extends Disposable {
  /** Opens the preview of a document, or shows the one that is open; `rig` selects a rig of the file. */
  open(uri: Uri, where: 'here' | 'beside', rig?: string): Promise<void>;
  /** Document shown; null where no preview is open. */
  readonly shown: Uri | null;
  toggleLock(): void;
  refresh(): void;
  showSource(): Promise<void>;
  /** Runs a command of the page, once it listens. */
  run(command: PageCommand): void;
  overlay(action: 'choose' | 'saved' | 'remove'): Promise<void>;
}

const CAUTION_KEY = 'caisson.cautionShown';
const nameOf = (uri: Uri): string => uri.path.split('/').pop() || 'untitled';
const isRig = (document: TextDocument): boolean =>
  document.languageId === 'rig' && document.uri.scheme !== SAVED_SCHEME;

export function createPreviewHost(context: ExtensionContext, server: Server, log: LogOutputChannel): PreviewHost {
  let page: PagePanel | null = null;
  let shown: Uri | null = null;
  let locked = false;
  let lastGood: Drawing | null = null;
  let lastBanner: PreviewAnswer['banner'] = null;
  let wantedRig: string | null = null;
  let cautionDue = true;
  let wantsStores = false;
  const revealer = createRevealer();
  const overlay = createOverlay(server, (message) => page?.post(message));
  const dropped = (): void => log.warn('preview page: a message that the page may not send was dropped');

  const draw = coalesce(async () => {
    const uri = shown;
    if (uri === null || page === null) return;
    const answer = await previewOf(uri, server, wantsStores);
    if (page === null || shown !== uri || answer === null) return;
    post(uri, answer);
    await overlay.refresh(uri, 'drawn');
  }, fault);

  function fault(error: unknown): void {
    log.warn(`preview: ${reasonOf(error)}`);
  }

  function post(uri: Uri, answer: PreviewAnswer): void {
    const settings = pageSettings(uri);
    const input = { uri: uri.toString(), file: nameOf(uri), answer, lastGood, settings, locked, cautionDue };
    const result = messagesFor(input);
    lastGood = result.lastGood;
    lastBanner = answer.banner;
    result.messages.forEach((message) => page?.post(message));
    if (cautionDue && answer.rigs?.some((rig) => rig.caution !== null))
      void context.workspaceState.update(CAUTION_KEY, true);
    selectWantedRig(uri);
  }

  function selectWantedRig(uri: Uri): void {
    const rig = lastGood?.rigs.find((r) => r.id === wantedRig);
    wantedRig = null;
    if (!rig) return;
    page?.post({ type: 'cursor', uri: uri.toString(), start: rig.source.start, end: rig.source.start, by: 'command' });
  }

  function show(uri: Uri): void {
    if (shown?.toString() === uri.toString()) return;
    shown = uri;
    overlay.drop();
    page?.setTitle(titleOf(uri, locked));
    draw();
  }

  function setLocked(now: boolean): void {
    locked = now;
    if (shown) page?.setTitle(titleOf(shown, locked));
    page?.post({ type: 'locked', locked });
    const editor = window.activeTextEditor;
    if (!locked && editor && isRig(editor.document) && followsEditor()) show(editor.document.uri);
  }

  function adopt(panel: WebviewPanel): void {
    cautionDue = !context.workspaceState.get(CAUTION_KEY, false);
    page = adoptPanel(panel, context.extensionUri, env.language, {
      ready: draw,
      message: receive,
      dropped,
      closed,
    });
    void commands.executeCommand('setContext', 'caisson.previewOpen', true);
  }

  function closed(): void {
    page = null;
    shown = null;
    lastGood = null;
    lastBanner = null;
    locked = false;
    wantsStores = false;
    overlay.drop();
    void commands.executeCommand('setContext', 'caisson.previewOpen', false);
  }

  function receive(message: PageMessage): void {
    handle(message).catch((error) => {
      fault(error);
      void window.showErrorMessage(`Caisson: ${reasonOf(error)}`);
    });
  }

  async function handle(message: PageMessage): Promise<void> {
    switch (message.type) {
      case 'reveal':
        return mayShow(message.uri) ? revealer.reveal(message, page?.column) : dropped();
      case 'export':
        return shown === null ? undefined : exportPicture(message, shown);
      case 'copy':
        await env.clipboard.writeText(message.text);
        return void window.setStatusBarMessage('Copied.', 3_000);
      case 'copied':
        return void window.setStatusBarMessage('Picture copied.', 3_000);
      case 'lock':
        return setLocked(message.locked);
      case 'showSource':
        return showSource();
      case 'overlay':
        return changeOverlay(message.action);
      case 'want':
        wantsStores = message.stores;
        return wantsStores ? draw() : undefined;
      case 'fault':
        return log.error(`preview page: ${message.message}`);
      case 'ready':
      case 'state':
        return;
    }
  }

  /** Places of the file that is shown, and of those that its drawing, its banner or the variant laid over it names. */
  function mayShow(uri: string): boolean {
    return shown?.toString() === uri || overlay.isOf(uri) || namesFile([lastGood, lastBanner], uri);
  }

  async function showSource(): Promise<void> {
    if (shown) await revealer.showSource(shown, page?.column);
  }

  async function changeOverlay(action: 'choose' | 'saved' | 'remove'): Promise<void> {
    if (shown) await overlay.change(action, shown);
  }

  const saved = (document: TextDocument): void => {
    if (shown?.toString() !== document.uri.toString()) return;
    if (!redrawsOnType(shown)) draw();
    overlay.refresh(shown, 'saved').catch(fault);
  };
  const cursorMoved = (event: TextEditorSelectionChangeEvent): void => {
    const { document, selection } = event.textEditor;
    if (page === null || shown?.toString() !== document.uri.toString()) return;
    const by = ['keyboard', 'mouse', 'command'] as const;
    page.post({
      type: 'cursor',
      uri: document.uri.toString(),
      start: document.offsetAt(selection.start),
      end: document.offsetAt(selection.end),
      by: by[(event.kind ?? 3) - 1] ?? 'command',
    });
  };

  server.listen(PREVIEW_CHANGED, (params) => {
    const { uri } = params as PreviewChangedParams;
    const concerned = shown !== null && (shown.toString() === uri || overlay.isOf(uri));
    if (concerned && redrawsOnType(shown!)) draw();
  });
  server.onStarted(draw);

  const subscriptions: Disposable[] = [
    revealer,
    workspace.onDidSaveTextDocument(saved),
    window.onDidChangeTextEditorSelection(cursorMoved),
    window.onDidChangeActiveTextEditor((editor) => {
      if (editor && page && !locked && isRig(editor.document) && followsEditor()) show(editor.document.uri);
    }),
    workspace.onDidChangeConfiguration((event) => {
      if (event.affectsConfiguration(SETTINGS_SECTION) && shown) {
        page?.post({ type: 'settings', settings: pageSettings(shown) });
        draw();
      }
    }),
    window.registerWebviewPanelSerializer(PANEL_TYPE, {
      deserializeWebviewPanel: async (panel, state: unknown) => {
        const kept = readKeptPanel(state);
        const uri =
          kept.uri === null
            ? window.visibleTextEditors.find((e) => isRig(e.document))?.document.uri
            : Uri.parse(kept.uri);
        locked = kept.locked;
        adopt(panel);
        if (uri) show(uri);
      },
    }),
  ];

  return {
    get shown() {
      return shown;
    },
    async open(uri, where, rig) {
      wantedRig = rig ?? null;
      const column = where === 'beside' ? ViewColumn.Beside : ViewColumn.Active;
      if (page) page.reveal(undefined, where === 'beside');
      else adopt(createWebviewPanel(context.extensionUri, column, where === 'beside'));
      if (shown?.toString() === uri.toString()) draw();
      else show(uri);
    },
    toggleLock: () => setLocked(!locked),
    refresh: draw,
    showSource,
    run: (command) => page?.post({ type: 'command', command }),
    overlay: changeOverlay,
    dispose: () => subscriptions.forEach((s) => s.dispose()),
  };
}

function titleOf(uri: Uri, locked: boolean): string {
  return locked ? `[Preview] ${nameOf(uri)}` : `Preview ${nameOf(uri)}`;
}

/** The server's answer for a document; what cannot be read is an answer that says so. */
async function previewOf(uri: Uri, server: Server, stores: boolean): Promise<PreviewAnswer | null> {
  try {
    const document = await workspace.openTextDocument(uri);
    return await server.ask<PreviewAnswer>(PREVIEW, { uri: document.uri.toString(), stores });
  } catch (error) {
    const banner = {
      severity: 'error' as const,
      message: `The file cannot be read: ${reasonOf(error)}`,
      line: null,
      source: null,
    };
    return { version: 0, rigs: null, banner };
  }
}
