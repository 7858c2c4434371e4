/** One webview panel with the preview page in it: loaded once, then messages only; messages wait until the page listens. */
import type { ViewColumn } from 'vscode';
import { l10n, Uri, window, type Disposable, type WebviewPanel } from 'vscode';
import { previewHtml } from './page-html';
import { readPageMessage } from './page-messages';
import type { HostMessage, PageMessage } from '../../../server/protocol/preview';

export const PANEL_TYPE = 'caisson.preview';

export interface PagePanel extends Disposable {
  readonly column: ViewColumn | undefined;
  setTitle(title: string): void;
  reveal(column: ViewColumn | undefined, preserveFocus: boolean): void;
  /** Sent at once if the page listens, else when it does. A drawing replaces the one that waits. */
  post(message: HostMessage): void;
}

export interface PanelEvents {
  /** The page listens (again: a hidden page is unloaded). */
  readonly ready: () => void;
  readonly message: (message: PageMessage) => void;
  /** The page sent what it may not ask; nothing is done with it. */
  readonly dropped: () => void;
  /** The panel has become the active one. */
  readonly active: () => void;
  readonly closed: () => void;
}

export function createWebviewPanel(extensionUri: Uri, column: ViewColumn, preserveFocus: boolean): WebviewPanel {
  return window.createWebviewPanel(
    PANEL_TYPE,
    l10n.t('Preview'),
    { viewColumn: column, preserveFocus },
    panelOptions(extensionUri),
  );
}

const panelOptions = (extensionUri: Uri): { enableScripts: true; localResourceRoots: Uri[] } => ({
  enableScripts: true,
  localResourceRoots: [Uri.joinPath(extensionUri, 'dist')],
});

/** Takes over a new panel, or one that the editor restores. */
export function adoptPanel(panel: WebviewPanel, extensionUri: Uri, language: string, events: PanelEvents): PagePanel {
  const webview = panel.webview;
  let listening = false;
  let waiting: HostMessage[] = [];

  const send = (message: HostMessage): void => void webview.postMessage(message);
  const receive = (value: unknown): void => {
    const message = readPageMessage(value);
    if (message === null) return events.dropped();
    if (message.type === 'ready') {
      listening = true;
      events.ready();
      waiting.forEach(send);
      waiting = [];
    }
    events.message(message);
  };

  webview.onDidReceiveMessage(receive);
  panel.onDidDispose(events.closed);
  panel.onDidChangeViewState(() => {
    if (!panel.visible) listening = false;
    if (panel.active) events.active();
  });
  webview.options = panelOptions(extensionUri);
  panel.iconPath = {
    light: Uri.joinPath(extensionUri, 'client', 'icons', 'rig-light.svg'),
    dark: Uri.joinPath(extensionUri, 'client', 'icons', 'rig-dark.svg'),
  };
  const inDist = (file: string): string => webview.asWebviewUri(Uri.joinPath(extensionUri, 'dist', file)).toString();
  webview.html = previewHtml({
    cspSource: webview.cspSource,
    nonce: crypto.randomUUID().replace(/-/g, ''),
    scriptUri: inDist('preview.js'),
    styleUri: inDist('preview.css'),
    language,
    words: l10n.bundle,
  });

  return {
    get column() {
      return panel.viewColumn;
    },
    setTitle: (title) => void (panel.title = title),
    reveal: (column, preserveFocus) => panel.reveal(column, preserveFocus),
    post(message) {
      if (listening) return send(message);
      waiting = [...waiting.filter((w) => w.type !== message.type || message.type === 'command'), message];
    },
    dispose: () => panel.dispose(),
  };
}
