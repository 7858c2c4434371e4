/**
 * Diagnostics by pull where the client offers it, by push otherwise, never both. Work is coalesced: it starts at once, only the
 * newest version of a document counts, and a version that is overtaken half way is dropped.
 */
import type {
  CancellationToken,
  Connection,
  DocumentDiagnosticReport,
  WorkspaceDiagnosticReport,
} from 'vscode-languageserver';
import { PREVIEW_CHANGED } from '../protocol/messages';
import { createPull } from './diagnostics-pull';
import { createPush } from './diagnostics-push';
import type { DiagnosticsNeeds } from './diagnostics-work';

export interface Diagnostics {
  /** Something about these documents changed. */
  changed(uris: readonly string[]): void;
  /** Files that these documents read changed outside the editor; a client that pulls has to be notified. */
  changedOutside(uris: readonly string[]): void;
  /** Files changed on disk, also such that no open document reads. */
  filesChanged(uris: readonly string[]): void;
  /** A document was closed or a file deleted. */
  closed(uri: string): void;
  /** Everything may have changed: settings, folders. */
  allChanged(): void;
  /** Gives up what waits and what is being checked to be published. */
  stop(): void;
  pull(uri: string, previousResult: string | undefined, token: CancellationToken): Promise<DocumentDiagnosticReport>;
  pullWorkspace(
    previous: readonly { readonly uri: string; readonly value: string }[],
    token: CancellationToken,
  ): Promise<WorkspaceDiagnosticReport>;
}

export function createDiagnostics(needs: DiagnosticsNeeds): Diagnostics {
  const pulls = needs.client.pullDiagnostics;
  const pull = createPull(needs);
  const push = createPush(needs);
  const changed = (uris: readonly string[]): void => {
    pull.wake();
    if (!pulls) uris.forEach(push.schedule);
  };
  return {
    changed,
    changedOutside: (uris) => {
      changed(uris);
      if (pulls && uris.length > 0) pull.refresh();
    },
    filesChanged: (uris) => {
      if (!pulls) void push.scheduleFiles(uris);
    },
    closed: (uri) => {
      pull.closed(uri);
      pull.wake();
      if (!pulls) void push.clear(uri);
    },
    stop: push.stop,
    allChanged: () => {
      pull.wake();
      if (pulls) pull.refresh();
      else void push.scheduleAll();
    },
    pull: pull.one,
    pullWorkspace: pull.folders,
  };
}

/** Tells the preview that what it shows may have changed; the client asks again when it wants to. */
export function notifyPreview(connection: Connection, uri: string, version: number): void {
  void connection.sendNotification(PREVIEW_CHANGED, { uri, version });
}
