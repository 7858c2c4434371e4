/**
 * Diagnostics by pull where the client offers it, by push otherwise, never both. Work is coalesced: it starts at once, only the
 * newest version of a document counts, and a version that is overtaken half way is dropped.
 */
import type {
  CancellationToken,
  Connection,
  Diagnostic,
  DocumentDiagnosticReport,
  WorkspaceDiagnosticReport,
  WorkspaceDocumentDiagnosticReport,
} from 'vscode-languageserver';
import type { Checked } from '../core/document/document';
import { PREVIEW_CHANGED } from '../protocol/messages';
import type { ClientFacts } from './client-facts';
import { toLspDiagnostic } from './convert';
import type { Host } from './host';
import type { Proofs } from './proofs';
import type { Log } from './request';
import { describeError } from './request';
import type { Opened, Workspace } from './workspace';

/** Longest stretch of work before waiting messages are looked at, in milliseconds. */
const SLICE = 15;

export interface Diagnostics {
  /** Something about these documents changed. */
  changed(uris: readonly string[]): void;
  /** Files that these documents read changed outside the editor; a client that pulls has to be told. */
  changedOutside(uris: readonly string[]): void;
  /** A document was closed or a file deleted. */
  closed(uri: string): void;
  /** Everything may have changed: settings, folders. */
  allChanged(): void;
  pull(uri: string, previousResult: string | undefined, token: CancellationToken): Promise<DocumentDiagnosticReport>;
  pullWorkspace(
    previous: readonly { readonly uri: string; readonly value: string }[],
    token: CancellationToken,
  ): Promise<WorkspaceDiagnosticReport>;
}

export interface DiagnosticsNeeds {
  readonly connection: Connection;
  readonly workspace: Workspace;
  readonly client: ClientFacts;
  readonly host: Host;
  readonly log: Log;
  readonly proofs: Proofs;
}

export function createDiagnostics(needs: DiagnosticsNeeds): Diagnostics {
  const { client } = needs;
  const results = createResults();
  const held = createHeld();
  /** Closed since the last report of the folders. */
  const closed = new Set<string>();
  const push = createPush(needs);

  /** Waits until no newer version is on its way, then works in slices; null where given up or the document is gone. */
  const work = (uri: string, stop: () => boolean): Promise<{ opened: Opened; checked: Checked } | null> =>
    workInSlices(needs, uri, stop);

  const report = async (uri: string, token: CancellationToken): Promise<Diagnostic[]> => {
    const done = await work(uri, () => token.isCancellationRequested);
    return done ? toDiagnostics(needs, done.opened, done.checked) : [];
  };
  const pull = async (uri: string, before: string | undefined, token: CancellationToken) => {
    const items = await report(uri, token);
    const resultId = results.idOf(uri, items);
    return resultId === before ? { kind: 'unchanged' as const, resultId } : { kind: 'full' as const, resultId, items };
  };
  const pullOne = async (
    uri: string,
    before: string | undefined,
    token: CancellationToken,
  ): Promise<WorkspaceDocumentDiagnosticReport> => {
    const version = needs.workspace.open.get(uri)?.version ?? null;
    return { ...(await pull(uri, before, token)), uri, version };
  };
  const pullWorkspace: Diagnostics['pullWorkspace'] = async (previous, token) => {
    const before = new Map(previous.map((p) => [p.uri, p.value]));
    for (;;) {
      const generation = held.generation();
      const uris = (await wantsWorkspace(needs.workspace)) ? await needs.workspace.all() : [];
      const items: WorkspaceDocumentDiagnosticReport[] = [];
      for (const uri of uris) {
        if (token.isCancellationRequested) return { items: [] };
        const item = await pullOne(uri, before.get(uri), token);
        if (item.kind === 'full') items.push(item);
        await needs.host.pause();
      }
      for (const uri of before.keys()) {
        if (!uris.includes(uri))
          items.push({ kind: 'full', uri, version: null, items: [], resultId: results.idOf(uri, []) });
      }
      // A client of both kinds keeps what it pulled for a document that is closed until a report of the folders says otherwise.
      for (const uri of closed) {
        if (!uris.includes(uri) && !before.has(uri) && !needs.workspace.open.get(uri))
          items.push({ kind: 'full', uri, version: null, items: [], resultId: results.idOf(uri, []) });
      }
      closed.clear();
      const fresh = items.filter((item) => item.resultId !== before.get(item.uri));
      if (held.isFirstAnswer() || fresh.length > 0) return { items: fresh };
      // Nothing new: the answer waits for the next change, so that nobody polls.
      if (!(await held.next(generation, token))) return { items: [] };
    }
  };
  const askForPull = (): void => {
    if (client.refreshDiagnostics) void needs.connection.languages.diagnostics.refresh().catch(() => undefined);
  };
  const changed = (uris: readonly string[]): void => {
    held.wake();
    if (!client.pullDiagnostics) uris.forEach(push.schedule);
  };
  return {
    changed,
    changedOutside: (uris) => {
      changed(uris);
      if (client.pullDiagnostics && uris.length > 0) askForPull();
    },
    closed: (uri) => {
      results.forget(uri);
      if (client.pullDiagnostics) closed.add(uri);
      held.wake();
      if (!client.pullDiagnostics) void push.clear(uri);
    },
    allChanged: () => {
      held.wake();
      if (client.pullDiagnostics) askForPull();
      else void push.scheduleAll();
    },
    pull,
    pullWorkspace,
  };
}

async function wantsWorkspace(workspace: Workspace): Promise<boolean> {
  return (await workspace.settings(null)).diagnosticsScope === 'workspace';
}

/** Works a document out in slices, letting messages in between; null where it was overtaken, cancelled or closed. */
async function workInSlices(
  { workspace, host }: DiagnosticsNeeds,
  uri: string,
  stop: () => boolean,
): Promise<{ opened: Opened; checked: Checked } | null> {
  for (;;) {
    await settled(host, () => workspace.open.get(uri)?.version);
    const opened = await workspace.prepare(uri);
    if (!opened || stop()) return null;
    const steps = opened.document.work();
    let since = host.now();
    for (;;) {
      const step = steps.next();
      if (step.done) return { opened, checked: step.value };
      if (host.now() - since < SLICE) continue;
      await host.pause();
      since = host.now();
      if (stop()) return null;
      if (workspace.get(uri)?.document !== opened.document) break;
    }
  }
}

/** Lets queued messages be taken in until none of them is an edit of the document. One pause lets one message through. */
async function settled(host: Host, version: () => number | undefined): Promise<void> {
  let before: number | undefined;
  do {
    before = version();
    await host.pause();
    await host.pause();
  } while (version() !== before);
}

function toDiagnostics(
  { client, workspace, proofs }: DiagnosticsNeeds,
  opened: Opened,
  checked: Checked,
): Diagnostic[] {
  const { document, text } = opened;
  const textOf = (uri: string) => (uri === text.uri ? text : workspace.textOf(uri));
  const problems = [...checked.problems, ...proofs.problems(document)];
  return problems.map((problem) => toLspDiagnostic(text, textOf, client, problem));
}

/** Ids of results: the same for the same problems, so that an unchanged answer can be told. */
function createResults() {
  const last = new Map<string, { readonly id: string; readonly text: string }>();
  let count = 0;
  return {
    idOf: (uri: string, items: readonly Diagnostic[]): string => {
      const text = JSON.stringify(items);
      const before = last.get(uri);
      if (before?.text === text) return before.id;
      const id = String(++count);
      last.set(uri, { id, text });
      return id;
    },
    forget: (uri: string) => void last.delete(uri),
  };
}

/** A workspace request that waits for something to change. */
function createHeld() {
  let generation = 0;
  let answered = false;
  const waiting = new Set<() => void>();
  return {
    generation: () => generation,
    /** True once: the first answer is given at once even if empty. */
    isFirstAnswer: (): boolean => {
      const first = !answered;
      answered = true;
      return first;
    },
    wake: () => {
      generation++;
      for (const go of waiting) go();
      waiting.clear();
    },
    /** Resolves true at the next change (at once if there was one), false when cancelled. */
    next: (since: number, token: CancellationToken): Promise<boolean> =>
      new Promise((resolve) => {
        if (generation !== since) return resolve(true);
        waiting.add(() => resolve(true));
        token.onCancellationRequested(() => resolve(false));
      }),
  };
}

/** Push: one run per document at a time, the newest version wins. */
function createPush(needs: DiagnosticsNeeds) {
  const { connection, workspace, log } = needs;
  const running = new Set<string>();
  const again = new Set<string>();
  const gone = new Set<string>();

  const runOnce = async (uri: string): Promise<void> => {
    const done = await workInSlices(needs, uri, () => again.has(uri) || gone.has(uri));
    if (!done || gone.has(uri) || again.has(uri)) return;
    const diagnostics = toDiagnostics(needs, done.opened, done.checked);
    const version = workspace.open.get(uri) ? done.opened.document.version : undefined;
    await connection.sendDiagnostics({ uri, diagnostics, ...(version === undefined ? {} : { version }) });
  };
  const run = async (uri: string): Promise<void> => {
    running.add(uri);
    try {
      do {
        again.delete(uri);
        await runOnce(uri);
      } while (again.has(uri));
    } catch (error) {
      log(`diagnostics: ${describeError(error)}`);
    } finally {
      running.delete(uri);
    }
  };
  const schedule = (uri: string): void => {
    gone.delete(uri);
    if (running.has(uri)) again.add(uri);
    else void run(uri);
  };
  return {
    schedule,
    /** A closed document keeps its problems only where all files of the folders are wanted and it is still a file. */
    clear: async (uri: string): Promise<void> => {
      gone.add(uri);
      const stays = (await wantsWorkspace(workspace)) && (await workspace.prepare(uri)) !== null;
      if (workspace.open.get(uri)) return;
      if (stays) return schedule(uri);
      await connection.sendDiagnostics({ uri, diagnostics: [] });
    },
    scheduleAll: async (): Promise<void> => {
      const uris = (await wantsWorkspace(workspace)) ? await workspace.all() : workspace.open.keys();
      uris.forEach(schedule);
    },
  };
}

/** Tells the preview that what it shows may have changed; the client asks again when it wants to. */
export function notifyPreview(connection: Connection, uri: string, version: number): void {
  void connection.sendNotification(PREVIEW_CHANGED, { uri, version });
}
